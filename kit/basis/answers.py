"""Answers to open records: the decisions that a named person can take."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal, get_args

Decision = Literal["repeated", "belongs_to", "elsewhere", "misread", "no_measurement", "no_record"]
DECISIONS: Final[tuple[Decision, ...]] = get_args(Decision)
OF_COLUMNS: Final = ("of_tag", "of_visit", "of_table")  # what an open record is of, as open_records.csv says


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
    of_tag: str = ""  # what the record is of: where its key is not known to the records, whom to ask
    of_visit: str = ""
    of_table: str = ""
    file: str = ""  # where it stands
    row: int | None = None
    key: str = ""  # of the answer's own row, should it not be accepted
