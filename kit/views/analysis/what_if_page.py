"""What the notebook what_if shows: before and after, side by side, each output marked as no record."""

from __future__ import annotations

from collections.abc import Callable
from typing import Concatenate, Final, ParamSpec

from kit.assessment.results import CheckResult
from kit.assessment.shown.scaled_readings import scaled_readings
from kit.assessment.what_if import Case, WhatIfError
from kit.assessment.what_if.case import CheckChange, Comparison, compared
from kit.assessment.what_if.reading_keys import reading_keys
from kit.basis.verdicts import VERDICT_WORDS, CheckVerdict
from kit.views.analysis.share_figure import NO_RECORD, share_figure
from kit.views.pieces.check_texts import check_limit, check_title, check_uncertainty_text, check_value
from kit.views.pieces.numbers import NONE, number, signed
from kit.views.pieces.parts import Page, Part
from kit.views.pieces.sheets import Sheet, placed
from kit.views.pieces.text_tables import Cell, Column, Table, Verdict, stage_word, table, verdict_cell

_SHEET: Final = "what-if"
SUPPOSED: Final = "supposed"  # the class of a verdict that is on no record
_UNKNOWN: Final = "not known"
_WOULD: Final = {
    "pass": "would pass",
    "conditional_pass": "would pass conditionally",
    "conditional_fail": "would fail conditionally",
    "fail": "would fail",
    "stale": "to be repeated",
    "information": "no limit",
}
_COLUMNS: Final[tuple[str | Column, ...]] = (
    "Check",
    "Limit:",
    "On record:",
    "U on record:",
    Column("Verdict on record", "word"),
    "As supposed:",
    "U as supposed:",
    Column("Verdict as supposed", "word"),
    "Changed",
)
P = ParamSpec("P")


def front(case: Case) -> list[Part]:
    """Which tag it is, what is on record of it, and that nothing here is."""
    tag, assessment = case.records.tag, case.on_record
    lines = (
        f"{tag.tag} {tag.service}".strip(),
        f"On record: {VERDICT_WORDS[assessment.verdict].lower()}. {signed(assessment.reason)}",
        "Below stands what would be. None of it is a verdict, it is written nowhere, and nobody signs it.",
    )
    page = Page(title=f"{NO_RECORD} ({tag.tag})", document=f"{NO_RECORD}. {tag.tag}", assets="assets")
    return [page, _sheet(*lines)]


def choices(case: Case) -> list[Part]:
    """What can be named: limit sets, instruments, and every stroke reading by its key."""
    functions: dict[str, list[str]] = {}
    for each in case.unit.instruments:
        functions.setdefault(each.instrument, []).append(each.measures)
    instruments = [f"{name} ({', '.join(dict.fromkeys(units))})" for name, units in functions.items()]
    lines = (
        f"Limit sets: {', '.join(case.unit.settings.limit_sets) or 'none'}.",
        f"Instruments: {', '.join(instruments) or 'none'}.",
    )
    return [_sheet(*lines, tables=(_readings(case),))]


def supposed(
    suppose: Callable[Concatenate[Case, P], Case], case: Case, *given: P.args, **named: P.kwargs
) -> list[Part]:
    """What changes when ``suppose`` is done to the case; what cannot be supposed is said, and why."""
    try:
        found = compared(suppose(case, *given, **named))
    except WhatIfError as error:
        return [placed(Sheet(_SHEET, (f"{NO_RECORD}.",), missing=f"This cannot be supposed. {error}"))]
    changes = [each for each in found.checks if _changed(each)]
    figure = share_figure(found.tag, [(check_title(each.shown), each) for each in changes])
    return [_compared(found, changes), *([] if figure is None else [figure])]


def would(verdict: CheckVerdict) -> str:
    """What a verdict is called that is on no record: never by the word of one that is."""
    return _WOULD.get(verdict, f"would be {VERDICT_WORDS[verdict].lower()}")


