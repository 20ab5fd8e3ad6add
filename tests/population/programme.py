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


def watering(rng: random.Random, site: Site, begin: float, lengths_s: list[float]) -> list[Run]:
    runs = []
    for zone, length in zip(site.zones, lengths_s):
        runs.append(Run(zone, begin, begin + length))
        begin += length + rng.choice([2, 5, 5, 10])
    return runs


def draw_programme(rng: random.Random, site: Site) -> Programme:
    """Two to six weeks. One site in five has a rain delay early on, when no fault is there yet."""
    every = rng.choice([1, 1, 2, 3])
    days = rng.choice([16, 21, 28]) + 7 * (every - 1)
    start = datetime(2026, rng.randint(4, 9), rng.randint(1, 25), tzinfo=timezone.utc).timestamp()
    first = rng.uniform(3, 8) * 3600
    lengths = [rng.choice([5, 8, 10, 15]) * 60.0 for _ in site.zones]
    rain = range(0) if rng.random() < 0.8 else range(int(days * 0.15), int(days * 0.15) + rng.randint(2, 4))
    waterings = [watering(rng, site, start + day * DAY_S + first, lengths)
                 if day % every == 0 and day not in rain else [] for day in range(days)]
    celsius = [15 + 6 * math.sin(2 * math.pi * (day + 40) / 180) + rng.gauss(0, 0.6) for day in range(days)]
    phase = rng.uniform(0, 2 * math.pi)
    mains = [site.mains_wander * (0.015 * math.sin(2 * math.pi * day / 9 + phase) + rng.gauss(0, 0.006))
             for day in range(days)]
    return Programme(start, days, every, waterings, celsius, mains)
