"""What was looked at before the valve was first moved; the last answer to an item counts."""

from __future__ import annotations

from typing import Final

from kit.assessment.finding import Finding
from kit.assessment.stage_records import StageRecords
from kit.assessment.subjects.subject import Feed, Subject
from kit.basis.quantity import Quantity
from kit.calculations.prechecks import open_items


def _typed(records: StageRecords) -> list[Finding]:
    rows = records.tables["prechecks"]
    if not len(rows):
        return []
    answers = dict(zip(rows["item"].tolist(), rows["result"].tolist(), strict=True))
    count = open_items(list(answers.values()))
    named = [item for item, result in answers.items() if result in ("no", "")]
    return [Finding("prechecks", Quantity(float(count)), at="; ".join(named))]


PRECHECKS: Final = Subject(
    name="prechecks",
    table="prechecks",
    feeds=(Feed("prechecks", ("item", "result"), (), "one item answered"),),
    action="Close the open items before the valve is moved.",
    missing={"prechecks": (("prechecks", ""),)},
    typed=_typed,
)
