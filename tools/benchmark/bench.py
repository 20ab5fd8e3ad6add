"""tools/bench: all figures in one go, beside what they are compared with. Run it through tools/bench."""
import argparse
import dataclasses
import os
import pathlib
import platform
import sys

sys.dont_write_bytecode = True
import instructions  # noqa: E402
import keeping  # noqa: E402
import mqtt  # noqa: E402
import replaying  # noqa: E402
import resting  # noqa: E402
from report import Report  # noqa: E402

PARTS = {"history": keeping.measure, "mqtt": mqtt.measure, "replay": replaying.measure, "rest": resting.measure,
         "pieces": instructions.measure}


@dataclasses.dataclass
class Context:
    bin: pathlib.Path    # the built programs
    peers: pathlib.Path  # Debian packages unpacked
    big: str             # where large files may be
    quick: bool
    rounds: int


def main():
    options = argparse.ArgumentParser(prog="tools/bench", description="Figures beside those of others, as ratios of "
                                      "interleaved runs; medians of at least five.")
    options.add_argument("parts", nargs="*", help=f"some of: {', '.join(PARTS)} (default: all)")
    options.add_argument("--quick", action="store_true", help="about a minute: shorter, fewer rounds, some peers only")
    options.add_argument("--rounds", type=int, default=5)
    options.add_argument("--build", type=pathlib.Path, required=True, help=argparse.SUPPRESS)
    asked = options.parse_args()
    unknown = set(asked.parts) - set(PARTS)
    if unknown:
        options.error(f"there is no part '{unknown.pop()}'; there are: {', '.join(PARTS)}")
    context = Context(asked.build / "bin", asked.build / "peers", os.environ.get("TMPDIR", "/var/tmp"), asked.quick,
                      asked.rounds)
    report = Report()
    print(f"{platform.machine()}, {os.cpu_count()} processors, Linux {platform.release()}, load {os.getloadavg()[0]:.1f}"
          f"{' (not quiet: take the ratios only)' if os.getloadavg()[0] > 0.7 else ''}")
    for name, measure in PARTS.items():
        if not asked.parts or name in asked.parts:
            measure(context, report)
    for line in report.missed:
        print(f"beyond its limit: {line}")
    return 1 if report.missed else 0


if __name__ == "__main__":
    sys.exit(main())
