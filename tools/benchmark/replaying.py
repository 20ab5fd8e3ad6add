"""Recordings: lines a second on one core, beside taking them apart by simdjson and nothing else; a year; and what a line
costs against the number of zones."""
import os
import tempfile

from children import run_counted, values_of
from mqtt import site_file
from report import in_turn, median, ratio

HOURS = 6
ZONES = (6, 24, 96, 255)


def recording(context, place, zones, hours, form):
    path = f"{place}/{form}-{zones}.rec"
    run_counted([context.bin / "bench-recording", "write", path, zones, hours, form])
    with open(path, "rb") as file:
        return path, sum(1 for _ in file)


def replayed(context, config, path, lines):
    _, cpu, _ = run_counted([context.bin / "coilward", "replay", "--config", config, path])
    return {"us": 1e6 * cpu / lines, "lines": lines / cpu}


def parsed(context, path):
    values = values_of(run_counted([context.bin / "bench-recording", "parse", path])[0])
    return {"us": values["cpu_us"] / values["lines"], "lines": 1e6 * values["lines"] / values["cpu_us"]}


def against_parsing(context, report, place):
    made = {form: recording(context, place, 24, 1 if context.quick else HOURS, form) for form in ("senml", "number")}
    config = site_file(place, 1, 2)
    found = in_turn(1 if context.quick else context.rounds, {
        f"{what}, {form}": lambda what=what, form=form: (
            replayed(context, config, *made[form]) if what == "replay" else parsed(context, made[form][0]))
        for form in made for what in ("replay", "simdjson")})
    report.head("Replayed: 24 zones at 1 Hz, the whole pipeline, lines a second of processor time")
    report.rows(found, "lines", "lines")
    for form in made:
        report.row(f"CPU a line, {form}, against parsing it alone", ratio(found, f"replay, {form}", f"simdjson, {form}", "us"),
                   "times", "2, or 1,000,000 lines a second")
        report.at_least(f"lines a second, {form}", median(found, f"replay, {form}", "lines"), "", 1e6)


def a_year(context, report, place):
    days = 28 if context.quick else 365
    path, config = f"{place}/year.rec", f"{place}/year.toml"
    run_counted([context.bin / "coilward", "simulate", "--config", "config/park.toml", "--days", str(days), "--seed", "5",
                 "--out", path])
    _, cpu, _ = run_counted([context.bin / "coilward", "replay", "--config", "config/park.toml", path])
    report.head(f"Replayed and diagnosed: {days} days of config/park.toml")
    report.row("processor time for 365 days", cpu * 365 / days, "s", "10")


def against_zones(context, report, place):
    cost = {}
    for zones in ZONES:
        path, lines = recording(context, place, zones, 1, "number")
        cost[f"{zones} zones"] = replayed(context, site_file(place, 1, 2, zones), path, lines)["us"]
        os.remove(path)
    report.head("Replayed: an hour at 1 Hz, CPU a line against the number of zones (level is linear)")
    report.plot(cost, "us")


def measure(context, report):
    with tempfile.TemporaryDirectory(prefix="coilward-bench.", dir=context.big) as place:
        against_parsing(context, report, place)
        a_year(context, report, place)
        against_zones(context, report, place)
