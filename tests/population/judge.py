"""Holds what coilward said against what was true.

Said: the lines of `coilward replay --json`, one word on a finding each. Judged is the state at the end of the fault
(its repair, or the end of the recording): which findings are open then, under which name, with which zones."""
from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime

from .faults import HEALTHY, Fault
from .programme import Programme, Run
from .site import Site

GRACE_S = 120.0  # after a run, until its end is certain: the next reading may be a while away

# Two names of one thing.
ALONE_BEYOND_A_BREAK = ({"open_circuit", "failed_common"}, {"high_resistance", "common_high_resistance"})
SILENT_WITHOUT_COMMAND = {"missed_run", "open_circuit"}  # the contract gives such a zone either name
NOTHING_ANYWHERE = {"failed_common", "supply_lost"}
COMES_AND_GOES = ("missed_run", "stuck_on")  # may be over at the end of the fault


@dataclass(frozen=True)
class Word:
    id: str
    fault: str
    zones: list[int]
    probability: float
    opened: float
    updated: float
    open: bool

    def __str__(self) -> str:
        return f"{self.fault} {self.zones} {self.probability:.2f}"


@dataclass(frozen=True)
class Truth:
    names: set[str]  # the names that are right
    zones: list[int]
    onset: float
    until: float
    deadline: float  # for saying it in time
    lasting: bool
    beyond_telling: bool  # no sensor of this site can tell one name from the other


@dataclass(frozen=True)
class Verdict:
    right: bool
    in_time: bool
    misnamed: bool
    held: list[Word]
    false: list[Word]


def seconds(text: str) -> float:
    return datetime.fromisoformat(text).timestamp()


def word(line: dict) -> Word:
    return Word(line["id"], line["fault"], sorted(line["zones"]), line["probability"], seconds(line["opened"]),
                seconds(line["updated"]), line["closed"] is None)


def all_dead_without_volts(site: Site, fault: Fault) -> bool:
    """A common that is broken before every valve, or no supply: nothing leaves and nothing comes back."""
    return fault.name in NOTHING_ANYWHERE and len(fault.zones) == len(site.zones) and not site.sensors.supply


def right_names(site: Site, fault: Fault) -> set[str]:
    names = {fault.name}
    for pair in ALONE_BEYOND_A_BREAK:
        if len(fault.zones) == 1 and fault.name in pair:
            names |= pair
    if names & SILENT_WITHOUT_COMMAND and not site.sensors.command:
        names |= SILENT_WITHOUT_COMMAND
    return names | NOTHING_ANYWHERE if all_dead_without_volts(site, fault) else names


def deadline(fault: Fault, programme: Programme, stuck: list[Run]) -> float:
    """In time: within the first run that it shows in. What takes out several zones may take two of them to know."""
    runs = stuck or [r for r in programme.runs if r.zone.number in fault.zones and fault.acts(r.begin)]
    second = next((run for run in runs if run.zone is not runs[0].zone), runs[0]) if runs else None
    return second.end + GRACE_S if second else fault.until


def is_lasting(fault: Fault) -> bool:
    """What is away for the last day need not be held then."""
    return fault.kind not in COMES_AND_GOES and fault.acts(fault.until - 1)


def truth_of(site: Site, fault: Fault, programme: Programme, stuck: list[Run]) -> Truth:
    if fault.kind == HEALTHY:
        return Truth(set(), [], fault.onset, fault.until, fault.until, True, False)
    return Truth(right_names(site, fault), sorted(fault.zones), fault.onset, fault.until,
                 deadline(fault, programme, stuck), is_lasting(fault),
                 all_dead_without_volts(site, fault))


def names_it(said: Word, truth: Truth) -> bool:
    return said.fault in truth.names and bool(set(said.zones) & set(truth.zones))


def judge_one(words: list[Word], held: list[Word], truth: Truth) -> Verdict:
    right = [w for w in words if w.open and w.updated >= truth.onset and w.fault in truth.names
             and w.zones == truth.zones]
    is_right = any(w in right for w in held) if truth.lasting else bool(right)
    other_names = [] if is_right else [w for w in held if set(w.zones) & set(truth.zones)]
    return Verdict(is_right, any(w.updated <= truth.deadline for w in right), bool(other_names), held, [])


def judge(words: list[Word], truths: list[Truth]) -> list[Verdict]:
    """One for each truth. What is false of the site stands in the first."""
    verdicts, excused = [], set()
    for truth in truths:
        at_end = {w.id: w for w in words if w.updated <= truth.until}
        verdict = judge_one(words, [w for w in at_end.values() if w.open], truth)
        verdicts.append(verdict)
        if verdict.misnamed:
            excused |= {w.id for w in verdict.held if set(w.zones) & set(truth.zones)}
    last = {w.id: w for w in words}
    false = [w for w in last.values() if not any(names_it(w, truth) for truth in truths) and w.id not in excused]
    return [replace(verdicts[0], false=false), *verdicts[1:]]
