"""Prometheus' blocks of the same stream. Its package is unpacked, not installed: nothing is started."""
import os
import tempfile

from children import run_counted
from peers import unpacked


def prometheus_bytes(context, hours):
    """Bytes a reading of the blocks that promtool makes, and None; or None and why not."""
    tool, why = unpacked(context, "prometheus", "usr/bin/promtool")
    if tool is None:
        return None, why
    with tempfile.TemporaryDirectory(prefix="coilward-bench.", dir=context.big) as place:
        text, blocks = os.path.join(place, "stream.om"), os.path.join(place, "blocks")
        os.mkdir(blocks)
        run_counted([context.bin / "bench-history", "openmetrics", text, "24", str(hours)])
        run_counted([tool, "tsdb", "create-blocks-from", "openmetrics", text, blocks])
        size = sum(os.path.getsize(os.path.join(folder, name)) for folder, _, names in os.walk(blocks) for name in names)
    return size / (24 * hours * 3600), None
