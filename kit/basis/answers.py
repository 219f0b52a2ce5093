"""Answers to open records: the decisions that a named person can take."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass
from typing import Final, Literal, get_args

Decision = Literal["repeated", "belongs_to", "elsewhere", "misread", "no_measurement", "no_record"]
DECISIONS: Final[tuple[Decision, ...]] = get_args(Decision)
OF_COLUMNS: Final = ("of_tag", "of_visit", "of_table")  # what an open record is of, as open_records.csv says
_DIGITS: Final = 15


def record_key(*parts: str) -> str:
    """``r`` and the first 15 hex digits of the SHA-256 over what tells a record from others.

    Examples
    --------
    >>> record_key("strokes", "records/strokes.csv", "FV-101", "1", "open", "quick", "0")
    'r0af374c60459407'
    """
    told = json.dumps(parts, ensure_ascii=False, separators=(",", ":"))
    return f"r{hashlib.sha256(told.encode()).hexdigest()[:_DIGITS]}"


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
