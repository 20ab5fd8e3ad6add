"""History: bytes a reading, bytes a day on the device, a year thinned, a backup; beside plain SQLite rows."""
import os
import statistics
import tempfile

from children import run_counted, values_of
from disk import loop_mounted
from prometheus import prometheus_bytes
from report import in_turn, median, ratio

FORMS = ("coilward", "rows", "rows-zone-first")


def bench(context, *words):
    return values_of(run_counted([context.bin / "bench-history", *map(str, words)])[0])


def keep(context, directory, form, hours, commit_s):
    for name in os.listdir(directory):
        if name != "lost+found":
            os.remove(os.path.join(directory, name))
    return bench(context, "keep", form, directory, 24, hours, commit_s)


def kept(context, report):
    hours, rounds = (12, 1) if context.quick else (24, context.rounds)
    forms = FORMS[:2] if context.quick else FORMS
    with loop_mounted(1000) as (disk, why), tempfile.TemporaryDirectory(prefix="coilward-bench.") as plain:
        where = disk or plain
        found = in_turn(rounds, {form: lambda form=form: keep(context, where, form, hours, 300) for form in forms})
    report.head(f"Kept: 24 zones at 1 Hz for {hours} h, one commit in 300 s (the default)")
    report.row("bytes a reading, indexes and roll-ups included", median(found, "coilward", "bytes_a_reading"), "",
               "0.8", 0.85)
    report.rows(found, "bytes_a_reading", "bytes", "rows")
    if disk:
        report.row("written to the block device a day, journal included", median(found, "coilward", "device_mb_a_day"),
                   "MB", "25", 40)
        report.rows(found, "device_mb_a_day", "MB a day", "rows")
    else:
        report.note(f"No ext4 on a loop device could be had ({why}), so what the device writes is not known.")
    report.note("What the process wrote by /proc/self/io, without journal and padding:")
    report.rows(found, "process_mb_a_day", "MB a day", "rows")
    report.rows(found, "cpu_us_a_reading", "us CPU", "rows")
    return found


def against_prometheus(context, report, found):
    size, why = prometheus_bytes(context, hours=2 if context.quick else 6)
    if size is None:
        report.note(f"Prometheus was left out: {why}")
        return
    ours = median(found, "coilward", "bytes_a_reading")
    report.note(f"Prometheus blocks of the same stream in mA: {size:.3g} bytes a reading; ours is {ours / size:.3f} of it"
                " (Gorilla, as published: 1.37)")


def asked(context, report):
    days = 30 if context.quick else 365
    with tempfile.TemporaryDirectory(prefix="coilward-bench.", dir=context.big) as directory:
        for form in FORMS[::2]:
            bench(context, "grow", form, directory, days)
        thin = in_turn(3 if context.quick else context.rounds,
                       {form: lambda form=form: bench(context, "thin", form, directory, days) for form in FORMS[::2]})
        backups = [bench(context, "backup", directory) for _ in range(1 if context.quick else 3)]
    report.head(f"Asked: {days} days of one zone at 1 Hz in 1000 points, the file given up by the cache before"
                " (posix_fadvise)")
    report.row("from opening to the last point", median(thin, "coilward", "thin_ms"), "ms", "50", 1000)
    report.rows(thin, "thin_ms", "ms", "rows-zone-first")
    report.rows(thin, "thin_cpu_ms", "ms CPU", "rows-zone-first")
    took = statistics.median(b["backup_ms"] for b in backups) / 1000
    copied = statistics.median(b["plain_copy_ms"] for b in backups) / 1000
    report.row(f"backup of {days} days, 24 zones ({backups[0]['backup_mb']:.0f} MB), checked", took, "s", "10", 60)
    report.note(f"the same file copied and synced and nothing else: {copied:.2f} s")


def measure(context, report):
    found = kept(context, report)
    against_prometheus(context, report, found)
    asked(context, report)
