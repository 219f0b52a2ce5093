"""Answers to open records: the decisions that a named person can take."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal, get_args

Decision = Literal["repeated", "belongs_to", "elsewhere", "misread", "no_measurement", "no_record"]
DECISIONS: Final[tuple[Decision, ...]] = get_args(Decision)


@dataclass(frozen=True, slots=True)
class Answer:
    """A decision of a named person on one record: one row of the table dispositions."""

    record: str
    decision: Decision
    reason: str
    by: str
    on: str  # ISO 8601 date
    tag: str = ""
    visit: str = ""
    stage: str = ""
    value: str = ""
    second_person: str = ""
    file: str = ""  # where it stands
    row: int | None = None
