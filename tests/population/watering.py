"""Weeks of a site, told by its sensors."""
from __future__ import annotations

import math
import random
from dataclasses import replace

from .circuit import Energised, Flow, Moment, flow
from .events import Events
from .faults import Fault, stuck_intervals
from .programme import DAY_S, Programme, Run
from .recording import BURST_STEP_S, Recording
from .site import Site, Zone

NOISE_A = 0.0006
NOISE_SHARE = 0.003
SUPPLY_EVERY_S = 5.0
NEAR_S = 1800.0  # of a watering: idle zones are read more often
FAR_STEP_S = 600.0
BURST_READINGS = 15


class Watering:
    def __init__(self, rng: random.Random, site: Site, faults: list[Fault], programme: Programme,
                 events: Events) -> None:
        """The first fault may be of any kind, a second one is within its zone's circuit."""
        self.rng, self.site, self.faults, self.programme, self.events = rng, site, faults, programme, events
        self.fault = faults[0]
        self.recording = Recording(site)
        self.stuck = stuck_intervals(rng, self.fault, programme)
        self.frozen_at = self.last_before_it_froze() if self.fault.mode == "frozen" else 0.0

    def record(self) -> Recording:
        for day in range(self.programme.days):
            self.idle_day(day)
            for run in self.programme.waterings[day]:
                self.run(run)
        self.recording.keep_only(self.events.records)
        return self.recording

    # ---- what is

    def is_missed(self, run: Run) -> bool:
        return self.fault.acts_in("missed_run", run.zone.number, run.begin)

    def moment(self, time: float) -> Moment:
        day = self.programme.day(time)
        volts = self.site.open_volts * (1 + self.programme.mains[day] + 0.008 * math.sin(time / 3000))
        volts *= self.events.volts(time)
        if self.fault.acts(time):
            volts *= {"supply_low": self.fault.size, "supply_lost": 0.0}.get(self.fault.kind, 1.0)
        return Moment(time, volts, self.programme.celsius[day])

    def flow(self, time: float, plunger_moving: bool = False) -> Flow:
        """Of what is on at that time, of its turn's zones all with their plungers moving, or none."""
        today = self.programme.waterings[self.programme.day(time)]
        runs = [run for run in today if run.begin <= time < run.end and not self.is_missed(run)]
        on = [Energised(stuck.zone, stuck.begin) for stuck in self.stuck if stuck.begin <= time < stuck.end]
        on += [Energised(run.zone, run.begin, plunger_moving) for run in runs]
        on = [replace(one, zone=self.events.coil_of(one.zone, time)) for one in on]
        return flow(self.site, self.faults, on, self.moment(time))

    def last_before_it_froze(self) -> float:
        run = next(r for r in self.programme.runs if r.zone.number == self.fault.zone and r.end > self.fault.onset)
        amps = self.flow(self.fault.onset).outputs.get(run.zone.number, 0.0)
        return round(abs(amps * run.zone.gain + run.zone.zero), 3)

    # ---- what the sensors make of it

    def seen(self, zone: Zone, time: float, amps: float, noise: float = NOISE_SHARE) -> float | None:
        """None: the sensor is silent."""
        read = (amps * zone.gain + zone.zero) * self.rng.gauss(1, noise) + self.rng.gauss(0, NOISE_A)
        if self.fault.acts_in("sensor_fault", zone.number, time):
            if self.fault.mode == "silent":
                return None
            if self.fault.mode == "frozen":
                return self.frozen_at
            read = read * self.fault.size if self.fault.mode == "gain" else read + self.fault.size
        return round(abs(read), 3)

    def tell_zone(self, zone: Zone, time: float, now: Flow) -> None:
        read = self.seen(zone, time, now.outputs.get(zone.number, 0.0))
        if read is not None:
            self.recording.value(time + 0.004 * zone.number, f"zone/{zone.number}/current", read, "A")

    def tell_supply(self, time: float, now: Flow) -> None:
        if self.site.sensors.supply:
            volts = round(now.volts * self.rng.gauss(1, 0.002), 2)
            self.recording.value(time + 0.3, "supply/voltage", volts, "V")

    def tell_common(self, time: float, now: Flow) -> None:
        if self.site.sensors.common:
            amps = now.returning * self.rng.gauss(1, 0.004) + self.rng.gauss(0, 0.001)
            self.recording.value(time + 0.31, "common/main/current", round(abs(amps), 3), "A")

    def tell_temperature(self, time: float) -> None:
        if self.site.sensors.temperature:
            celsius = self.moment(time).celsius + self.rng.gauss(0, 0.3)
            self.recording.value(time + 0.32, "soil/temperature", round(celsius, 1), "Cel")

    # ---- the course of a day

    def idle_day(self, day: int) -> None:
        """Between waterings."""
        sensors, runs = self.site.sensors, self.programme.waterings[day]
        begin = self.programme.start + day * DAY_S
        time = begin + self.rng.uniform(0, sensors.idle_s)
        while time < begin + DAY_S:
            away = max(runs[0].begin - 5 - time, time - runs[-1].end - 5) if runs else DAY_S
            if away > 0 and not sensors.only_while_on:
                self.tell_all(time)
            time += sensors.idle_s if away < NEAR_S else FAR_STEP_S

    def tell_all(self, time: float) -> None:
        now = self.flow(time)
        for zone in self.site.zones:
            self.tell_zone(zone, time, now)
        self.tell_supply(time, now)
        self.tell_common(time, now)
        self.tell_temperature(time)

    def run(self, run: Run) -> None:
        """One that is missed passes all the same: the others may speak meanwhile."""
        comes, commanded = not self.is_missed(run), self.site.sensors.command
        if comes and commanded:
            self.recording.command(run.begin, run.zone.number, True)
        time = run.begin + self.rng.uniform(0.05, 0.4)
        if comes and self.site.sensors.burst:
            self.tell_burst(run)
            time = run.begin + 0.6
        while time < run.end:
            self.tell_running(run, time)
            time += self.site.sensors.run_s * self.rng.gauss(1, 0.01)
        if comes and commanded:
            self.recording.command(run.end, run.zone.number, False)
        if comes:
            self.tell_zone(run.zone, run.end + 0.5, self.flow(run.end + 0.5))

    def tell_burst(self, run: Run) -> None:
        """Inrush until the plunger seats. There is no motion between: two levels."""
        seats_s = self.rng.uniform(0.03, 0.07)
        amps = []
        for i in range(BURST_READINGS):
            now = self.flow(run.begin, plunger_moving=i * BURST_STEP_S < seats_s)
            read = self.seen(run.zone, run.begin, now.outputs.get(run.zone.number, 0.0), noise=0.01)
            if read is None:
                return
            amps.append(read)
        self.recording.burst(run.begin, f"zone/{run.zone.number}/current", amps)

    def tell_running(self, run: Run, time: float) -> None:
        sensors, now = self.site.sensors, self.flow(time)
        for zone in self.site.zones:
            idle_turn = not sensors.only_while_on and self.rng.random() < sensors.run_s / sensors.idle_s
            if idle_turn or (zone is run.zone and not self.is_missed(run)):
                self.tell_zone(zone, time, now)
        if self.rng.random() < sensors.run_s / SUPPLY_EVERY_S:
            self.tell_supply(time, now)
        if self.rng.random() < sensors.run_s / 2:
            self.tell_common(time, now)
