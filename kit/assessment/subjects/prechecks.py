"""What was looked at before the valve was first moved; the last answer to an item counts."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from kit.assessment.budgets import Day
from kit.assessment.finding import Finding
from kit.assessment.latest import latest_row
from kit.assessment.limits import limit_of
from kit.assessment.stage_records import StageRecords
from kit.assessment.subjects.subject import Feed, Subject
from kit.basis.quantity import Quantity
from kit.basis.rows import Rows
from kit.basis.settings import Limit
from kit.calculations.prechecks import open_items

_NOT_IN_ORDER: Final = Limit("prechecks", "House definition: an item answered no is not in order", maximum=0.0)


def _typed(records: StageRecords) -> list[Finding]:
    """The open items: those answered no are held against the limit, those not answered keep it from passing."""
    rows, day = records.tables["prechecks"], records.day
    if not len(rows):
        return []
    answers = _answers(rows, day.settings.prechecks)
    refused = [item for item, result in answers.items() if result == "no"]
    silent = [item for item, result in answers.items() if result == ""]
    return [
        Finding(
            "prechecks",
            Quantity(float(open_items(answers.values()))),
            at="; ".join([*refused, *silent]),
            shortfall=_shortfall(silent),
            singly=(float(len(refused)),),
            house_limit=_NOT_IN_ORDER if _has_no_limit(day) else None,
        )
    ]


def _answers(rows: Rows, asked: Sequence[str]) -> dict[str, str]:
    """The last answer to each item, recorded or asked for, in order; "" where nobody knows which came last."""
    names = [_key(each) for each in rows["item"].tolist()]
    answers = {}
    for key in dict.fromkeys(names):
        own = rows.where(np.array([name == key for name in names], dtype=bool))
        results, last = [str(each) for each in own["result"].tolist()], latest_row(own)
        told = results[-1] if len(set(results)) == 1 else "" if last is None else results[last]
        answers[str(own["item"][0])] = told
    recorded = {_key(item) for item in answers}
    return answers | {item: "" for item in asked if _key(item) not in recorded}


def _key(item: str) -> str:
    return " ".join(str(item).casefold().split())


def _shortfall(silent: Sequence[str]) -> str:
    if not silent:
        return ""
    return f"not answered, or not clear which answer came last: {'; '.join(silent)}: write yes, no or na (prechecks)"


def _has_no_limit(day: Day) -> bool:
    return limit_of("prechecks", day.tag, day.settings) is None


PRECHECKS: Final = Subject(
    name="prechecks",
    table="prechecks",
    feeds=(Feed("prechecks", ("item", "result"), (), "every item of unit.toml's prechecks, else every one recorded"),),
    action="Close the open items before the valve is moved.",
    missing={"prechecks": (("prechecks", ""),)},
    typed=_typed,
)
