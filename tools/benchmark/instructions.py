"""The pieces of work: their time by Google Benchmark, and how many instructions each takes (callgrind), which is the same
on a busy machine and so can be held to what it was: tools/benchmark/instructions.json. After a change that is meant,
write it anew with COILWARD_BENCH_RECORD=1 tools/bench pieces."""
import json
import os
import pathlib
import re
import subprocess

KNOWN = pathlib.Path(__file__).with_name("instructions.json")
MOST = 1.05  # of what it was: libraries of a minor version later differ by a percent or two
MOST_RUN_MS = 5


def listed(context):
    text = subprocess.run([context.bin / "bench-pieces", "list"], stdout=subprocess.PIPE, text=True, check=True).stdout
    return [(int(count), name) for count, name in (line.split(" ", 1) for line in text.splitlines())]


def instructions(context, name, times):
    done = subprocess.run(["valgrind", "--tool=callgrind", "--callgrind-out-file=/dev/null", context.bin / "bench-pieces",
                           "count", name, str(times)], stderr=subprocess.PIPE, text=True, check=True)
    return int(re.search(r"Collected : (\d+)", done.stderr)[1])


def counted(context):
    """Instructions of each piece: what twice as many take more, so that preparing is not in it."""
    return {name: round((instructions(context, name, 2) - instructions(context, name, 1)) / count)
            for count, name in listed(context)}


def timed(context):
    text = subprocess.run([context.bin / "bench-pieces", "--benchmark_format=json", "--benchmark_min_time=0.2"],
                          stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True, check=True).stdout
    return {each["name"]: each["cpu_time"] / 1e3 for each in json.loads(text)["benchmarks"]}


def measure(context, report):
    took, count = timed(context), counted(context)
    if os.environ.get("COILWARD_BENCH_RECORD"):
        KNOWN.write_text(json.dumps(count, indent=2) + "\n")
    known = json.loads(KNOWN.read_text())
    report.head("Pieces of work: microseconds of processor time (Google Benchmark), instructions (callgrind)")
    for name, us in took.items():
        report.row(name, us, "us", f"{MOST_RUN_MS} ms" if name.startswith("run") else None)
        if name in count:
            report.row("  instructions", count[name], f"({count[name] / known[name]:.3f} of what is known)", None,
                       MOST * known[name])
