"""A weak class shows, and a class of few cases says nothing."""

from __future__ import annotations

from tests.making.study.field_classes import Classes
from tests.making.study.recovered import Tally
from tests.making.study.tally_tables import cells_by, classes_table, figures_table, merged, weak_table

GOOD, BAD = (Classes(rate, "12", "none", "none", "commissioning", "all", "fine", "plain") for rate in ("10", "2"))


def tally(classes: Classes, name: str, errors: list[float]) -> Tally:
    found = Tally(classes=classes, valves=1)
    for error in errors:
        found.hold(name, error, 1.0, 0.0)
    return found


PARTS = [tally(GOOD, "t", [0.5] * 300), tally(BAD, "t", [0.5] * 27 + [2.0] * 3), tally(BAD, "few", [3.0] * 29)]


def test_a_mean_hides_what_its_class_shows() -> None:
    assert "| t | 330 |" in figures_table(merged(PARTS))
    assert "99.1 %" in figures_table(merged(PARTS))
    assert weak_table(PARTS, ["rate"]).splitlines()[2:] == ["| t | rate 2 | 30 | 90 % |"]
    assert "90 % of 30 **weak** | 100 % of 300" in classes_table(PARTS, "rate")


def test_a_class_of_29_cases_says_nothing() -> None:
    few = next(cell for cell in cells_by(PARTS, "rate") if cell.figure == "few")
    assert (few.covered_pct, few.is_weak) == (0.0, False)


def test_no_weak_class_is_said_in_words() -> None:
    assert weak_table(PARTS[:1], ["rate", "bits"]).startswith("None: at least 93 %")
