"""A recording as `mosquitto_sub -F '%j'` prints it, in the payload forms that the contract allows."""
from __future__ import annotations

import json
from datetime import datetime, timedelta, timezone
from pathlib import Path
from typing import Callable

from .site import Site

BURST_STEP_S = 0.01


def stamp(time: float, offset_h: int | None) -> str:
    zone = timezone.utc if offset_h is None else timezone(timedelta(hours=offset_h))
    local = datetime.fromtimestamp(time, zone).isoformat(timespec="milliseconds")
    return local[:-6] + ("Z" if offset_h is None else f"{offset_h:+03d}00")


class Recording:
    def __init__(self, site: Site) -> None:
        self.site = site
        self.messages: list[tuple[float, str, object]] = []

    def add(self, time: float, channel: str, payload: object) -> None:
        self.messages.append((time, f"coilward/{self.site.id}/measure/{channel}", payload))

    def value(self, time: float, channel: str, value: float, unit: str) -> None:
        form = self.site.sensors.form
        if form == "senml":
            self.add(time, channel, json.dumps([{"n": channel, "u": unit, "v": value, "t": round(time, 3)}]))
        else:
            self.add(time, channel, value if form == "json" else str(value))

    def command(self, time: float, zone: int, on: bool) -> None:
        self.add(time, f"zone/{zone}/command", self.site.sensors.command_words[0 if on else 1])

    def burst(self, time: float, channel: str, amps: list[float]) -> None:
        """Readings 10 ms apart in one pack, sent when it is full; as an object of JSON where the site speaks JSON."""
        pack: list[dict[str, object]] = [{"bn": channel, "bt": round(time, 3), "bu": "A", "v": amps[0]}]
        pack += [{"t": round(i * BURST_STEP_S, 3), "v": value} for i, value in enumerate(amps) if i]
        sent = time + len(amps) * BURST_STEP_S + 0.05
        self.add(sent, channel, pack if self.site.sensors.form == "json" else json.dumps(pack))

    def keep_only(self, records: Callable[[float], bool]) -> None:
        self.messages = [message for message in self.messages if records(message[0])]

    def write(self, file: Path) -> None:
        self.messages.sort(key=lambda message: message[0])
        with file.open("w") as lines:
            for time, topic, payload in self.messages:
                length = len(payload if isinstance(payload, str) else json.dumps(payload))
                lines.write(json.dumps({"tst": stamp(time, self.site.sensors.offset_h), "topic": topic, "qos": 1,
                                        "retain": 0, "payloadlen": length, "payload": payload}) + "\n")
