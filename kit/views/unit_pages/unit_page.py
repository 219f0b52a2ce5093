"""The unit's page, part by part, in the order of the page."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

import kit
from kit.assessment.limits import placeholder_words
from kit.assessment.shown.unit_progress import progress as progress_days
from kit.assessment.shown.unit_results import UnitResults
from kit.assessment.wording import rule_words
from kit.basis.verdicts import TAG_VERDICTS
from kit.views.figures.margin_figure import margin_figure
from kit.views.figures.progress_figure import progress_figure
from kit.views.pieces.input_hash import input_hash
from kit.views.pieces.parts import Page, Part, render
from kit.views.pieces.sheets import Sheet, missing, placed, placed_tables, tables_or
from kit.views.pieces.text_tables import Verdict, verdict_of
from kit.views.unit_pages import unit_tables
from kit.views.unit_pages.listing import listed
from kit.views.unit_pages.progress_tables import (
    cause_table,
    changed_table,
    common_table,
    first_pass_line,
    group_table,
    margin_table,
    stale_table,
)
from kit.views.unit_pages.punch_items import punch_items, stray_lines
from kit.views.unit_pages.tag_table import NO_VERDICT, tag_table
from kit.views.unit_pages.tests_done import tests_table


@dataclass(frozen=True, slots=True)
class Front:
    """Head of the unit's page."""

    notice: str
    title: str
    site: str
    counts: tuple[tuple[Verdict, str, str], ...]  # each with the view of the tags that shows them
    summary: str
    unanswered: str  # "" where every record is used or answered
    placeholders: str  # "" where every limit is confirmed
    rows: str
    issues: str  # how many tags are issued, and how many differ; "" where that is not known
    damage: tuple[str, ...]  # what is wrong with the ledger and what it names
    rule: str


def front(results: UnitResults) -> list[Part]:
    """Title, counts by verdict, rows read and used."""
    settings = results.settings
    count, rows = Counter(line.verdict for line in results.tags), results.rows
    safety = results.in_safety_function or "none"
    content = Front(
        notice=settings.notice,
        title=settings.title,
        site=settings.site,
        counts=tuple(_counted(name, count[name]) for name in (*TAG_VERDICTS, "") if count[name]),
        summary=f"{len(results.tags)} tags in the register; {safety} in a safety function.",
        unanswered=_unanswered(results.unanswered),
        placeholders=placeholder_words(settings),
        rows=f"{rows.read} rows read: {rows.used} used and {rows.set_aside} set aside, in {len(results.counts)} files.",
        issues=_issues(results),
        damage=results.issue_damage,
        rule=rule_words(settings.decision_rule),
    )
    page = Page(title=settings.title, document=settings.title, assets="assets", has_lists=True)
    return [page, render("unit_front.html.j2", content)]


def tags(results: UnitResults) -> list[Part]:
    """Every tag with its verdict, to be sorted, looked through and chosen from."""
    return [render("unit_tags.html.j2", tag_table(results))]


def progress(results: UnitResults) -> list[Part]:
    """How far the unit is: over the days, by the register's own columns, at the first visit, since the last issue."""
    days = progress_days(results.tags)
    figure = [progress_figure(days, len(results.tags))] if days else []
    tables = (group_table(results), stale_table(results), changed_table(results))
    line = first_pass_line(results)
    if not days and not any(tables):
        return [missing("No tag has a visit as left, and no column of the register groups the tags.")]
    return [*figure, placed_tables("progress", tables, *([line] if line else []))]


def exceptions(results: UnitResults) -> list[Part]:
    """What failures have in common: a probable cause, an instrument, a person or a day."""
    tables = [each for each in (cause_table(results), common_table(results)) if each is not None]
    return [placed(tables_or("grouped", tables, "No failure has a probable cause, or anything in common with others."))]


def nearest_to_limits(results: UnitResults) -> list[Part]:
    """The tags that use most of a tolerance, and how all tags lie."""
    shares = [line.nearest_share for line in results.tags if line.nearest_share is not None]
    figure = [margin_figure(shares)] if shares else []
    nearest = unit_tables.nearest_table(results)
    margins = margin_table(results)
    told = [placed_tables("margins", [margins])] if margins else []
    return [*figure, listed("nearest", nearest, "No tag has a check with a limit and a value."), *told]


def tests_done(results: UnitResults) -> list[Part]:
    """Which test of which tag is done, and how it ended."""
    return [render("unit_tests.html.j2", tests_table(results))]


def punch_list(results: UnitResults) -> list[Part]:
    """What is left to do in the unit."""
    content, found = punch_items(results), stray_lines(results)
    told = [placed(Sheet("punch-strays", lines=("Entries that are of no item:", *found)))] if found else []
    if content is None:
        return [missing("There is nothing on the punch list."), *told]
    return [render("unit_punch.html.j2", content), *told]


def instruments(results: UnitResults) -> list[Part]:
    """What each instrument touched, and which were past their due date."""
    touched = unit_tables.instrument_table(results)
    return [listed("instruments", touched, "The unit has no instrument register.", "instruments")]


def problems(results: UnitResults) -> list[Part]:
    """The count of every file, and every problem."""
    counted = listed("counts", unit_tables.count_table(results), "No file was read.", "files")
    found = unit_tables.problem_table(results)
    return [counted, listed("problems", found, "No problem was found in the records.", "problems")]


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


def _counted(name: str, count: int) -> tuple[Verdict, str, str]:
    return verdict_of(name), str(count), f"verdict={name or NO_VERDICT}"


def _issues(results: UnitResults) -> str:
    """How many pages stand as issued, differ from their issue, were never issued, and which tags are gone."""
    count = Counter(str(line.result.get("issue", {}).get("standing", "")) for line in results.tags)
    if not (count["issued"] or count["differs"] or results.issued_and_gone):
        return "No page is issued: each is a draft." if count["draft"] else ""
    gone = results.issued_and_gone
    words = {"issued": "as issued", "differs": "other than their last issue", "draft": "never issued"}
    said = ", ".join(f"{count[name]} {each}" for name, each in words.items())
    left = f" Issued, and no longer in the register: {', '.join(gone)}." if gone else ""
    return f"Pages: {said}.{left}"


def _unanswered(count: int) -> str:
    if not count:
        return ""
    return f"{count} {'record' if count == 1 else 'records'} unanswered: open_records.csv lists them, to be filled in."
