"""Typed and recorded values of the same checks, side by side."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from kit.assessment.shown.comparisons import Comparison
from kit.basis.checks import CHECKS
from kit.views.pieces.check_texts import check_title, check_uncertainty_text, check_value
from kit.views.pieces.rounding import value_text
from kit.views.pieces.text_tables import Table, table

_AGREE: Final = {True: "yes", False: "NO, they differ", None: "not known: an uncertainty is missing"}


def compared_table(found: Iterable[Comparison]) -> Table:
    """Every check that was typed and recorded."""
    columns = ["Check", "Typed:", "U:", "Recorded:", "U:", "Recorded − typed:", "Within their uncertainties"]
    note = "The recorded value stands. U: expanded uncertainty; a difference beyond both together is a problem."
    return table("Typed and recorded", columns, [_row(each) for each in found], note, kind="wide")


def _row(found: Comparison) -> list[str]:
    typed, recording = found.typed, found.recording
    measure = CHECKS[typed.check].measure
    return [
        check_title(recording),
        check_value(typed),
        check_uncertainty_text(typed),
        check_value(recording),
        check_uncertainty_text(recording),
        value_text(found.difference, measure, expanded_uncertainty=found.greatest_uncertainty, sign=True),
        _AGREE[found.agrees],
    ]
