"""What a run did, and how far it has come."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final, Literal

from kit.basis.verdicts import FAILING

UNIT_PAGE: Final = "index.html"


@dataclass(frozen=True, slots=True)
class TagDone:
    """What became of one tag, and how far the batch has come."""

    done: int
    of: int
    tag: str
    error: str  # what failed; "" when nothing did
    verdict: str  # "" when its notebook failed
    seconds: float
    peak_memory_mb: float | None  # of the notebook's process; None: not known here
    problems: int  # rows set aside or flagged
    made: Literal["reports", "PDFs"] = "reports"


Progress = Callable[[TagDone], None]


@dataclass(frozen=True, slots=True)
class BatchReport:
    """What a batch did."""

    unit_page: Path
    ran: tuple[str, ...]  # tags whose notebook was run
    unchanged: int  # tags whose last report stands
    failed: Mapping[str, str]  # what failed, by tag
    unit_page_error: str  # what failed on the unit's page; "" when nothing did
    verdicts: Mapping[str, str]  # by tag; "" where there is no report
    pdfs: tuple[str, ...] = ()  # tags whose PDF was made
    no_pdf: Mapping[str, str] = field(default_factory=dict)  # why a PDF that was asked for was not made, by tag
    pdfs_gone: tuple[str, ...] = ()  # tags whose PDF was of another page than theirs now, and was taken away
    bound: Path | None = None  # the PDFs of all tags bound into one; None: it was not asked for
    bound_gone: bool = False  # there was one, of other PDFs than those that stand, and it was taken away
    nothing_to_do: bool = False  # no input, notebook or source changed: nothing was even read

    @property
    def complete(self) -> bool:
        """Whether every page was made."""
        return not self.failed and not self.unit_page_error and not self.no_pdf

    @property
    def any_tag_fails(self) -> bool:
        """Whether the verdict of a tag is fail or conditional fail."""
        return any(verdict in FAILING for verdict in self.verdicts.values())


@dataclass(frozen=True, slots=True)
class TagReport:
    """What one tag's run left."""

    page: Path
    verdict: str  # "" when its notebook failed
    reason: str  # the verdict in a sentence, or what failed
    failed: bool
    pdf: Path | None = None  # None: none was asked for, or it could not be made
    no_pdf: str = ""  # why not
    pdf_gone: bool = False  # there was one, of another page than this, and it was taken away


def nothing_to_do(outputs: Path, verdicts: Mapping[str, str]) -> BatchReport:
    """The report of a batch that found every report standing."""
    return BatchReport(outputs / UNIT_PAGE, (), len(verdicts), {}, "", verdicts, nothing_to_do=True)
