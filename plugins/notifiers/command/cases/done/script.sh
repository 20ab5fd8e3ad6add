#!/bin/sh
cat > /dev/null
echo "sent to 3 phones" >&2
