"""Tables of what was proven and with what: fail tests and instruments."""

from __future__ import annotations

from collections.abc import Iterable

from kit.assessment.fail_tests import WORDS, fail_action_for
from kit.assessment.model import InstrumentUse, StageResult
from kit.records.model import TagRecords
from kit.views.numbers import NONE, number, with_unit
from kit.views.tables import Cell, Column, Table, stage_rows, table, verdict_cell


def fail_table(records: TagRecords, stage: StageResult, *, brief: bool = False) -> Table | None:
    """Expected against proven, a row a test; None without a fail test."""
    rows = stage_rows(records, "fail_tests", stage)
    if not len(rows):
        return None
    lines = []
    for index in range(len(rows)):
        cause, before = str(rows["cause"][index]), float(rows["position_before_pct"][index])
        after, time_s = float(rows["position_after_pct"][index]), float(rows["time_s"][index])
        verdicts = [
            result.verdict for result in stage.checks if (result.check, result.detail) == ("fail_position", cause)
        ]
        line: list[str | Cell] = [
            WORDS[cause].capitalize(),
            _expected(fail_action_for(records.tag, cause)),
            with_unit(number(before, 1), "%"),
            with_unit(number(after, 1), "%"),
            with_unit(number(time_s, 1), "s"),
        ]
        if not brief:
            line += [
                str(rows["alarm"][index]),
                with_unit(number(float(rows["command_restored_pct"][index]), 1), "%"),
                with_unit(number(float(rows["position_restored_pct"][index]), 1), "%"),
            ]
        lines.append([*line, verdict_cell(verdicts[0]) if verdicts else Cell(NONE)])
    columns = ["Cause", "Expected", "Before:", "Proven, at rest:", "Time:"]
    more = [] if brief else ["Alarm", "Command after restoration:", "Position after restoration:"]
    titles: list[str | Column] = [*columns, *more, Column("Verdict", "word")]
    return table("Fail action: expected against proven", titles, lines, kind="wide")


def instrument_table(uses: Iterable[InstrumentUse], caption: str = "Instruments") -> Table:
    """Instruments by role, with their due dates and what is wrong with them."""
    rows = [
        [
            use.role.capitalize(),
            use.instrument,
            use.description,
            use.certificate,
            use.calibrated_on,
            use.due_on,
            Cell(f"No uncertainty: {use.fault}", verdict=None) if use.fault else "In order",
        ]
        for use in uses
    ]
    dates = (Column("Certificate", "fixed"), Column("Calibrated", "fixed"), Column("Due", "fixed"))
    columns: list[str | Column] = ["Role", "Instrument", "Description", *dates, "On the day of the visit"]
    return table(caption, columns, rows, kind="wide")


def _expected(action: str | None) -> str:
    return {"open": "open (100 %)", "closed": "closed (0 %)", "hold": "hold", None: "not stated"}[action]
