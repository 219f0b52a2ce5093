"""The plain tables of the unit's page."""

from __future__ import annotations

from collections import defaultdict
from math import inf
from typing import Any, Final

from kit.views.pieces.numbers import number, signed
from kit.views.pieces.text_tables import Cell, Column, Table, table, verdict_cell
from kit.views.report.evidence import problem_row
from kit.views.unit_pages.unit_results import TagLine, UnitResults

_WORST: Final = 20
_LISTED: Final = 500  # a page lists no more; the CSV beside it has them all
_CSV: Final = {
    "results.csv": "every check of every tag, visit and stage, unrounded",
    "tags.csv": "every tag with its verdict and its report",
    "problems.csv": "every row set aside and every flag",
    "punch_list.csv": "what is left to do",
    "manifest.json": "SHA-256 of every file and input, versions",
}


def share_of(line: TagLine) -> float:
    """The share of a tolerance that the tag's nearest check uses; infinite: no share can be stated."""
    share: float | None = line.result["nearest"]["share"]
    return inf if share is None else share


def share_text(share: float) -> str:
    """A share of a tolerance in %; just above the limit never reads as on it.

    Examples
    --------
    >>> share_text(0.5), share_text(1.0), share_text(1.0004), share_text(12.0)
    ('50 %', '100 %', '100.04 %', '1200 %')
    """
    if share == inf:
        return "beyond"
    decimals = 0
    while decimals < 7 and share > 1 and round(100 * share, decimals) <= 100 and 100 * share - 100 > 1e-7:
        decimals += 1
    return f"{number(100 * share, decimals)} %"


def worst_table(results: UnitResults) -> Table:
    """The tags that use most of a tolerance."""
    lines = [line for line in results.tags if line.result.get("nearest")]
    lines.sort(key=lambda line: -share_of(line))
    rows = [
        [
            Cell(line.tag, href=line.report),
            line.service,
            line.result["nearest"]["title"],
            line.result["nearest"]["value"],
            share_text(share_of(line)),
            verdict_cell(line.verdict),
        ]
        for line in lines[:_WORST]
    ]
    titles: list[str | Column] = [Column("Tag", "fixed"), "Service", "Check", "Value:", "Share of the tolerance:"]
    columns: list[str | Column] = [*titles, Column("Verdict of the tag", "word")]
    note = "Share: 100 % is on the limit, more is outside. House definition: from the middle of a two-sided limit, "
    note += "value over an upper limit, a lower limit over the value."
    return table("Most of a tolerance used", columns, rows, note, kind="wide")


def punch_table(results: UnitResults) -> Table:
    """Open items of all tags, the gravest category first."""
    items = [item for line in results.tags for item in line.result.get("punch_list", ())]
    items.sort(key=lambda item: item["category"])
    reports = {line.tag: line.report for line in results.tags}
    rows: list[list[str | Cell]] = [
        [
            item["category"],
            Cell(item["tag"], href=reports.get(item["tag"], "")),
            signed(item["what"]),
            signed(item["evidence"]),
            item["suggested_action"],
        ]
        for item in items[:_LISTED]
    ]
    columns: list[str | Column] = ["Category", Column("Tag", "fixed"), "What", "Evidence", "Suggested action"]
    return table("Open items", columns, rows, _more(len(items), "punch_list.csv"), kind="wide")


def instrument_table(results: UnitResults) -> Table:
    """Each instrument with what it touched, those with a fault first, then those in use, then the idle ones."""
    used: dict[str, list[dict[str, Any]]] = defaultdict(list)
    touched: dict[str, set[str]] = defaultdict(set)
    for line in results.tags:
        for use in line.result.get("instruments", ()):
            used[use["instrument"]].append(use)
            touched[use["instrument"]].add(line.tag)
    known = {each.instrument: each for each in results.instruments}
    names = sorted(dict.fromkeys([*used, *known]), key=lambda name: (-_faulty(used[name]), not used[name], name))
    rows = [
        [
            name or "none named",
            known[name].description if name in known else "not in the register" if name else "",
            known[name].certificate if name in known else "",
            known[name].due_on if name in known else "",
            ", ".join(sorted({use["role"] for use in used[name]})),
            str(len(touched[name])),
            _faults(used[name]),
        ]
        for name in names
    ]
    columns = ["Instrument", "Description", "Certificate", "Due", "Used for", "Tags:", "On the days of the visits"]
    return table("Instruments", columns, rows, kind="wide")


def count_table(results: UnitResults) -> Table:
    """Rows of each file: read, used, set aside."""
    rows = [[each.file, each.table, str(each.read), str(each.used), str(each.set_aside)] for each in results.counts]
    columns = ["File", "Table", "Rows read:", "Used:", "Set aside:"]
    return table("Rows of every file", columns, rows, kind="wide dense")


def problem_table(results: UnitResults) -> Table:
    """Every problem of the unit, up to what a page can hold."""
    rows: list[list[str | Cell]] = [[each.tag, *problem_row(each)] for each in results.problems[:_LISTED]]
    columns: list[str | Column] = [Column("Tag", "fixed"), "File", "Row:", "Column", "Value", "Problem", "Set aside"]
    return table("Problems", columns, rows, _more(len(results.problems), "problems.csv"), kind="wide problems")


def file_table() -> Table:
    """The files beside the page."""
    rows: list[list[str | Cell]] = [[Cell(name, href=name), content] for name, content in _CSV.items()]
    return table("Files", ["File", "Content"], rows)


def _more(count: int, name: str) -> str:
    return f"The first {_LISTED} of {count} are listed; {name} has them all." if count > _LISTED else ""


def _faulty(uses: list[dict[str, Any]]) -> int:
    return sum(bool(use["fault"]) for use in uses)


def _faults(uses: list[dict[str, Any]]) -> str:
    faults = list(dict.fromkeys(use["fault"] for use in uses if use["fault"]))
    if not uses:
        return "not used"
    return "; ".join(faults[:3]) + (" and others" if len(faults) > 3 else "") if faults else "in order"
