"""What a site is: boxes, wires, coils, sensors. Nothing here changes with time.

Lengths in metres, currents in amperes RMS, impedances in ohms at the site's mains frequency.
Where a constant has no source beside it, it is common practice."""
from __future__ import annotations

import csv
import math
import random
from dataclasses import dataclass, field
from pathlib import Path

WIRE_TABLE = Path(__file__).parents[1] / "reference" / "wire" / "awg_20c.csv"
RATED_VOLTS = 24.0
ZONE_AWG = 18
SOURCE_DROP = 0.08  # of the rated volts, lost inside a small transformer at its rated load
INRUSH_PRINTED = 1.7  # what a maker prints for inrush over holding current; the coils themselves differ


def ohms_per_km() -> dict[int, float]:
    """Ohms a kilometre at 20 C by gauge, from the project's table of published values."""
    with WIRE_TABLE.open() as table:
        return {int(row["awg"]): float(row["ohm_per_km_20C_table"]) for row in csv.DictReader(table)}


OHMS_PER_KM = ohms_per_km()


@dataclass(frozen=True)
class Box:
    name: str
    parent: int | None  # index of the box the wire comes from; None: the controller
    metres: float  # from there


@dataclass(frozen=True)
class Coil:
    hold_amps: float
    ohms: float  # of its copper at 20 C
    seated: float  # reactance with the plunger in
    lifted: float  # and before it moved: less, so that the current is more

    def impedance(self, copper: float, seated: bool) -> complex:
        return complex(self.ohms * copper, self.seated if seated else self.lifted)


@dataclass(frozen=True)
class Zone:
    number: int
    box: int
    valves: int
    coil: Coil  # all valves of a zone are of one make
    gain: float  # of its sensor
    zero: float  # of its sensor, amperes


@dataclass(frozen=True)
class Sensors:
    """Which channels there are, and how often and in which form they speak."""
    command: bool
    supply: bool
    common: bool
    temperature: bool
    burst: bool
    only_while_on: bool  # says nothing of a zone that is off
    run_s: float  # seconds between readings of a zone that is on
    idle_s: float  # and of one that is off, near a watering
    form: str  # "text", "json", "senml"
    command_words: tuple[object, object]  # on, off
    offset_h: int | None  # of the recording's time stamps; None: they end in Z

    def present(self) -> list[str]:
        names = ["command", "supply", "common", "temperature", "burst"]
        return [name for name in names if getattr(self, name)] + ([] if self.only_while_on else ["idle"])


@dataclass(frozen=True)
class Site:
    id: str
    timezone: str
    hertz: int
    volt_amps: int
    open_volts: float  # of the secondary without a load
    mains_wander: float  # how much the mains move from day to day, 1 is usual
    warm_up: str  # how a coil warms while it is on: "none", "fixed" or "heat"
    common_awg: int
    boxes: list[Box]
    zones: list[Zone]
    sensors: Sensors
    rated: bool  # the configuration gives the coils' rated currents
    mapped: bool  # the configuration gives the boxes
    paths: list[frozenset[int]] = field(default_factory=list)  # by box: the stretches from the controller to it

    @property
    def source_ohms(self) -> float:
        return SOURCE_DROP * RATED_VOLTS**2 / self.volt_amps

    def path(self, zone: Zone) -> frozenset[int]:
        """The stretches to a zone's box. A stretch has the index of the box at its far end."""
        return self.paths[zone.box]

    def beyond(self, stretch: int) -> list[Zone]:
        return [zone for zone in self.zones if stretch in self.path(zone)]

    def wire_ohms(self, stretch: int, awg: int) -> float:
        return self.boxes[stretch].metres / 1000 * OHMS_PER_KM[awg]


def draw_boxes(rng: random.Random) -> list[Box]:
    boxes: list[Box] = []
    for i in range(rng.randint(1, 5)):
        parent = None if i == 0 else i - 1 if rng.random() < 0.7 else rng.randrange(i)
        boxes.append(Box("ABCDE"[i], parent, rng.randint(8, 60)))
    return boxes


def paths_to(boxes: list[Box]) -> list[frozenset[int]]:
    paths: list[frozenset[int]] = []
    for i, box in enumerate(boxes):
        paths.append(frozenset({i}) if box.parent is None else paths[box.parent] | {i})
    return paths


def make_coil(hold_amps: float, ohms: float, inrush: float) -> Coil:
    whole = RATED_VOLTS / hold_amps
    ohms = min(ohms, 0.6 * whole)
    open_whole = whole / inrush
    return Coil(hold_amps, ohms, math.sqrt(whole**2 - ohms**2), math.sqrt(max(open_whole**2 - ohms**2, 9)))


def draw_zones(rng: random.Random, boxes: int) -> list[Zone]:
    """Most coils of a site are of one make (tests/reference/solenoid has the ranges), some are not."""
    hold, ohms = rng.uniform(0.18, 0.30), rng.uniform(22, 45)
    count = rng.choice([rng.randint(3, 10), rng.randint(3, 10), 12, 2])
    zones = []
    for i in range(count):
        own_hold = hold * rng.gauss(1, 0.04) if rng.random() < 0.8 else rng.uniform(0.18, 0.35)
        coil = make_coil(own_hold, ohms * rng.gauss(1, 0.04), rng.uniform(1.5, 1.9))
        box = boxes - 1 if i == 0 else rng.randrange(boxes)
        valves = 2 if rng.random() < 0.12 else 1
        zones.append(Zone(i + 1, box, valves, coil, rng.gauss(1, 0.01), rng.gauss(0, 0.0008)))
    return zones


def draw_sensors(rng: random.Random) -> Sensors:
    words = [("on", "off"), ("1", "0"), ("true", "false"), ("True", "False"), (True, False), (1, 0)]
    return Sensors(
        command=rng.random() < 0.85, supply=rng.random() < 0.5, common=rng.random() < 0.35,
        temperature=rng.random() < 0.3, burst=rng.random() < 0.35, only_while_on=rng.random() < 0.35,
        run_s=rng.choice([1, 1, 2, 5, 10, 20, 30]), idle_s=rng.choice([20, 30, 60]),
        form=rng.choice(["text", "json", "senml"]), command_words=rng.choice(words),
        offset_h=rng.choice([None, None, -6, 2]))


def draw_site(rng: random.Random, name: str) -> Site:
    boxes = draw_boxes(rng)
    return Site(
        id=name, timezone=rng.choice(["America/Boise", "Europe/Berlin"]), hertz=rng.choice([50, 60]),
        volt_amps=rng.choice([20, 40, 40, 60]), open_volts=rng.uniform(24.5, 28),
        mains_wander=rng.choice([1, 1, 2]), warm_up=rng.choice(["none", "fixed", "heat"]),
        common_awg=rng.choice([14, 14, 12, 16]), boxes=boxes, zones=draw_zones(rng, len(boxes)),
        sensors=draw_sensors(rng), rated=rng.random() < 0.5, mapped=rng.random() < 0.75, paths=paths_to(boxes))
