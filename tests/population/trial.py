"""One site from its seed to its verdict."""
from __future__ import annotations

import json
import random
import subprocess
import tempfile
from dataclasses import asdict, dataclass
from pathlib import Path

from .faults import Fault, draw_fault, fit_site
from .judge import Truth, Verdict, judge, truth_of, word
from .programme import DAY_S, draw_programme
from .site import Site, draw_site
from .site_file import site_toml
from .watering import Watering

MONTH_DAYS = 30.0


@dataclass(frozen=True)
class Task:
    seed: int
    kind: str
    number: int  # of the site among those with this fault
    programs: Path
    keep: Path | None


@dataclass(frozen=True)
class Trial:
    task: Task
    site: Site
    fault: Fault
    truth: Truth
    verdict: Verdict | None  # None: the program failed
    zone_months: float
    error: str = ""


def replay(programs: Path, directory: Path) -> subprocess.CompletedProcess[str]:
    command = [programs / "coilward", "replay", directory / "recording", "--config", directory / "site.toml", "--json"]
    return subprocess.run(command, capture_output=True, text=True)


def try_in(directory: Path, task: Task) -> Trial:
    """The whole trial is drawn from the task: the same task gives the same recording, byte for byte."""
    rng = random.Random(f"{task.seed} {task.kind} {task.number}")
    name = f"{task.kind.replace('_', '-')}-{task.seed}-{task.number}"
    site = fit_site(rng, draw_site(rng, name), task.kind)
    programme = draw_programme(rng, site)
    fault = draw_fault(rng, site, programme, task.kind)
    watering = Watering(rng, site, fault, programme)
    (directory / "site.toml").write_text(site_toml(site))
    watering.record().write(directory / "recording")
    truth = truth_of(site, fault, programme, watering.stuck)
    (directory / "truth.json").write_text(json.dumps({"fault": asdict(fault), "site": asdict(site)}, default=list))
    done = replay(task.programs, directory)
    (directory / "said").write_text(done.stdout)
    words = [word(line) for line in map(json.loads, done.stdout.splitlines()) if "fault" in line]
    verdict = judge(words, truth) if done.returncode == 0 else None
    months = len(site.zones) * (programme.end - programme.start) / DAY_S / MONTH_DAYS
    return Trial(task, site, fault, truth, verdict, months, done.stderr)


def try_site(task: Task) -> Trial:
    if task.keep is None:
        with tempfile.TemporaryDirectory() as directory:
            return try_in(Path(directory), task)
    directory = task.keep / f"{task.kind}-{task.seed}-{task.number}"
    directory.mkdir(parents=True, exist_ok=True)
    return try_in(directory, task)
