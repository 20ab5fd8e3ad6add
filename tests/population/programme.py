"""When a site waters, and what the weather and the mains do meanwhile. Times are seconds since 1970, UTC."""
from __future__ import annotations

import math
import random
from dataclasses import dataclass
from datetime import datetime, timezone

from .site import Site, Zone

DAY_S = 86400.0


@dataclass(frozen=True)
class Run:
    zone: Zone
    begin: float
    end: float


@dataclass(frozen=True)
class Programme:
    start: float  # midnight before the first day
    days: int
    every: int  # waters on each, each second or each third day
    waterings: list[list[Run]]  # by day; empty where it does not water
    celsius: list[float]  # by day, of the soil
    mains: list[float]  # by day, the share by which the supply is off its usual

    @property
    def end(self) -> float:
        return self.start + self.days * DAY_S

    @property
    def runs(self) -> list[Run]:
        return [run for day in self.waterings for run in day]

    def day(self, time: float) -> int:
        return min(self.days - 1, max(0, int((time - self.start) // DAY_S)))


@dataclass(frozen=True)
class Plan:
    """What is set at the controller."""
    first_s: float  # after midnight
    turns: list[tuple[Zone, ...]]  # zones of one turn are on together
    lengths_s: list[float]


def draw_plan(rng: random.Random, zones: list[Zone], together: bool = False) -> Plan:
    first = rng.uniform(3, 8) * 3600
    turns = [(zone,) for zone in zones]
    if together and len(zones) > 2:
        turns[-2:] = [(zones[-2], zones[-1])]
    return Plan(first, turns, [rng.choice([5, 8, 10, 15]) * 60.0 for _ in turns])


def watering(rng: random.Random, plan: Plan, midnight: float) -> list[Run]:
    runs, begin = [], midnight + plan.first_s
    for turn, length in zip(plan.turns, plan.lengths_s):
        runs += [Run(zone, begin, begin + length) for zone in turn]
        begin += length + rng.choice([2, 5, 5, 10])
    return runs


def draw_programme(rng: random.Random, site: Site, eventful: bool = False) -> Programme:
    """Two to six weeks. One site in five has a rain delay early on, when no fault is there yet. Where much happens,
    some zones may share a turn, and the programme may be set anew: another time, another order, other lengths."""
    every = rng.choice([1, 1, 2, 3])
    days = rng.choice([16, 21, 28]) + 7 * (every - 1)
    start = datetime(2026, rng.randint(4, 9), rng.randint(1, 25), tzinfo=timezone.utc).timestamp()
    plan = draw_plan(rng, site.zones, eventful and rng.random() < 0.25)
    changed = int(days * rng.uniform(0.2, 0.9)) if eventful and rng.random() < 0.4 else days
    later = draw_plan(rng, rng.sample(site.zones, len(site.zones))) if changed < days else plan
    rain = range(0) if rng.random() < 0.8 else range(int(days * 0.15), int(days * 0.15) + rng.randint(2, 4))
    waterings = [watering(rng, plan if day < changed else later, start + day * DAY_S)
                 if day % every == 0 and day not in rain else [] for day in range(days)]
    celsius = [15 + 6 * math.sin(2 * math.pi * (day + 40) / 180) + rng.gauss(0, 0.6) for day in range(days)]
    phase = rng.uniform(0, 2 * math.pi)
    mains = [site.mains_wander * (0.015 * math.sin(2 * math.pi * day / 9 + phase) + rng.gauss(0, 0.006))
             for day in range(days)]
    return Programme(start, days, every, waterings, celsius, mains)
