"""Tables of what was proven and with what: fail tests and instruments."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final, cast

from kit.assessment.instruments import InstrumentUse
from kit.assessment.recordings.cause_of_loss import cause_of, why_unproven
from kit.assessment.recordings.compare import TYPED
from kit.assessment.results import StageResult
from kit.assessment.wording import CAUSE_WORDS
from kit.basis.checks import Cause
from kit.basis.records import TagRecords
from kit.basis.tables.measurements import FAIL_TESTS
from kit.views.pieces.numbers import NONE, number, with_unit
from kit.views.pieces.slugs import row_anchor
from kit.views.pieces.text_tables import Cell, Column, Table, table, verdict_cell
from kit.views.pieces.typed_rows import flagged_rows, named_places, stage_rows, typed

_DURING: Final = ("position_before_pct", "position_after_pct", "time_s")
_AFTERWARDS: Final = ("command_restored_pct", "position_restored_pct")


def fail_table(records: TagRecords, stage: StageResult, *, brief: bool = False) -> Table | None:
    """Expected against proven, a row a test, recorded or typed; None without a fail test."""
    lines = [*_losses_of_recordings(records, stage), *_typed_tests(records, stage, with_place=not brief)]
    if not lines:
        return None
    if brief:
        columns: list[str | Column] = ["Loss", "Expected", "At rest:", "Time:", Column("Verdict", "word")]
        return table("Loss: expected against proven", columns, [[*line[:2], *line[3:5], line[-1]] for line in lines])
    titles: list[str | Column] = ["Cause", "Expected", "Before:", "Proven, at rest:", "Time:", "Alarm"]
    titles += ["Command after restoration:", "Position after restoration:", Column("Verdict", "word")]
    return table("Fail action: expected against proven", titles, lines, kind="wide")


def _typed_tests(records: TagRecords, stage: StageResult, *, with_place: bool) -> list[list[str | Cell]]:
    rows = stage_rows(records, "fail_tests", stage)
    lines: list[list[str | Cell]] = []
    places = named_places(rows, flagged_rows(records, "fail_tests", stage))
    for index in range(len(rows)):
        cause = cast(Cause, rows["cause"][index])
        place = places[index] if with_place else ""
        lines.append(
            [
                Cell(
                    CAUSE_WORDS[cause].capitalize(),
                    small=place,
                    anchor=row_anchor(str(rows["file"][index]), int(rows["row"][index])) if with_place else "",
                ),
                _expected(records.tag.fail_action_on(cause)),
                *(typed(rows, FAIL_TESTS, name, index, decimals=1) for name in _DURING),
                str(rows["alarm"][index]),
                *(typed(rows, FAIL_TESTS, name, index, decimals=1) for name in _AFTERWARDS),
                _verdict(stage, f"{cause}, {TYPED}") or _verdict(stage, cause) or Cell(NONE),
            ]
        )
    return lines


def _losses_of_recordings(records: TagRecords, stage: StageResult) -> list[list[str | Cell]]:
    """The losses of signal and supply that the recordings of the stage hold."""
    typed_causes = set(stage_rows(records, "fail_tests", stage)["cause"].tolist())
    losses = [loss for log in stage.recordings if log.reduction is not None for loss in log.reduction.losses]
    found = [(loss, cause_of(loss, records.tag, typed_causes)) for loss in losses]
    return [
        [
            Cell(f"{CAUSE_WORDS[cause].capitalize()}, recorded", why_unproven(loss)),
            _expected(records.tag.fail_action_on(cause)),
            with_unit(number(loss.before.value, 1), "%"),
            with_unit(number(loss.position.value, 1), "%"),
            with_unit(number(loss.time.value, 1), "s"),
            NONE,
            with_unit(number(loss.restored_command_pct, 1), "%"),
            with_unit(number(loss.restored_position.value, 1), "%"),
            _verdict(stage, cause) or Cell(NONE),
        ]
        for loss, cause in found
    ]


def _verdict(stage: StageResult, detail: str) -> Cell | None:
    """The verdict on where the valve came to rest; None where it was not judged."""
    found = [each.verdict for each in stage.checks if each.check == "fail_position" and each.detail == detail]
    return verdict_cell(found[0]) if found else None


def instrument_table(uses: Iterable[InstrumentUse], caption: str = "Instruments and certificates") -> Table:
    """Instruments by role, with certificates, due dates and what is wrong with them."""
    rows = [
        [
            use.role.capitalize(),
            use.instrument,
            use.description,
            use.certificate,
            use.calibrated_on,
            use.due_on,
            _on_the_day(use),
        ]
        for use in uses
    ]
    dates = (Column("Certificate", "fixed"), Column("Calibrated", "fixed"), Column("Due", "fixed"))
    columns: list[str | Column] = ["Role", "Instrument", "Description", *dates, "On the day of the visit"]
    return table(caption, columns, rows, kind="wide")


def instrument_lines(uses: Iterable[InstrumentUse]) -> Table:
    """One line a role for page one: the instrument, until when it is in date, and what is wrong with it.

    Where they are of several visits, a line says which; what is the same on several visits is told once.
    """
    visits: dict[tuple[str, ...], list[str]] = {}
    for use in uses:
        visits.setdefault((use.role.capitalize(), use.instrument, use.due_on, _on_the_day(use)), []).append(use.visit)
    columns: list[str | Column] = ["Role", "Instrument", Column("Due", "fixed"), "On the day"]
    if len({each for named in visits.values() for each in named}) < 2:
        return table("Instruments", columns, visits)
    rows = [[role, name, ", ".join(named), *rest] for (role, name, *rest), named in visits.items()]
    return table("Instruments", [*columns[:2], "Visit", *columns[2:]], rows)


def _on_the_day(use: InstrumentUse) -> str:
    """Whether an instrument was in date on the day of the visit, or why it gives no uncertainty."""
    if use.fault:
        return f"No uncertainty: {use.fault}"
    return "In date" if use.due_on else "No due date"


def _expected(action: str | None) -> str:
    return {"open": "open (100 %)", "closed": "closed (0 %)", "hold": "hold", None: "not stated"}[action]
