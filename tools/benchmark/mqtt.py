"""From the broker: processor of whoever receives, a message, flat out and at a site's own pace."""
import contextlib
import os
import re
import socket
import tempfile
import time
import urllib.request

from children import Watched, free_port, run_counted, values_of
from peers import unpacked
from report import in_turn, ratio

BROKER = """listener {port} 127.0.0.1
allow_anonymous true
persistence false
max_queued_messages 0
"""
SITE = """[site]
id = "bench"
timezone = "Europe/London"
[mqtt]
url = "mqtt://127.0.0.1:{broker}"
[http]
port = {page}
[paths]
state = "{place}/state"
run = "{run}"
"""
COLLECTD = """FQDNLookup false
Hostname "bench"
Interval 10
TypesDB "{types}"
PluginDir "{plugins}"
LoadPlugin mqtt
LoadPlugin csv
<Plugin mqtt>
  <Subscribe "bench">
    Host "127.0.0.1"
    Port "{broker}"
    QoS 1
    Topic "coilward/#"
    ClientId "bench-collectd"
    CleanSession false
  </Subscribe>
</Plugin>
<Plugin csv>
  DataDir "{place}/csv"
</Plugin>
"""


def until_answers(port, limit=20):
    end = time.monotonic() + limit
    while time.monotonic() < end:
        with contextlib.suppress(OSError), socket.create_connection(("127.0.0.1", port), timeout=1):
            return
        time.sleep(0.05)
    raise RuntimeError(f"nothing answers on port {port}")


def write(path, text):
    with open(path, "w") as file:
        file.write(text)
    return path


@contextlib.contextmanager
def broker(place):
    port = free_port()
    path = os.environ["PATH"] + ":/usr/sbin"
    with Watched(["mosquitto", "-c", write(f"{place}/broker.conf", BROKER.format(port=port))],
                 env={**os.environ, "PATH": path}) as process:
        until_answers(port)
        yield port, process


def site_file(place, port, page, zones=24):
    run = tempfile.mkdtemp(prefix="coilward-bench.", dir="/dev/shm" if os.path.isdir("/dev/shm") else None)
    os.makedirs(f"{place}/state", exist_ok=True)
    text = SITE.format(broker=port, page=page, place=place, run=run)
    return write(f"{place}/site.toml", text + "".join(f"[[zone]]\nnumber = {z}\n" for z in range(1, zones + 1)))


def metric(page, name):
    with urllib.request.urlopen(f"http://127.0.0.1:{page}/metrics", timeout=10) as answer:
        found = re.search(rf"^{name}(?:_total)?(?:{{[^}}]*}})? ([0-9.e+]+)$", answer.read().decode(), re.M)
    return float(found[1]) if found else 0.0


@contextlib.contextmanager
def daemon(context, place, port, zones=24):
    page = free_port()
    config = site_file(place, port, page, zones)
    with Watched([context.bin / "coilwardd", config], stderr=open(f"{place}/daemon.log", "w")) as process:
        until_answers(page)
        end = time.monotonic() + 20
        while metric(page, "coilward_broker_connected") != 1:
            if time.monotonic() > end:
                raise RuntimeError("coilwardd does not reach the broker: " + open(f"{place}/daemon.log").read()[-500:])
            time.sleep(0.1)
        time.sleep(0.5)  # subscribing follows connecting
        yield process, page


@contextlib.contextmanager
def receiver(context, name, place, port):
    """Yields the process and a function that says how many messages it has counted (None: it cannot say)."""
    if name == "coilward":
        with daemon(context, place, port) as (process, page):
            yield process, lambda: metric(page, "coilward_samples_stored")
    elif name == "mosquitto_sub":
        with Watched(["mosquitto_sub", "-p", port, "-q", 1, "-t", "coilward/#", "-i", "bench-sub", "-c"],
                     stderr=None) as process:
            time.sleep(1)
            yield process, None
    elif name == "collectd csv":
        program, _ = unpacked(context, "collectd-core", "usr/sbin/collectd")
        root = context.peers / "collectd-core"
        config = COLLECTD.format(types=root / "usr/share/collectd/types.db", plugins=root / "usr/lib/collectd",
                                 broker=port, place=place)
        with Watched([program, "-f", "-C", write(f"{place}/collectd.conf", config)]) as process:
            time.sleep(2)
            yield process, lambda: sum(1 for folder, _, names in os.walk(f"{place}/csv") for n in names
                                       for line in open(os.path.join(folder, n)) if line[0].isdigit())
    else:
        with Watched([context.bin / "bench-subscriber", name, port], ready="ready") as process:
            yield process, "its last words"


def until_still(process, limit=300):
    """Waits until the process has hardly worked for half a second; its processor seconds, and when that began."""
    used, since = process.cpu(), time.monotonic()
    end = since + limit
    while time.monotonic() < min(end, since + 0.5):
        time.sleep(0.05)
        now = process.cpu()
        if now - used > 0.004:
            used, since = now, time.monotonic()
    return used, since


def received(context, name, count, rate):
    form = "collectd" if name == "collectd csv" else "senml"
    with tempfile.TemporaryDirectory(prefix="coilward-bench.", dir=context.big) as place, \
            broker(place) as (port, broker_process), receiver(context, name, place, port) as (process, counted):
        cpu, switches, began = process.cpu(), process.switches(), time.monotonic()
        run_counted([context.bin / "bench-publisher", str(port), form, str(count), str(rate)])
        used, ended = until_still(process)
        figures = {"us": 1e6 * (used - cpu) / count, "rate": count / (ended - began),
                   "wake-ups": (process.switches() - switches) / count, "memory": process.memory_mb("VmHWM")}
        if counted == "its last words":
            figures["lost"] = count - float(process.stop().split()[-1])
        elif counted:
            figures["lost"] = count - counted()
    return figures


def receivers(context, report):
    names = ["coilward", "paho", "mosquitto", "mosquitto_sub"]
    program, why = unpacked(context, "collectd-core", "usr/sbin/collectd")
    if program is None:
        report.note(f"collectd was left out: {why}")
    else:
        names.append("collectd csv")
    return names[:2] if context.quick else names


def measure(context, report):
    names = receivers(context, report)
    count, rounds = (20_000, 1) if context.quick else (100_000, context.rounds)
    found = in_turn(rounds, {name: lambda name=name: received(context, name, count, 0) for name in names})
    report.head(f"Received: {count} QoS 1 messages of SenML, flat out; coilward's to durable and diagnosed")
    report.row("CPU a reading against the bare Paho C++ subscriber", ratio(found, "coilward", "paho", "us"), "times",
               "1.5", 6)
    if "collectd csv" in found:
        report.row("CPU a reading against collectd's mqtt to csv", ratio(found, "coilward", "collectd csv", "us"), "times",
                   "0.5")
    report.row("rate against the bare Paho C++ subscriber", ratio(found, "coilward", "paho", "rate"), "times",
               "at least 0.8")
    report.row("readings lost", max(found["coilward"]["lost"]), "", "0", 0)
    report.rows(found, "us", "us CPU", "paho")
    report.rows(found, "rate", "a second", "paho")
    report.rows(found, "memory", "MB peak")
    if not context.quick:
        paced(context, report, names)


def paced(context, report, names):
    """A site's own pace, where each wake-up costs."""
    found = in_turn(1, {name: lambda name=name: received(context, name, 24 * 30, 24) for name in names})
    report.head("Received: 24 messages a second for 30 s, one round")
    report.rows(found, "us", "us CPU", "paho")
    report.rows(found, "wake-ups", "a message", "paho")
