"""Answers that are not true to their conditions: none of them may be accepted."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from random import Random
from typing import Final

from kit.basis.records import Problem
from kit.basis.tables import TABLES
from tests.damages.made_files import Line, MadeFile, MadeUnit, Sheet
from tests.damages.made_valves import Row
from tests.damages.outcomes import PASSES, Outcomes, outcomes_of

ANSWERS: Final = "records/dispositions.csv"
_ON: Final = "2026-06-01"


def answered_falsely(damaged: MadeUnit, held: Outcomes, rng: Random) -> list[tuple[str, str]]:
    """What one false answer to one of a unit's open records earned that the damage alone did not."""
    opens = [each for each in held.problems if each.status == "open" and each.record]
    if not opens:
        return []
    problem = rng.choice(opens)
    kind, row = rng.choice(_KINDS)(problem, damaged, rng)
    answered = damaged.copy()
    answered.files.append(answer_file([row]))
    after = outcomes_of(answered)
    return [
        (f"{what} by an answer", f"{kind}: {row}; {problem.file} row {problem.row}: {problem.problem[:80]}: {detail}")
        for what, detail in _lifted(held, after)
    ]


def _lifted(held: Outcomes, after: Outcomes) -> list[tuple[str, str]]:
    found = []
    for tag, now in after.tags.items():
        was = held.tags.get(tag)
        for key, verdict in now.checks.items():
            old = was.checks.get(key, "absent") if was else "absent"
            if verdict in PASSES and old not in PASSES:
                found.append(("a check lifted", f"{tag}: {' '.join(key)} {old} -> {verdict}"))
    return found


def answer_file(rows: Sequence[Row]) -> MadeFile:
    """A table of dispositions."""
    header = list(TABLES["dispositions"].columns)
    lines = [Line([row.get(name, "") for name in header]) for row in rows]
    return MadeFile(ANSWERS, [Sheet("dispositions", header, lines, "dispositions")])


def _answer(problem: Problem, decision: str, **changes: str) -> Row:
    row = {"record": problem.record, "decision": decision, "reason": "As agreed", "by": "Engineer 2", "on": _ON}
    return {**row, "second_person": "Engineer 3", **changes}


def _tags(problem: Problem) -> tuple[str, ...]:
    return problem.scope.tags if problem.scope else ()


def _elsewhere_of_a_tag_that_is_there(problem: Problem, unit: MadeUnit, rng: Random) -> tuple[str, Row]:
    return "elsewhere with a registered tag", _answer(problem, "elsewhere", tag=rng.choice(unit.tags))


def _elsewhere_without_a_tag(problem: Problem, unit: MadeUnit, rng: Random) -> tuple[str, Row]:
    return "elsewhere without a tag", _answer(problem, "elsewhere")


def _of_a_visit_that_is_not_there(problem: Problem, unit: MadeUnit, rng: Random) -> tuple[str, Row]:
    tag = rng.choice(_tags(problem) or unit.tags)
    return "belongs_to a visit that is not there", _answer(problem, "belongs_to", tag=tag, visit="99")


def _of_a_tag_beyond_its_scope(problem: Problem, unit: MadeUnit, rng: Random) -> tuple[str, Row]:
    others = [tag for tag in unit.tags if tag not in _tags(problem)]
    tag = rng.choice(others) if others else "FV-999"
    return "belongs_to a tag beyond its scope", _answer(problem, "belongs_to", tag=tag)


def _without(column: str) -> Callable[[Problem, MadeUnit, Random], tuple[str, Row]]:
    def answer(problem: Problem, unit: MadeUnit, rng: Random) -> tuple[str, Row]:
        decision = rng.choice(TABLES["dispositions"].words("decision"))
        return f"{decision} without {column}", _answer(problem, decision, tag="FV-999", **{column: ""})

    return answer


def _misread_by_one_person(problem: Problem, unit: MadeUnit, rng: Random) -> tuple[str, Row]:
    second = rng.choice(("", "Engineer 2", "ENGINEER 2 "))
    return "misread by one person", _answer(problem, "misread", value="20", second_person=second)


def _not_a_whole_file(problem: Problem, unit: MadeUnit, rng: Random) -> tuple[str, Row]:
    if problem.row is None:
        return _no_decision(problem, unit, rng)
    return "no_record of a row", _answer(problem, "no_record")


def _no_decision(problem: Problem, unit: MadeUnit, rng: Random) -> tuple[str, Row]:
    return "an unknown decision", _answer(problem, rng.choice(("ok", "accepted", "ignore", "no measurment", "?")))


def _of_another_record(problem: Problem, unit: MadeUnit, rng: Random) -> tuple[str, Row]:
    key = problem.record
    other = rng.choice((key[:-1], f"{key}0", key[:-1] + ("0" if key[-1] != "0" else "1"), key.upper() + "x"))
    return "a key of no record", _answer(problem, "no_measurement", record=other)


def _never_repeated(problem: Problem, unit: MadeUnit, rng: Random) -> tuple[str, Row]:
    """Of these tables a made unit has one row a place; where the place cannot be read any later row may repeat it."""
    tables = ("fail_tests", "potentiometer", "electrical", "loop_checks")
    if problem.table not in tables or problem.column in ("", "cause", "position_pct", "station_output_pct"):
        return _no_decision(problem, unit, rng)
    return "repeated where nothing was", _answer(problem, "repeated")


def _a_measurement(problem: Problem, unit: MadeUnit, rng: Random) -> tuple[str, Row]:
    """A value cell that holds a number, however it is written, is a measurement."""
    if problem.row is None or not any(map(str.isdigit, problem.value)) or problem.column in ("", "tag", "visit"):
        return _no_decision(problem, unit, rng)
    return "no_measurement of a row that holds one", _answer(problem, "no_measurement")


def _by_an_unknown_day(problem: Problem, unit: MadeUnit, rng: Random) -> tuple[str, Row]:
    return "no_measurement on an unknown day", _answer(problem, "no_measurement", on=rng.choice(("1.6.", "soon", "")))


_KINDS: Final = (
    _elsewhere_of_a_tag_that_is_there,
    _elsewhere_without_a_tag,
    _of_a_visit_that_is_not_there,
    _of_a_tag_beyond_its_scope,
    _without("reason"),
    _without("by"),
    _without("on"),
    _without("record"),
    _misread_by_one_person,
    _not_a_whole_file,
    _no_decision,
    _of_another_record,
    _by_an_unknown_day,
    _never_repeated,
    _never_repeated,
    _a_measurement,
    _a_measurement,
)
