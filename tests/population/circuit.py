"""Steady phasors: the supply, and every coil that is on as one loop through its own wire and the common.

A loop shares the source with all others, and stretches of the common with some. Loop analysis gives the currents."""
from __future__ import annotations

import math
from dataclasses import dataclass

from .faults import Fault
from .site import ZONE_AWG, Site, Zone

COPPER_PER_KELVIN = 0.00393  # IACS, as in tests/reference/wire
WARMING = 0.06  # of a coil's ohms, in the end, at its rated current
WARMING_S = 240.0
MOST_HEAT = 3.0  # times the usual warming: beyond that a coil burns, which is not modelled
CUT_OUT_S = 2.5


@dataclass(frozen=True)
class Energised:
    zone: Zone
    since: float
    plunger_moving: bool = False


@dataclass(frozen=True)
class Moment:
    time: float
    open_volts: float
    celsius: float


@dataclass(frozen=True)
class Loop:
    output: int  # number of the zone at whose output it is measured
    zone: Zone | None  # whose coils it goes through; None: through earth instead
    ohms: complex  # what it shares with nobody
    stretches: frozenset[int]  # of the common that it comes back on


@dataclass(frozen=True)
class Flow:
    outputs: dict[int, float]  # amperes by zone number
    returning: float  # on the common
    volts: float  # at the supply's terminals


def warmed(site: Site, seconds: float, heat: float) -> float:
    if site.warm_up == "none":
        return 1.0
    return 1 + WARMING * heat * (1 - math.exp(-seconds / WARMING_S))


def parallel(coils: list[complex]) -> complex:
    return 1 / sum(1 / coil for coil in coils)


def coils_of(faults: list[Fault], on: Energised, moment: Moment, copper: float) -> list[complex]:
    """The impedances of a zone's coils. What is wrong with one of them is wrong with the first."""
    coils = [on.zone.coil.impedance(copper, seated=not on.plunger_moving)] * on.zone.valves
    for fault in faults:
        if on.zone.number == fault.zone and fault.acts(moment.time) and coils:
            coils = with_fault(fault, on, moment, copper, coils)
    return coils


def with_fault(fault: Fault, on: Energised, moment: Moment, copper: float, coils: list[complex]) -> list[complex]:
    seconds, first = moment.time - on.since, coils[0]
    changed = {
        "shorted_coil": [complex(fault.size, 0)],
        "partial_short": [complex(first.real * fault.size, first.imag * fault.size**2)],
        "plunger_not_seated": [on.zone.coil.impedance(copper, seated=False)],
        "partial_open": [],
    }.get(fault.kind, [first])
    if fault.kind == "shorted_coil" and fault.mode == "cut-out" and seconds > CUT_OUT_S:
        return []
    return changed + coils[1:]


def is_dead(faults: list[Fault], zone: Zone, time: float) -> bool:
    return any(fault.acts_in("open_circuit", zone.number, time)
               or (fault.kind == "failed_common" and fault.acts(time) and zone.number in fault.zones)
               for fault in faults)


def coil_loop(site: Site, faults: list[Fault], on: Energised, moment: Moment, output: int, heat: float) -> list[Loop]:
    if is_dead(faults, on.zone, moment.time):
        return []
    copper = 1 + COPPER_PER_KELVIN * (moment.celsius - 20)
    coils = coils_of(faults, on, moment, copper * warmed(site, moment.time - on.since, heat))
    if not coils:
        return []
    path = site.path(on.zone)
    wire = sum(site.wire_ohms(stretch, ZONE_AWG) for stretch in path) * copper
    wire += sum(fault.grown(moment.time) for fault in faults
                if fault.acts_in("high_resistance", on.zone.number, moment.time))
    return [Loop(output, on.zone, parallel(coils) + wire, path)]


def loops_of(site: Site, faults: list[Fault], on: Energised, moment: Moment, heat: dict[int, float]) -> list[Loop]:
    """What one output drives: its own coils, and with a fault perhaps another zone's, or the earth."""
    number = on.zone.number
    loops = coil_loop(site, faults, on, moment, number, heat.get(number, 1.0))
    for fault in faults:
        if fault.kind == "crossed_wires" and fault.acts(moment.time) and number in fault.zones:
            other = next(z for z in site.zones if z.number in fault.zones and z.number != number)
            touched = Energised(other, on.since, on.plunger_moving)
            loops += coil_loop(site, faults, touched, moment, number, heat.get(other.number, 1.0))
        if fault.acts_in("earth_leakage", number, moment.time):
            loops.append(Loop(number, None, complex(fault.size, 0), frozenset()))
    return loops


def stretch_ohms(site: Site, faults: list[Fault], moment: Moment) -> list[float]:
    copper = 1 + COPPER_PER_KELVIN * (moment.celsius - 20)
    ohms = [site.wire_ohms(i, site.common_awg) * copper for i in range(len(site.boxes))]
    for fault in faults:
        if fault.kind == "common_high_resistance" and fault.acts(moment.time):
            ohms[fault.stretch] += fault.grown(moment.time)
    return ohms


def solve(matrix: list[list[complex]], right: list[complex]) -> list[complex]:
    """Gauss; the matrix is diagonally strong, so no pivoting."""
    rows = [row + [value] for row, value in zip(matrix, right)]
    for i, pivot in enumerate(rows):
        for row in rows[i + 1:]:
            factor = row[i] / pivot[i]
            row[i:] = [a - factor * b for a, b in zip(row[i:], pivot[i:])]
    solution: list[complex] = [0j] * len(rows)
    for i in reversed(range(len(rows))):
        known = sum(rows[i][j] * solution[j] for j in range(i + 1, len(rows)))
        solution[i] = (rows[i][-1] - known) / rows[i][i]
    return solution


def loop_amps(site: Site, faults: list[Fault], loops: list[Loop], moment: Moment) -> list[complex]:
    shared = stretch_ohms(site, faults, moment)
    matrix = [[site.source_ohms + sum(shared[s] for s in a.stretches & b.stretches) + (a.ohms if a is b else 0j)
               for b in loops] for a in loops]
    return solve(matrix, [complex(moment.open_volts)] * len(loops))


def heat_by_zone(loops: list[Loop], amps: list[complex]) -> dict[int, float]:
    heat = {}
    for loop, ampere in zip(loops, amps):
        if loop.zone is not None:
            usual = loop.zone.coil.hold_amps * loop.zone.valves
            heat[loop.zone.number] = min(MOST_HEAT, (abs(ampere) / usual) ** 2)
    return heat


def flow(site: Site, faults: list[Fault], energised: list[Energised], moment: Moment) -> Flow:
    """What sensors without any error would see. A coil that warms by its heat is looked at twice."""
    heat: dict[int, float] = {}
    for _ in range(2 if site.warm_up == "heat" else 1):
        loops = [loop for on in energised for loop in loops_of(site, faults, on, moment, heat)]
        amps = loop_amps(site, faults, loops, moment)
        heat = heat_by_zone(loops, amps)
    outputs = {on.zone.number: abs(sum((a for loop, a in zip(loops, amps) if loop.output == on.zone.number), 0j))
               for on in energised}
    returning = abs(sum((a for loop, a in zip(loops, amps) if loop.zone is not None), 0j))
    return Flow(outputs, returning, abs(moment.open_volts - site.source_ohms * sum(amps, 0j)))
