"""A check in print."""

from __future__ import annotations

import math
from dataclasses import replace

from kit.basis.quantity import Quantity
from kit.views.pieces.check_texts import (
    beside_text,
    check_limit,
    check_title,
    check_uncertainty,
    check_uncertainty_text,
    check_value,
    extremes_text,
    flagged_note,
    margin_text,
    runs_text,
    worst_value,
)
from tests.views import made

CHECK = made.result(
    "fail_position", 12.34, detail="signal_open", target=10.12345, lower=8.12345, upper=12.12345, expanded=0.2
)


def test_a_check_is_printed_with_its_detail_limit_and_uncertainty():
    assert check_title(CHECK) == "Position on loss, command signal open"
    assert check_value(CHECK).replace("\u00a0", " ") == "12.34 %"
    assert check_limit(CHECK).replace("\u00a0", " ") == "10.12 ± 2 %"
    assert (check_uncertainty(CHECK), check_uncertainty_text(CHECK).replace("\u00a0", " ")) == (0.2, "0.20 %")


def test_a_signed_check_shows_its_sign_and_a_value_beyond_its_limit_stays_beyond():
    assert check_value(made.result("inaccuracy", 0.5)).startswith("+0.50")
    assert check_value(made.result("dead_band", 0.5)).startswith("0.50")
    assert check_value(made.result("inaccuracy", 1.5004, upper=1.5)).startswith("+1.5004")


def test_without_an_uncertainty_a_dash_stands():
    assert check_uncertainty(made.result("dead_band", 0.5)) is None
    assert check_uncertainty_text(made.result("dead_band", 0.5)) == "–"


def test_a_mean_of_runs_is_printed_with_its_worst():
    found = made.result("stroke_time_open", 30.0, upper=35.0, expanded=0.2)
    beside = replace(found.finding.quantity, beside={"worst_run": 36.0})
    worst = replace(found, finding=replace(found.finding, quantity=beside))
    assert (check_value(worst).replace("\u00a0", " "), runs_text(worst).replace("\u00a0", " ")) == (
        "30.00 s",
        "mean, worst 36.00 s",
    )
    assert runs_text(found) == ""


def test_what_stands_beside_a_value_is_told_in_words():
    assert extremes_text({"greatest_negative": -0.1}) == "greatest −0.10"
    told = {"running_share_pct": 12.34, "seen_one_way_only": 2.0, "by_small_steps": 0.5, "unheard": 1.0}
    assert beside_text(told) == "by small steps 0.50, moving 12.3 % of the time, 2 more one way only"


def test_a_bound_is_printed_with_its_sign_and_what_never_happened_in_words():
    above = made.result("stroke_time_open", 60.0, upper=30.0)
    bounded = replace(above, finding=replace(above.finding, quantity=Quantity(60.0, within=(60.0, math.inf))))
    assert check_value(bounded).replace("\u00a0", " ") == "> 60.0 s"
    never = replace(above, finding=replace(above.finding, quantity=Quantity(None, never="did not arrive")))
    assert check_value(never) == "did not arrive"


def test_a_value_that_rests_on_a_flagged_reading_says_so_wherever_it_is_printed():
    flagged = replace(CHECK, flagged=("readings.csv row 3", "readings.csv row 4"))
    assert check_value(flagged) == f"{check_value(CHECK)} (flagged)"
    assert worst_value(flagged).endswith(" (flagged)")
    (note,) = flagged_note([CHECK, flagged, flagged])
    assert "(readings.csv row 3, readings.csv row 4)" in note
    assert flagged_note([CHECK]) == []
    (note,) = flagged_note([replace(CHECK, flagged=tuple(f"readings.csv row {row}" for row in range(9)))])
    assert "row 3 and 5 more)" in note


def test_a_margin_names_value_place_limit_and_the_side_of_it():
    inside = made.result("stroke_time_open", 3.1, upper=20.0, expanded=0.1, at="run 2")
    assert margin_text(inside).replace("\u00a0", " ") == "3.10 s (run 2); limit ≤ 20 s, 16.90 s inside"
    outside = made.result("inaccuracy", -1.6, lower=-1.5, upper=1.5, expanded=0.1)
    assert margin_text(outside).replace("\u00a0", " ") == "−1.60 %; limit ±1.5 %, 0.10 % outside"
    touching = made.result("inaccuracy", 1.5, lower=-1.5, upper=1.5, expanded=0.1)
    assert margin_text(touching).replace("\u00a0", " ") == "+1.50 %; limit ±1.5 %, 0.00 % inside"


def test_a_margin_is_that_of_the_worst_run_and_not_of_the_mean():
    runs = made.result("stroke_time_open", 30.0, upper=35.0, expanded=0.2, beside={"worst_run": 36.0})
    assert margin_text(runs).replace("\u00a0", " ") == "36.00 s; limit ≤ 35 s, 1.00 s outside"


def test_without_a_value_or_a_limit_there_is_no_margin():
    assert margin_text(made.result("inaccuracy", None, upper=1.5)) == ""
    assert margin_text(made.result("inaccuracy", 0.5)) == ""
    assert margin_text(made.result("stroke_time_open", math.inf, upper=30.0)) == ""
