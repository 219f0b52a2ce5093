"""What a PDF says of itself, and what it carries. Without what makes one, so that a batch can name it at once."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Attached:
    """A file that a PDF carries."""

    name: str
    data: bytes
    what: str  # in words, for the list of attachments
    relationship: str  # to the page, in the words of ISO 32000-2, 7.11.3: Source, Data, Supplement


@dataclass(frozen=True, slots=True)
class About:
    """What a PDF says of itself."""

    title: str
    subject: str
    keywords: tuple[str, ...]
    made_by: str
    of_date: str  # ISO 8601, of the readings; "": not known
