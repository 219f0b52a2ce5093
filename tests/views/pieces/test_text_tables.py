"""Tables, verdicts and words, ready to be placed."""

from __future__ import annotations

import pytest

from kit.basis.tables import TESTS
from kit.basis.verdicts import VERDICT_WORDS
from kit.views.pieces.numbers import number, range_text, sentence_case, significant, unit_of
from kit.views.pieces.text_tables import TABLE_WORDS, Cell, pairs, stage_word, table, verdict_cell, verdict_of


def test_a_title_that_ends_in_a_colon_is_a_column_of_numbers_and_a_blank_cell_a_dash():
    made = table("", ["Name", "Value:"], [["a", ""], [Cell("b", small="c"), "1"]], "", "A note.", kind="wide")
    assert [(column.title, column.kind) for column in made.columns] == [("Name", ""), ("Value", "n")]
    assert made.rows == ((Cell("a"), Cell("–")), (Cell("b", small="c"), Cell("1")))
    assert (made.notes, made.kind) == (("A note.",), "wide")
    assert made.kinds == "wide n2"
    assert made.tags == (('<th scope="row">', "</th>"), ("<td>", "</td>"))


@pytest.mark.parametrize("name", VERDICT_WORDS)
def test_a_verdict_is_its_word_and_a_class_that_the_stylesheet_knows(name: str):
    verdict = verdict_of(name)
    assert (verdict.word, verdict.kind) == (VERDICT_WORDS[name], name.replace("_", "-"))
    assert verdict_cell(name).verdict == verdict


def test_a_report_that_failed_has_no_verdict():
    assert (verdict_of("").word, verdict_of("").kind) == ("No verdict", "no-verdict")


def test_every_kind_of_test_has_a_word():
    assert set(TABLE_WORDS) == {name.partition(":")[0] for name in TESTS if name.partition(":")[0] != "logs"}


def test_labels_without_a_text_are_left_out():
    assert pairs({"A": "a", "B": "", "C": "c"}) == (("A", "a"), ("C", "c"))


def test_words_and_numbers():
    assert [stage_word(stage) for stage in ("as_left", "as_found")] == ["as left", "as found"]
    assert [unit_of(measure) for measure in ("% of travel", "count", "deg", "ohm", "%/%")] == ["%", "", "°", "Ω", "%/%"]
    assert [number(value, 0) for value in (1e9, float("inf"), -float("inf"))] == ["1000000000", "∞", "−∞"]
    assert (range_text([2.0, 1.0], 1, "s"), range_text([], 1, "s")) == ("1.0 to 2.0 s", "–")
    assert (significant(0.012345), significant(float("nan"))) == ("0.0123", "–")
    assert sentence_case("at -0.5 %") == "At −0.5 %"