def _compared(found: Comparison, changes: list[CheckChange]) -> Part:
    after = _UNKNOWN if found.verdict_after is None else VERDICT_WORDS[found.verdict_after].lower()
    rows = [_row(each, found) for each in changes]
    unchanged = _unchanged([each for each in found.checks if each not in changes])
    lines = (
        *map(signed, found.supposed),
        f"Verdict of the tag on record: {VERDICT_WORDS[found.verdict_before].lower()}. As supposed: {after}.",
    )
    if not rows:
        return _sheet(*lines, "No check changes as far as it is printed.", unchanged)
    return _sheet(
        *lines, tables=(table(f"{NO_RECORD}: what changes for {found.tag}", _COLUMNS, rows, unchanged, kind="wide"),)
    )


def _row(change: CheckChange, found: Comparison) -> list[str | Cell]:
    before, after = change.before, change.after
    bare = after is not None and (after.value is None or after.budget is None)
    title = Cell(check_title(change.shown), small=signed(after.reason) if after is not None and bare else "")
    cells: list[str | Cell] = [title, _limits(before, after)]
    if before is None:
        cells += [NONE, NONE, NONE]
    else:
        cells += [check_value(before), check_uncertainty_text(before), verdict_cell(before.verdict)]
    if after is None:
        cells += [NONE, NONE, NONE]
    elif found.only_uncertainty:
        cells += [_UNKNOWN, check_uncertainty_text(after), Cell(verdict=Verdict(_UNKNOWN, SUPPOSED))]
    else:
        verdict = Cell(verdict=Verdict(would(after.verdict), SUPPOSED))
        cells += [check_value(after), check_uncertainty_text(after), verdict]
    return [*cells, ", ".join(_changed(change))]


def _changed(change: CheckChange) -> tuple[str, ...]:
    """What changed, as far as it is printed."""
    before, after = change.before, change.after
    if before is None or after is None:
        return tuple(change.changed)
    printed = {
        "value": check_value(before) != check_value(after),
        "U": check_uncertainty_text(before) != check_uncertainty_text(after),
        "limit": check_limit(before) != check_limit(after),
        "verdict": before.verdict != after.verdict,
    }
    return tuple(name for name in change.changed if printed[name])


def _limits(before: CheckResult | None, after: CheckResult | None) -> str | Cell:
    known = [check_limit(each) for each in (before, after) if each is not None]
    if len(set(known)) == 1:
        return known[0]
    first = NONE if before is None else check_limit(before)
    return Cell(first, small=f"then {NONE if after is None else check_limit(after)}")


def _unchanged(changes: list[CheckChange]) -> str:
    """The checks that stay, by their verdict on record."""
    by_verdict: dict[str, list[str]] = {}
    for each in changes:
        by_verdict.setdefault(VERDICT_WORDS[each.shown.verdict].lower(), []).append(check_title(each.shown))
    said = [f"{word}: {'; '.join(titles)}" for word, titles in by_verdict.items()]
    return f"Unchanged, with their verdict on record. {'. '.join(map(_capital, said))}." if said else ""


def _readings(case: Case) -> Table:
    rows, tag = case.records.tables["readings"], case.records.tag
    scaled = scaled_readings(rows, tag)
    lines = [
        [
            key,
            str(rows["visit"][index]),
            stage_word(str(rows["stage"][index])),
            str(rows["cycle"][index]),
            str(rows["direction"][index]),
            number(float(scaled.command_pct[index]), 2),
            number(float(scaled.position_pct[index]), 2),
            number(float(scaled.error_pct[index]), 2, sign=True),
        ]
        for index, key in enumerate(reading_keys(rows))
    ]
    columns = ["Reading", "Visit", "Stage", "Cycle:", "Direction", "Command, %:", "Position, %:", "Error, %:"]
    return table(f"{NO_RECORD}: the stroke readings by their keys", columns, lines, kind="wide dense")


def _sheet(*lines: str, tables: tuple[Table, ...] = ()) -> Part:
    return placed(Sheet(_SHEET, (f"{NO_RECORD}.", *(each for each in lines if each)), tables))


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]
