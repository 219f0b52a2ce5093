"""The unit's page, part by part, in the order of the page."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TypeVar

import kit
from kit.assessment.shown.unit_results import TagLine, UnitResults
from kit.assessment.wording import rule_words
from kit.basis.checks import CHECKS
from kit.basis.verdicts import TAG_VERDICTS, VERDICT_WORDS
from kit.views.figures.margin_figure import margin_figure
from kit.views.pieces.input_hash import input_hash
from kit.views.pieces.parts import Page, Part, attribute, render
from kit.views.pieces.rounding import share_text
from kit.views.pieces.sheets import Sheet, placed, tables_or
from kit.views.pieces.text_tables import TABLE_WORDS, Table, Verdict, verdict_of
from kit.views.unit_pages import unit_tables

Row = TypeVar("Row")
Bodies = tuple[tuple[str, tuple[Row, ...]], ...]  # class and rows; a browser lays out the second when asked to

_ROWS_AT_ONCE = 300
_MATRIX_WORDS = {
    "fail": "fail",
    "conditional_fail": "cond. fail",
    "not_tested": "gap",
    "not_assessable": "not assess.",
    "stale": "stale",
    "conditional_pass": "cond. pass",
    "pass": "pass",
    "information": "info",
    "": "–",
}


@dataclass(frozen=True, slots=True)
class Front:
    """Head of the unit's page."""

    notice: str
    title: str
    site: str
    counts: tuple[tuple[Verdict, str], ...]
    summary: str
    unanswered: str  # "" where every record is used or answered
    rows: str
    rule: str


@dataclass(frozen=True, slots=True)
class TagRow:
    """One row of the table of tags. ``rank``: what its verdict sorts by."""

    tag: str
    report: str
    service: str
    verdict: Verdict
    rank: str
    visit: str
    date: str
    check: str
    nearest: str
    share: str


@dataclass(frozen=True, slots=True)
class TagTable:
    """The table of tags, in bodies, and the verdicts that it can be filtered by."""

    bodies: Bodies[TagRow]
    verdicts: tuple[Verdict, ...]


@dataclass(frozen=True, slots=True)
class Matrix:
    """Tag by test, in bodies; a row is tag, report and cells, a cell its class and its word."""

    titles: tuple[str, ...]
    bodies: Bodies[tuple[str, str, tuple[tuple[str, str], ...]]]

    @property
    def is_long(self) -> bool:
        return len(self.bodies) > 1


def front(results: UnitResults) -> list[Part]:
    """Title, counts by verdict, rows read and used."""
    settings = results.settings
    count, rows = Counter(line.verdict for line in results.tags), results.rows
    safety = results.in_safety_function or "none"
    content = Front(
        notice=settings.notice,
        title=settings.title,
        site=settings.site,
        counts=tuple((verdict_of(name), str(count[name])) for name in (*TAG_VERDICTS, "") if count[name]),
        summary=f"{len(results.tags)} tags in the register; {safety} in a safety function.",
        unanswered=_unanswered(results.unanswered),
        rows=f"{rows.read} rows read: {rows.used} used and {rows.set_aside} set aside, in {len(results.counts)} files.",
        rule=rule_words(settings.decision_rule),
    )
    page = Page(title=settings.title, document=settings.title, assets="assets")
    return [page, render("unit_front.html.j2", content)]


def tags(results: UnitResults) -> list[Part]:
    """Every tag with its verdict, sortable and filterable."""
    rows = tuple(_tag_row(line) for line in results.tags)
    present = {line.verdict for line in results.tags}
    verdicts = tuple(verdict_of(name) for name in (*TAG_VERDICTS, "") if name in present)
    return [render("unit_tags.html.j2", TagTable(_bodies(rows), verdicts))]


def worst_actors(results: UnitResults) -> list[Part]:
    """The tags that use most of a tolerance, and how all tags lie."""
    shares = [line.nearest_share for line in results.tags if line.nearest_share is not None]
    figure = [margin_figure(shares)] if shares else []
    return [*figure, _listed("worst", unit_tables.worst_table(results), "No tag has a check with a limit and a value.")]


def completeness(results: UnitResults) -> list[Part]:
    """Which test of which tag is done, and how it ended."""
    rows = tuple(
        (
            line.tag,
            attribute(line.report),
            tuple(
                (state.replace("_", "-") or "none", _MATRIX_WORDS[state])
                for kind in TABLE_WORDS
                for state in [str(line.result.get("tests", {}).get(kind, ""))]
            ),
        )
        for line in results.tags
    )
    return [render("unit_matrix.html.j2", Matrix(tuple(TABLE_WORDS.values()), _bodies(rows)))]


def punch_list(results: UnitResults) -> list[Part]:
    """What is left to do in the unit."""
    return [_listed("punch", unit_tables.punch_table(results), "There is nothing on the punch list.")]


def instruments(results: UnitResults) -> list[Part]:
    """What each instrument touched, and which were past their due date."""
    return [_listed("instruments", unit_tables.instrument_table(results), "The unit has no instrument register.")]


def problems(results: UnitResults) -> list[Part]:
    """The count of every file, and every problem."""
    counted = _listed("counts", unit_tables.count_table(results), "No file was read.")
    return [counted, _listed("problems", unit_tables.problem_table(results), "No problem was found in the records.")]


def files(results: UnitResults) -> list[Part]:
    """The tables behind the page, and what it was made from."""
    sheet = Sheet(
        "provenance",
        lines=(
            f"Made by strokebook {kit.__version__} from {len(results.input_hashes)} input files, "
            f"all together {input_hash(results.input_hashes)}. Every file has its SHA-256 in manifest.json.",
            "Verdicts apply to the limits of each report and to the conditions of the test. "
            "They state what was measured; they do not say that a valve is safe. The cautions of each report hold.",
        ),
        tables=(unit_tables.file_table(),),
    )
    return [placed(sheet)]


def _unanswered(count: int) -> str:
    if not count:
        return ""
    return f"{count} {'record' if count == 1 else 'records'} unanswered: open_records.csv lists them, to be filled in."


def _bodies(rows: tuple[Row, ...]) -> Bodies[Row]:
    first, rest = rows[:_ROWS_AT_ONCE], rows[_ROWS_AT_ONCE:]
    return (("", first), ("rest", rest)) if rest else (("", first),)


def _tag_row(line: TagLine) -> TagRow:
    nearest = line.result.get("nearest") or {}
    worst = str(line.result.get("worst_check", ""))
    order = (*TAG_VERDICTS, "")
    return TagRow(
        tag=line.tag,
        report=attribute(line.report),
        service=line.service,
        verdict=verdict_of(line.verdict),
        rank=str(order.index(line.verdict) if line.verdict in VERDICT_WORDS else len(order)),
        visit=str(line.result.get("visit", "")),
        date=str(line.result.get("date", "")),
        check=CHECKS[worst].title if worst in CHECKS else "",
        nearest=f"{nearest['title']} {nearest['value']}" if nearest else "",
        share="" if line.nearest_share is None else share_text(line.nearest_share),
    )


def _listed(name: str, table: Table, reason: str) -> Part:
    return placed(tables_or(name, [table] if table.rows else [], reason))
