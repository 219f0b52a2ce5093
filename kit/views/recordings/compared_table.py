"""Typed and recorded values of the same checks, side by side."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from kit.assessment.shown.comparisons import Comparison
from kit.basis.checks import CHECKS
from kit.views.pieces.check_texts import check_title, check_uncertainty_text, check_value
from kit.views.pieces.rounding import value_text
from kit.views.pieces.text_tables import Table, table

_AGREE: Final = {True: "yes", False: "NO, they differ", None: "not compared"}


def compared_table(found: Iterable[Comparison]) -> Table:
    """Every check that was typed and recorded."""
    columns = ["Check", "Typed:", "U:", "Recorded:", "U:", "Recorded − typed:", "They agree"]
    note = (
        "The recorded value stands, unless it alone rests on too little. U: expanded uncertainty. They agree within "
        "the root of the sum of their squared U, without one of them within a tenth of half the tolerance or of the "
        "limit; without these, or where one rests on too little, they are not compared. Of greatest errors those of "
        "one sign are compared. Where they do not agree nothing passes until it is known which is wrong."
    )
    return table("Typed and recorded", columns, [_row(each) for each in found], note, kind="wide")


def _row(found: Comparison) -> list[str]:
    typed, recording = found.typed, found.recording
    measure = CHECKS[typed.check].measure
    return [
        check_title(found.stands),
        check_value(typed),
        check_uncertainty_text(typed),
        check_value(recording),
        check_uncertainty_text(recording),
        value_text(found.difference, measure, expanded_uncertainty=found.greatest_uncertainty, sign=True),
        _AGREE[found.agrees],
    ]
