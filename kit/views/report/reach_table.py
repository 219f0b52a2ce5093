"""What zero and span can reach: beside the calibration, an expectation and no result."""

from __future__ import annotations

from kit.assessment.reach import reach_words
from kit.assessment.results import CheckResult, Reach
from kit.views.pieces.check_texts import check_limit, check_title, check_uncertainty_text, check_value
from kit.views.pieces.numbers import NONE, number, signed
from kit.views.pieces.sheets import Sheet
from kit.views.pieces.text_tables import Cell, table, verdict_cell

_TAKEN_FOR_GRANTED = (
    "Taken for granted: scatter, hysteresis and bend stay, and no stop is in the way. It changes no verdict: adjust, "
    "then repeat what the change touches."
)


def reach_sheet(reach: Reach) -> Sheet:
    """The trim, the greatest error before and after it, and what stays outside."""
    said = signed(reach_words(reach))
    if reach.trim is None:
        return Sheet("reach", lines=(said,))
    rows: list[list[str | Cell]] = []
    if reach.expected is not None:
        rows.append(_expected_row(reach.trim.before_pct, reach.expected))
    rows += [
        [check_title(each), check_value(each), f"{number(value, 2)} %", check_limit(each), NONE, "outside"]
        for each, value in reach.remains
    ]
    left = ", ".join(signed(each) for each in reach.left_out)
    lines = [said, _TAKEN_FOR_GRANTED]
    if left:
        lines.insert(1, f"Left out, since they stand on a stop, which no trim moves: {left}. Read them again.")
    columns = ["Check", "Now", "Expected", "Limit", "U", "Verdict expected"]
    tables = (table("What zero and span can reach", columns, rows, kind="wide"),) if rows else ()
    return Sheet("reach", lines=tuple(lines), tables=tables)


def _expected_row(before_pct: float, expected: CheckResult) -> list[str | Cell]:
    return [
        Cell(check_title(expected), small=signed(expected.at)),
        f"{number(before_pct, 2)} %",
        check_value(expected),
        check_limit(expected),
        check_uncertainty_text(expected),
        verdict_cell(expected.verdict),
    ]
