"""The punch list of a unit, with who has each item, and what its rows can be chosen by."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Final

from kit.assessment.shown.punch_entries import STATE_WORDS, checks_of
from kit.assessment.shown.unit_results import UnitResults
from kit.basis.checks import CHECKS
from kit.views.pieces.numbers import signed
from kit.views.pieces.parts import attribute
from kit.views.unit_pages.panels import NONE_CODE, Choice, Panel, Rows, choice, codes, split
from kit.views.unit_pages.unit_tables import LISTED, more

_CATEGORIES: Final = {"A": "A", "B": "B", "C": "C"}
_STRAYS_TOLD: Final = 5
_HOW: Final = (
    "A: before the valve is relied on; B: before handover; C: to be agreed. The categories are proposals. "
    "punch_list.csv takes owner, closed_on, closed_by and remark: fill it in and put it into records/. An item of a "
    "check stays open until the check passes, whatever was entered."
)


@dataclass(frozen=True, slots=True)
class ItemRow:
    """One item; ``category_code`` and the like are what it is chosen by."""

    tag: str
    report: str
    category: str
    what: str
    evidence: str
    action: str
    owner: str
    state: str
    remark: str
    category_code: str
    check_code: str
    owner_code: str
    state_code: str


@dataclass(frozen=True, slots=True)
class PunchTable:
    """The punch list."""

    panel: Panel
    rows: Rows[ItemRow]
    notes: tuple[str, ...]


def punch_items(results: UnitResults) -> PunchTable | None:
    """Every item, the gravest category first, up to what a page can hold; None: there is none."""
    items = results.punch_items()
    if not items:
        return None
    shown = items[:LISTED]
    fields = _fields(shown)
    reports = {line.tag: attribute(line.report) for line in results.tags}
    known = {each.of: codes(each) for each in fields}
    panel = Panel("punch", "Punch list", "items", len(shown), "punch.", tuple(each for each in fields if each.options))
    rows = [_row(item, reports.get(item["tag"], ""), known) for item in shown]
    return PunchTable(panel, split(rows), tuple(filter(None, (more(len(items), "punch_list.csv"), _HOW))))


def stray_lines(results: UnitResults) -> tuple[str, ...]:
    """The entries that are of no item, in sentences."""
    found = results.punch_strays()
    told = tuple(f"{each.entry.file} row {each.entry.row}: {each.why}" for each in found[:_STRAYS_TOLD])
    rest = len(found[_STRAYS_TOLD:])
    return (*told, f"So are {rest} entries more; problems.csv lists them.") if rest else told


def _fields(items: Iterable[Mapping[str, Any]]) -> list[Choice]:
    present = {name for item in items for name in checks_of(item["check"])}
    checks = [(name, each.title) for name, each in CHECKS.items() if name in present]
    owners = sorted({item["owner"] for item in items if item["owner"]})
    states = {item["state"] for item in items}
    return [
        choice("category", "Category", "category", "is", _CATEGORIES.items()),
        choice("check", "Check", "check", "has", checks),
        choice("owner", "Owner", "owner", "is", [(name, name) for name in owners]),
        choice("state", "State", "state", "is", [(name, text) for name, text in STATE_WORDS.items() if name in states]),
    ]


def _row(item: Mapping[str, Any], report: str, known: Mapping[str, Mapping[str, str]]) -> ItemRow:
    closed = ", ".join(filter(None, (STATE_WORDS[item["state"]], item["closed_on"], item["closed_by"])))
    code = {name: known[name].get(item[name], NONE_CODE) for name in ("category", "owner", "state")}
    checks = (known["check"].get(name, "") for name in sorted(checks_of(item["check"])))
    return ItemRow(
        tag=item["tag"],
        report=report,
        category=item["category"],
        what=signed(item["what"]),
        evidence=signed(item["evidence"]),
        action=item["suggested_action"],
        owner=item["owner"],
        state=closed,
        remark=item["remark"],
        category_code=code["category"],
        check_code=" ".join(filter(None, checks)),
        owner_code=code["owner"],
        state_code=code["state"],
    )
