"""One site from its seed to its verdict."""
from __future__ import annotations

import json
import random
import subprocess
import tempfile
from dataclasses import asdict, dataclass
from pathlib import Path

from .events import Events, draw_events, second_fault, varied, with_new_coil
from .faults import HEALTHY, Fault, draw_fault, fit_site
from .judge import Truth, Verdict, judge, truth_of, word
from .programme import DAY_S, Programme, draw_programme
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
    eventful: bool = False


@dataclass(frozen=True)
class Trial:
    task: Task
    site: Site
    fault: Fault
    truth: Truth
    verdict: Verdict | None  # None: the program failed
    zone_months: float  # 0 of a site's second fault
    error: str = ""


def replay(programs: Path, directory: Path) -> subprocess.CompletedProcess[str]:
    command = [programs / "coilward", "replay", directory / "recording", "--config", directory / "site.toml", "--json"]
    return subprocess.run(command, capture_output=True, text=True)


def draw_faults(rng: random.Random, site: Site, programme: Programme, task: Task) -> list[Fault]:
    fault = draw_fault(rng, site, programme, task.kind)
    if not task.eventful:
        return [fault]
    fault = varied(rng, fault, programme)
    second = second_fault(rng, site, programme, fault) if rng.random() < 0.3 else None
    return [fault, second] if second else [fault]


def events_of(rng: random.Random, site: Site, programme: Programme, task: Task) -> Events:
    if not task.eventful:
        return Events()
    events = draw_events(rng, programme)
    return with_new_coil(rng, site, programme, events) if task.kind == HEALTHY and rng.random() < 0.3 else events


def verdicts(done: subprocess.CompletedProcess[str], truths: list[Truth]) -> list[Verdict | None]:
    if done.returncode != 0:
        return [None for _ in truths]
    return judge([word(line) for line in map(json.loads, done.stdout.splitlines()) if "fault" in line], truths)


def try_in(directory: Path, task: Task) -> list[Trial]:
    """The whole trial is drawn from the task: the same task gives the same recording, byte for byte."""
    rng = random.Random(f"{task.seed} {task.kind} {task.number}")
    name = f"{task.kind.replace('_', '-')}-{task.seed}-{task.number}"
    site = fit_site(rng, draw_site(rng, name), task.kind)
    programme = draw_programme(rng, site, task.eventful)
    faults = draw_faults(rng, site, programme, task)
    watering = Watering(rng, site, faults, programme, events_of(rng, site, programme, task))
    (directory / "site.toml").write_text(site_toml(site))
    watering.record().write(directory / "recording")
    truths = [truth_of(site, fault, programme, watering.stuck) for fault in faults]
    known = {"faults": [asdict(fault) for fault in faults], "events": asdict(watering.events), "site": asdict(site)}
    (directory / "truth.json").write_text(json.dumps(known, default=list))
    done = replay(task.programs, directory)
    (directory / "said").write_text(done.stdout)
    months = len(site.zones) * (programme.end - programme.start) / DAY_S / MONTH_DAYS
    return [Trial(task, site, fault, truth, verdict, months if fault is faults[0] else 0.0, done.stderr)
            for fault, truth, verdict in zip(faults, truths, verdicts(done, truths))]


def try_site(task: Task) -> list[Trial]:
    """One for each of its faults."""
    if task.keep is None:
        with tempfile.TemporaryDirectory() as directory:
            return try_in(Path(directory), task)
    directory = task.keep / f"{task.kind}-{task.seed}-{task.number}"
    directory.mkdir(parents=True, exist_ok=True)
    return try_in(directory, task)
