"""What else happens at a site, and is no fault: a programme set anew, a coil of another make, brown-outs, a recorder
that was off. And how a fault may come that is not one plain beginning: early, at times, mended and back, or two."""
from __future__ import annotations

import random
from dataclasses import dataclass, replace

from .faults import HEALTHY, Fault, draw_fault
from .programme import DAY_S, Programme
from .site import Coil, Site, Zone, make_coil

COMES_AND_GOES = ("open_circuit", "failed_common", "plunger_not_seated", "earth_leakage")
SECOND = ("open_circuit", "shorted_coil", "partial_short", "high_resistance", "plunger_not_seated", "earth_leakage")
WHOLE_SITE = ("supply_low", "supply_lost")


@dataclass(frozen=True)
class Events:
    silent: tuple[tuple[float, float], ...] = ()  # nothing at all is recorded
    brown_outs: tuple[tuple[float, float, float], ...] = ()  # begin, end, share of the volts that is left
    new_coils: tuple[tuple[int, float, Coil], ...] = ()  # zone, from when, which

    def records(self, time: float) -> bool:
        return not any(begin <= time < end for begin, end in self.silent)

    def volts(self, time: float) -> float:
        return min((left for begin, end, left in self.brown_outs if begin <= time < end), default=1.0)

    def coil_of(self, zone: Zone, time: float) -> Zone:
        for number, since, coil in self.new_coils:
            if number == zone.number and time >= since:
                return replace(zone, coil=coil)
        return zone


def draw_events(rng: random.Random, programme: Programme) -> Events:
    """Of a site where much happens. At most a day and a half is silent: a longer silence is told, and rightly."""
    silent, brown_outs = [], []
    if rng.random() < 0.5:
        begin = programme.start + rng.uniform(0.2, 0.9) * programme.days * DAY_S
        silent.append((begin, begin + rng.uniform(0.05, 1.5) * DAY_S))
    for _ in range(rng.choice([0, 0, 1, 2])):
        begin = rng.choice(programme.runs).begin - rng.uniform(60, 1800)
        brown_outs.append((begin, begin + rng.uniform(600, 7200), rng.uniform(0.85, 0.95)))
    return Events(tuple(silent), tuple(brown_outs))


def with_new_coil(rng: random.Random, site: Site, programme: Programme, events: Events) -> Events:
    """Somebody put in a coil of another make, in a healthy zone, and told nobody."""
    zone, since = rng.choice(site.zones), programme.start + rng.uniform(0.4, 0.6) * programme.days * DAY_S
    old = zone.coil
    other = make_coil(old.hold_amps * rng.choice([0.8, 1.25]), old.ohms * rng.choice([0.8, 1.25]), rng.uniform(1.5, 1.9))
    return replace(events, new_coils=((zone.number, since, other),))


def early(rng: random.Random, fault: Fault, programme: Programme) -> Fault:
    """From the first day, or while the normal draw is still being learned."""
    days = rng.choice([0.0, rng.uniform(1, 4) * programme.every])
    return replace(fault, onset=programme.start + days * DAY_S, until=programme.end, ramp_s=0.0)


def at_times(rng: random.Random, fault: Fault, programme: Programme) -> Fault:
    """Away on every other day or so, from the first day that it shows on."""
    first = programme.day(fault.onset) + 1
    away = [programme.start + day * DAY_S for day in range(first, programme.days) if rng.random() < 0.5]
    return replace(fault, absent=tuple((begin, begin + DAY_S) for begin in away))


def back_again(fault: Fault) -> Fault:
    """Mended for the middle third, then as before."""
    third = (fault.until - fault.onset) / 3
    return replace(fault, absent=((fault.onset + third, fault.onset + 2 * third),), ramp_s=0.0)


def varied(rng: random.Random, fault: Fault, programme: Programme) -> Fault:
    if fault.kind in (HEALTHY, "missed_run", "stuck_on", "sensor_fault"):
        return fault
    ways = [lambda: fault, lambda: early(rng, fault, programme), lambda: back_again(fault)]
    if fault.kind in COMES_AND_GOES:
        ways.append(lambda: at_times(rng, fault, programme))
    return rng.choice(ways)()


def second_fault(rng: random.Random, site: Site, programme: Programme, first: Fault) -> Fault | None:
    """In a zone that the first one leaves alone, a while before or after it."""
    others = [zone for zone in site.zones if zone.number not in first.zones]
    if first.kind in (HEALTHY, *WHOLE_SITE) or not others:
        return None
    zone = rng.choice(others)
    fault = draw_fault(rng, replace(site, zones=others), programme, rng.choice(SECOND))
    return replace(fault, zone=zone.number, zones=(zone.number,), until=programme.end)



