"""A site's configuration, as its owner would write it."""
from __future__ import annotations

from .site import INRUSH_PRINTED, RATED_VOLTS, ZONE_AWG, Site, Zone


def box_lines(site: Site) -> list[str]:
    lines = []
    for box in site.boxes:
        start = "controller" if box.parent is None else site.boxes[box.parent].name
        lines += ["[[box]]", f'id = "{box.name}"', f'from = "{start}"', f"metres = {box.metres}"]
    return lines


def zone_lines(site: Site, zone: Zone) -> list[str]:
    lines = ["[[zone]]", f"number = {zone.number}", f"awg = {ZONE_AWG}", 'common = "main"', f"valves = {zone.valves}"]
    if site.mapped:
        lines.append(f'box = "{site.boxes[zone.box].name}"')
    if site.rated:
        hold = zone.coil.hold_amps
        lines += [f"hold_amps = {hold:.2f}", f"inrush_amps = {hold * INRUSH_PRINTED:.2f}"]
    return lines


def site_toml(site: Site) -> str:
    lines = ["[site]", f'id = "{site.id}"', f'timezone = "{site.timezone}"',
             "[supply]", f"volts = {RATED_VOLTS}", f"hertz = {site.hertz}", f"volt_amps = {site.volt_amps}",
             "[[common]]", 'id = "main"', f"awg = {site.common_awg}"]
    lines += box_lines(site) if site.mapped else []
    for zone in site.zones:
        lines += zone_lines(site, zone)
    return "\n".join(lines) + "\n"
