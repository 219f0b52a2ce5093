"""The mean errors of every visit and stage, with what and who read them: what a bias is looked for in."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Final

from kit.assessment.results import StageResult, TagAssessment
from kit.basis.records import TagRecords
from kit.basis.registers import Role, Visit
from kit.basis.visits import oldest_first
from kit.calculations.position import Runs

PERSON: Final = "technician"
_ROLES: Final[Mapping[str, tuple[Role, ...]]] = {  # whose readings make the error
    "position error": ("position", "command"),
    "feedback error": ("feedback", "position"),
}


@dataclass(frozen=True, slots=True)
class Observation:
    """The mean error of one stage, with who and what read it."""

    of: str  # "position error": position minus ideal; "feedback error": feedback minus position
    tag: str
    visit: str
    stage: str
    state: str  # of the valve between two adjustments
    place: int  # in time, of that state
    mean_pct: float  # [% of travel]
    levels: Mapping[str, str]  # by factor


def observations(of_tags: Iterable[tuple[TagRecords, TagAssessment]]) -> tuple[Observation, ...]:
    """The mean position error and the mean feedback error of every visit and stage."""
    return tuple(each for records, assessment in of_tags for each in _of_tag(records, assessment))


def _of_tag(records: TagRecords, assessment: TagAssessment) -> Iterator[Observation]:
    by_name = {each.visit: each for each in records.visits}
    order = oldest_first(by_name, {each.visit: each.date for each in records.visits if each.date})
    stages = {(each.visit, each.stage): each for each in assessment.stages}
    state, place = 0, 0
    for name in order:
        for stage in ("as_found", "as_left"):
            result = stages.get((name, stage))
            if stage == "as_left" and ((name, "as_found") in stages or _was_adjusted(records, name)):
                state, place = state + 1, 0
            if result is None:
                continue
            yield from _of_stage(records.tag.tag, result, by_name[name], f"{records.tag.tag} {state}", place)
            place += 1


def _was_adjusted(records: TagRecords, visit: str) -> bool:
    """Whether anything was changed on a visit, or its settings say so of something."""
    changed = ("adjustments", "settings")
    return any(len(records.tables[name].only("visit", visit)) for name in changed)


def _of_stage(tag: str, result: StageResult, visit: Visit, state: str, place: int) -> Iterator[Observation]:
    runs: dict[str, Runs | None] = {"position error": result.position_runs, "feedback error": result.feedback_runs}
    for of, found in runs.items():
        if found is None or not found.error_pct.size:
            continue
        levels = {role: visit.instrument_of(role) for role in _ROLES[of]} | {PERSON: visit.technician}
        yield Observation(of, tag, result.visit, result.stage, state, place, float(found.error_pct.mean()), levels)
