"""The plain tables of the unit's page."""

from __future__ import annotations

from typing import Final
from urllib.parse import urlencode

from kit.assessment.shown.summaries import SUMMARIES, file_of
from kit.assessment.shown.unit_results import InstrumentTouched, UnitResults, instruments_touched
from kit.views.pieces.rounding import share_text
from kit.views.pieces.text_tables import Cell, Column, Table, table, verdict_cell
from kit.views.report.open_items import PROBLEM_COLUMNS, problem_row

_NEAREST: Final = 20
_FAULTS_TOLD: Final = 3
LISTED: Final = 2000  # a page lists no more; the CSV beside it has them all
_LIST: Final = "#list-of-tags"  # its anchor in unit_tags.html.j2
_FILES: Final = {
    "unit.xlsx": "the tables below and the instruments, a sheet each with filters",
    "results.csv": "every check of every tag, visit and stage, unrounded",
    "tags.csv": "every tag with its verdict and its report",
    "problems.csv": "every row set aside and every flag, and whether it is open or answered",
    "open_records.csv": "what waits for an answer: fill it in and put it into records/",
    "punch_list.csv": "what is left to do: fill in owner and closing, and put it into records/",
    **{file_of(name): of for name, of in SUMMARIES.items()},
    "manifest.json": "SHA-256 of every file and input, versions",
}


def nearest_table(results: UnitResults) -> Table:
    """The tags that use most of a tolerance."""
    shares = [(line.nearest_share, line) for line in results.tags if line.nearest_share is not None]
    shares.sort(key=lambda pair: pair[0], reverse=True)
    rows = [
        [
            Cell(line.tag, href=line.report),
            line.service,
            line.result["nearest"]["title"],
            line.result["nearest"]["value"],
            share_text(share),
            verdict_cell(line.verdict),
        ]
        for share, line in shares[:_NEAREST]
    ]
    titles: list[str | Column] = [Column("Tag", "fixed"), "Service", "Check", "Value:", "Share of the tolerance:"]
    columns: list[str | Column] = [*titles, Column("Verdict of the tag", "word")]
    note = "Share: 100 % is on the limit, more is outside. House definition: from the middle of a two-sided limit, "
    note += "value over an upper limit, a lower limit over the value."
    return table("Most of a tolerance used", columns, rows, note, kind="wide")


def instrument_table(results: UnitResults) -> Table:
    """Each instrument with what it touched, those with a fault first, then those in use, then the idle ones."""
    rows: list[list[str | Cell]] = [
        [
            each.instrument or "none named",
            each.registered.description if each.registered else "not in the register" if each.instrument else "",
            each.registered.certificate if each.registered else "",
            each.registered.due_on if each.registered else "",
            ", ".join(each.roles),
            _tags_touched(each),
            _faults(each),
        ]
        for each in instruments_touched(results)
    ]
    columns: list[str | Column] = ["Instrument", "Description", Column("Certificate", "fixed"), Column("Due", "fixed")]
    columns += ["Used for", "Tags:", "On the days of the visits"]
    return table("Instruments", columns, rows, kind="wide")


def count_table(results: UnitResults) -> Table:
    """Rows of each file: read, used, set aside."""
    rows = [[each.file, each.table, str(each.read), str(each.used), str(each.set_aside)] for each in results.counts]
    columns = ["File", "Table", "Rows read:", "Used:", "Set aside:"]
    return table("Rows of every file", columns, rows, kind="wide dense")


def problem_table(results: UnitResults) -> Table:
    """Every problem of the unit, up to what a page can hold."""
    problems = (*results.crowds, *results.problems)
    rows: list[list[str | Cell]] = [[each.tag, *problem_row(each)] for each in problems[:LISTED]]
    columns: list[str | Column] = [Column("Tag", "fixed"), *PROBLEM_COLUMNS]
    return table("Problems", columns, rows, more(len(problems), "problems.csv"), kind="wide problems")


def file_table() -> Table:
    """The files beside the page."""
    rows: list[list[str | Cell]] = [[Cell(name, href=name), content] for name, content in _FILES.items()]
    return table("Files", ["File", "Content"], rows)


def more(count: int, name: str) -> str:
    """What a page says of a table that it does not hold whole."""
    return f"The first {LISTED} of {count} are listed; {name} has them all." if count > LISTED else ""


def _tags_touched(touched: InstrumentTouched) -> Cell:
    """How many, and the view of the tags that shows them."""
    view = urlencode({"instrument": touched.instrument}) if touched.instrument and touched.tags else ""
    return Cell(str(touched.tags), href=_LIST if view else "", view=view)


def _faults(touched: InstrumentTouched) -> str:
    if not touched.uses:
        return "not used"
    told = "; ".join(touched.faults[:_FAULTS_TOLD])
    return (told + (" and others" if len(touched.faults) > _FAULTS_TOLD else "")) or "in order"
