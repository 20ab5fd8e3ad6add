"""Words for what came out: a line for each site that went wrong, and the table of all."""
from __future__ import annotations

from datetime import datetime, timezone

from .faults import HEALTHY
from .trial import Trial

UNTELLABLE = "cannot be told apart"


def when(time: float) -> str:
    return datetime.fromtimestamp(time, timezone.utc).strftime("%Y-%m-%d %H:%M")


def row_of(trial: Trial) -> str:
    return UNTELLABLE if trial.truth.beyond_telling else trial.fault.kind


def is_wrong(trial: Trial) -> bool:
    verdict = trial.verdict
    return verdict is None or bool(verdict.false) or not (verdict.right or trial.fault.kind == HEALTHY)


def wrong_line(trial: Trial) -> str:
    task, fault, verdict, site = trial.task, trial.fault, trial.verdict, trial.site
    head = f"seed {task.seed} site {task.number} {fault.kind}"
    if verdict is None:
        return f"{head}: replay failed: {trial.error.strip()[-300:]}"
    state = "right" if verdict.right else "misnamed" if verdict.misnamed else "not said"
    true = f"{fault.mode or fault.name} {trial.truth.zones} {when(fault.onset)} to {when(fault.until)}"
    if fault.kind == HEALTHY:
        state, true = "said", "nothing"
    size = f" size {fault.size:.2f}" if fault.size else ""
    size += f", away {len(fault.absent)} times" if fault.absent else ""
    false = [f"{word} at {when(word.opened)}" for word in verdict.false]
    return (f"{head}: {state}; true: {true}{size}; held: {[str(word) for word in verdict.held]}; "
            f"false: {false}; channels: {' '.join(site.sensors.present())}, each {site.sensors.run_s:g} s, "
            f"warm-up {site.warm_up}")


def cells(name: str, trials: list[Trial]) -> str:
    verdicts = [trial.verdict for trial in trials if trial.verdict]
    right = sum(v.right for v in verdicts)
    in_time, misnamed = sum(v.in_time for v in verdicts), sum(v.misnamed for v in verdicts)
    false = sum(len(v.false) for v in verdicts)
    return f"{name:24}{len(trials):6}{right:7}{in_time:9}{misnamed:10}{false:7}"


def faulty(trials: list[Trial]) -> list[Trial]:
    """Those that can be right or wrong."""
    return [trial for trial in trials if row_of(trial) not in (HEALTHY, UNTELLABLE)]


def healthy_false(trials: list[Trial]) -> int:
    return sum(len(t.verdict.false) for t in trials if t.fault.kind == HEALTHY and t.verdict)


def right_percent(trials: list[Trial]) -> float:
    tried = faulty(trials)
    return 100 * sum(bool(t.verdict and t.verdict.right) for t in tried) / len(tried) if tried else 100.0


def table(trials: list[Trial]) -> list[str]:
    lines = [f"{'fault':24}{'sites':>6}{'right':>7}{'in time':>9}{'misnamed':>10}{'false':>7}"]
    rows = sorted({row_of(t) for t in trials} - {HEALTHY}, key=lambda name: (name == UNTELLABLE, name))
    lines += [cells(row, [t for t in trials if row_of(t) == row]) for row in rows]
    if tried := faulty(trials):
        lines.append(cells("all that can be told", tried) + f"   {right_percent(trials):.1f} % right")
    healthy = [t for t in trials if t.fault.kind == HEALTHY]
    months = sum(t.zone_months for t in healthy)
    if months:
        false = healthy_false(trials)
        lines.append(f"{HEALTHY:24}{len(healthy):6}{false:33}   {100 * false / months:.2f} in 100 zone-months "
                     f"({months:.0f} tried)")
    return lines
