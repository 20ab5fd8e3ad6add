"""What is wrong with a site, from when to when, and how large it is."""
from __future__ import annotations

import random
from dataclasses import dataclass, replace
from typing import Callable

from .programme import DAY_S, Programme, Run
from .site import Site

HEALTHY = "healthy"


@dataclass(frozen=True)
class Fault:
    kind: str  # one of KINDS
    zones: tuple[int, ...]  # the numbers of all zones that it takes out
    zone: int  # the number of the zone that it is in, where it is in one
    onset: float
    until: float  # the repair, or the end of the recording
    size: float = 0.0  # what it is depends on the kind
    ramp_s: float = 0.0  # grows from nothing to its size in this time
    mode: str = ""  # a variety of the kind
    stretch: int = -1  # of the common
    other: int = 0  # number of the zone whose wire is touched
    absent: tuple[tuple[float, float], ...] = ()  # while it is away: it comes and goes, or was mended and came back

    @property
    def name(self) -> str:
        """What the contract calls it."""
        return "shorted_coil" if self.kind == "partial_short" else self.kind

    def acts(self, time: float) -> bool:
        away = any(begin <= time < end for begin, end in self.absent)
        return self.kind != HEALTHY and self.onset <= time < self.until and not away

    def acts_in(self, kind: str, zone: int, time: float) -> bool:
        return self.kind == kind and self.zone == zone and self.acts(time)

    def grown(self, time: float) -> float:
        return self.size * min(1.0, (time - self.onset) / self.ramp_s) if self.ramp_s else self.size


def grows(rng: random.Random, fault: Fault) -> float:
    """At once, or slowly; always whole well before the end, so that the judge sees it whole."""
    return rng.choice([0.0, 0.3, 0.6]) * (fault.until - fault.onset)


def of_common(rng: random.Random, site: Site, fault: Fault) -> Fault:
    shared = [i for i in range(len(site.boxes)) if len(site.beyond(i)) >= 2] or [0]
    stretch = rng.choice(shared)
    return replace(fault, stretch=stretch, zones=tuple(zone.number for zone in site.beyond(stretch)))


def of_supply(_: random.Random, site: Site, fault: Fault) -> Fault:
    return replace(fault, zones=tuple(zone.number for zone in site.zones))


def splice_in_common(rng: random.Random, site: Site, fault: Fault) -> Fault:
    return replace(of_common(rng, site, fault), size=rng.uniform(15, 40), ramp_s=grows(rng, fault))


def splice(rng: random.Random, _: Site, fault: Fault) -> Fault:
    return replace(fault, size=rng.uniform(18, 50), ramp_s=grows(rng, fault))


def short(rng: random.Random, _: Site, fault: Fault) -> Fault:
    """size: ohms that are left. Either the wire limits the current, or the controller cuts out in seconds."""
    return replace(fault, size=rng.uniform(0.3, 3), mode=rng.choice(["cut-out", "stays", "stays"]))


def turns_lost(rng: random.Random, _: Site, fault: Fault) -> Fault:
    return replace(fault, size=rng.uniform(0.4, 0.8))  # share of the turns that are left


def touching(rng: random.Random, site: Site, fault: Fault) -> Fault:
    other = rng.choice([zone.number for zone in site.zones if zone.number != fault.zone])
    return replace(fault, other=other, zones=tuple(sorted((fault.zone, other))))


def leak(rng: random.Random, _: Site, fault: Fault) -> Fault:
    return replace(fault, size=rng.uniform(40, 250))  # ohms to earth


def low(rng: random.Random, site: Site, fault: Fault) -> Fault:
    return replace(of_supply(rng, site, fault), size=rng.uniform(0.7, 0.85))  # share of the volts that is left


def sensor(rng: random.Random, _: Site, fault: Fault) -> Fault:
    mode = rng.choice(["silent", "gain", "zero", "frozen"])
    gain = rng.choice([rng.uniform(0.4, 0.7), rng.uniform(1.4, 2.5)])
    sizes = {"gain": gain, "zero": rng.uniform(0.03, 0.15)}  # zero: amperes
    return replace(fault, mode=mode, size=sizes.get(mode, 0.0))


def plain(_: random.Random, __: Site, fault: Fault) -> Fault:
    return fault


KINDS: dict[str, Callable[[random.Random, Site, Fault], Fault]] = {
    "open_circuit": plain, "failed_common": of_common, "shorted_coil": short, "partial_short": turns_lost,
    "high_resistance": splice, "common_high_resistance": splice_in_common, "partial_open": plain,
    "crossed_wires": touching, "plunger_not_seated": plain, "earth_leakage": leak, "supply_low": low,
    "supply_lost": of_supply, "stuck_on": plain, "missed_run": plain, "sensor_fault": sensor, HEALTHY: plain,
}


def fit_site(rng: random.Random, site: Site, kind: str) -> Site:
    """What a site must have for the fault to be there at all, or to be seen by anyone."""
    sensors, zones = site.sensors, site.zones
    if kind == "partial_open" and all(zone.valves == 1 for zone in zones):
        lucky = rng.randrange(len(zones))
        zones = [replace(zone, valves=rng.choice([2, 2, 3])) if i == lucky else zone for i, zone in enumerate(zones)]
    off_is_seen = kind in ("stuck_on", "sensor_fault") or (kind == "missed_run" and not sensors.command)
    if off_is_seen:  # what shows only while a zone is off needs a sensor that speaks then
        sensors = replace(sensors, only_while_on=False)
    if kind == "earth_leakage" and rng.random() < 0.6:
        sensors = replace(sensors, common=True)
    return replace(site, sensors=sensors, zones=zones)


def draw_fault(rng: random.Random, site: Site, programme: Programme, kind: str) -> Fault:
    """The fault comes in the middle of the recording. One in four sites that water every day is repaired."""
    onset = programme.start + programme.days * rng.uniform(0.4, 0.65) * DAY_S
    repaired = programme.every == 1 and rng.random() < 0.25
    until = onset + (programme.end - onset) * 0.6 if repaired else programme.end
    several = [zone for zone in site.zones if zone.valves > 1]
    zone = rng.choice(several if kind == "partial_open" else site.zones)
    drawn = KINDS[kind](rng, site, Fault(kind, (zone.number,), zone.number, onset, until))
    return replace(drawn, onset=freezing(drawn, programme)) if drawn.mode == "frozen" else drawn


def freezing(fault: Fault, programme: Programme) -> float:
    """In the middle of a run. A sensor that stops at nothing looks like a dead zone; no one could tell."""
    run = next(run for run in programme.runs if run.zone.number == fault.zone and run.begin >= fault.onset)
    return (run.begin + run.end) / 2


def stuck_intervals(rng: random.Random, fault: Fault, programme: Programme) -> list[Run]:
    """When an output stays on after its run, for hours each time."""
    ended = [run for run in programme.runs if run.zone.number == fault.zone and fault.acts(run.end)]
    if fault.kind != "stuck_on":
        return []
    return [Run(run.zone, run.end, run.end + rng.choice([3, 6]) * 3600) for run in ended]
