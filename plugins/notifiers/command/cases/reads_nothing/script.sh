#!/bin/sh
exec 0<&-
exit 0
