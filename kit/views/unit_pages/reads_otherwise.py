"""What one instrument or one person reads otherwise than the others: questions, and the table behind them."""

from __future__ import annotations

from typing import Final

from kit.assessment.shown.bias_watch import GROSS_PCT, Watched, bias_watch
from kit.assessment.shown.mean_errors import Observation
from kit.assessment.shown.unit_results import UnitResults
from kit.views.pieces.numbers import number, signed
from kit.views.pieces.parts import Part
from kit.views.pieces.sheets import Sheet, placed
from kit.views.pieces.text_tables import Cell, Column, Table, table

_LISTED: Final = 200
_NOTE: Final = (
    "Mean error: of its visits and stages as they are. Against the others: least squares with an effect for each tag "
    "between two adjustments, where the same tags were read by both; else tags against tags. U with 95.45 % coverage, "
    "of the scatter alone. A valve that is set by what an instrument shows does not show its error as left; whoever "
    "reads it next finds it. House definition."
)


def reads_otherwise(results: UnitResults) -> list[Part]:
    """What stands out as a question, then every instrument in its roles and every person."""
    lines = (each for tag in results.tags for each in tag.result.get("mean_errors", ()))
    found = bias_watch([Observation(**each) for each in lines])
    if not found:
        return [placed(Sheet("reads-otherwise", missing="No stroke readings: there is no mean error to compare."))]
    asked = [signed(each.question) for each in found if each.stands_out]
    first = f"{len(asked)} of them {'is a question' if len(asked) == 1 else 'are questions'}, and no finding."
    head = (first, *asked) if asked else ("Nothing stands out.",)
    gross = max(each.gross for each in found)
    left_out = f"Left out: {gross} with a mean error beyond {GROSS_PCT:g} %, which is the valve's own." if gross else ""
    return [placed(Sheet("reads-otherwise", (*head, *([left_out] if left_out else [])), (_table(found[:_LISTED]),)))]


def _table(found: tuple[Watched, ...]) -> Table:
    columns: list[str | Column] = ["What", "Read as", "Error", "Tags:", "Mean error, %:", "Against the others, %:"]
    columns += ["U, %:", "Held against", "Stands out"]
    return table("Mean errors by instrument and by person", columns, [_row(each) for each in found], _NOTE, kind="wide")


def _row(each: Watched) -> list[str | Cell]:
    lean = each.lean
    against = "the same tags" if each.within_tags else "other tags"
    return [
        lean.level,
        lean.factor,
        each.of,
        str(each.tags),
        number(lean.mean, 2, sign=True),
        number(lean.lean, 2, sign=True),
        number(lean.expanded_uncertainty, 2),
        Cell(against if lean.lean is not None else "", small=lean.why_not),
        "question" if each.stands_out else "no" if lean.lean is not None else "",
    ]
