"""A daemon at a site's own pace: memory with the page open, wake-ups when nothing happens, and how long a start takes."""
import contextlib
import os
import socket
import subprocess
import tempfile
import time
import urllib.request

from children import Watched, free_port, run_counted
from mqtt import broker, daemon, site_file
from report import in_turn, median

ZONES = 24


@contextlib.contextmanager
def page_open(port):
    """The page of the site as a browser has it: loaded, with its stream of events open."""
    for path in ("/", "/zone/3"):
        urllib.request.urlopen(f"http://127.0.0.1:{port}{path}", timeout=10).read()
    with urllib.request.urlopen(f"http://127.0.0.1:{port}/events", timeout=60) as events:
        yield events


def in_use(context, seconds):
    with tempfile.TemporaryDirectory(prefix="coilward-bench.", dir=context.big) as place, broker(place) as (port, _), \
            daemon(context, place, port, ZONES) as (process, page), page_open(page):
        run_counted([context.bin / "bench-publisher", port, "senml", ZONES * seconds, ZONES])
        return {"memory": process.memory_mb("VmRSS"), "own": process.memory_mb("RssAnon"),
                "peak": process.memory_mb("VmHWM")}


def resting(process, seconds):
    process.until_quiet(seconds=2)
    switches, cpu, began = process.switches(), process.cpu(), time.monotonic()
    time.sleep(seconds)
    passed = time.monotonic() - began
    return {"wake-ups": (process.switches() - switches) / passed, "cpu": 1e3 * (process.cpu() - cpu) / passed}


def idle(context, seconds):
    with tempfile.TemporaryDirectory(prefix="coilward-bench.", dir=context.big) as place, broker(place) as (port, _), \
            daemon(context, place, port, ZONES) as (ours, _), \
            Watched([context.bin / "bench-subscriber", "paho", port], ready="ready") as paho:
        return resting(ours, seconds), resting(paho, seconds)


def start(context, place, config):
    """Seconds from the call to READY=1 (sd_notify(3))."""
    path = f"{place}/notify"
    with contextlib.suppress(FileNotFoundError):
        os.remove(path)
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as told:
        told.bind(path)
        told.settimeout(60)
        began = time.monotonic()
        with Watched([context.bin / "coilwardd", config], env={**os.environ, "NOTIFY_SOCKET": path}) as process:
            while b"READY=1" not in told.recv(4096):
                pass
            return {"s": time.monotonic() - began, "cpu": process.cpu()}


def starts(context, months):
    with tempfile.TemporaryDirectory(prefix="coilward-bench.", dir=context.big) as place:
        config = site_file(place, free_port(), free_port(), ZONES)
        subprocess.run([context.bin / "bench-history", "grow", "coilward", f"{place}/state", str(30 * months)],
                       check=True, capture_output=True)
        start(context, place, config)  # makes what is missing
        found = in_turn(3 if context.quick else context.rounds, {"start": lambda: start(context, place, config)})
        return median(found, "start", "s")


def measure(context, report):
    seconds = 20 if context.quick else 180
    used = in_use(context, seconds)
    report.head(f"At rest: {ZONES} zones at 1 Hz for {seconds} s, the page open, all plugins loaded")
    report.row("resident memory", used["memory"], "MB", "20", 24)
    report.row("of it not a file's", used["own"], "MB")
    report.row("peak", used["peak"], "MB")
    still, paho = idle(context, 10 if context.quick else 60)
    report.row("wake-ups a second when idle", still["wake-ups"], "", "2", 6)
    report.note(f"the bare Paho C++ subscriber, connected and idle: {paho['wake-ups']:.2f}, by the library's own threads")
    report.row("processor when idle", still["cpu"], "ms/s")
    took = {f"{months} months": starts(context, months) for months in ((1,) if context.quick else (1, 12, 60))}
    report.head("Start to ready against the months of history (level is constant)")
    report.plot(took, "s")
    report.row("the longest", max(took.values()), "s", "0.3", 1)
