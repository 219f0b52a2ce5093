"""What the notebook shows of a supposition."""

from __future__ import annotations

from dataclasses import replace

import pytest

from kit.assessment.what_if import adjusted, one_more_cycle, with_instrument, with_limits, without_readings
from kit.basis.settings import LimitSet
from kit.views.analysis import what_if_page
from kit.views.pieces.parts import Figure, Page, Section
from tests.assessment import builders
from tests.assessment.what_if.made import case

LIMITS = (builders.limit("inaccuracy", plus_minus=1.5), builders.limit("zero_error", plus_minus=1.0))
MARK = "What if: no record"


def html(parts: list[object]) -> str:
    return "\n".join(each.html for each in parts if isinstance(each, Section))


def made(**further: object) -> what_if_page.Case:
    return case(builders.stroke(0.8, 0.8, 1.9, 0.8, 0.8), *LIMITS, **further)


def test_before_and_after_stand_side_by_side_and_what_changed_is_named() -> None:
    shown = html(what_if_page.supposed(without_readings, made(), {"readings.csv:4": "needle <stuck> & bent"}))
    assert "needle &lt;stuck&gt; &amp; bent" in shown
    (row,) = [line for line in shown.splitlines() if "Inaccuracy" in line and "<td" in line]
    assert row.index("+1.90") < row.index("Fail") < row.index("+0.80") < row.index("not assessable")
    assert "value, verdict" in row
    assert "Verdict of the tag on record: fail. As supposed: incomplete." in shown


def test_a_verdict_as_supposed_has_neither_the_word_nor_the_class_of_one_on_record() -> None:
    shown = html(what_if_page.supposed(adjusted, made(), zero_pct=-0.8))
    assert '<span class="verdict supposed">would pass</span>' in shown
    assert '<span class="verdict pass">' not in shown.split("<tbody>")[1].split("Zero error")[0]


def test_one_more_cycle_gives_an_uncertainty_and_neither_value_nor_verdict() -> None:
    readings = [{**each, "cycle": str(number)} for number in (1, 2) for each in builders.stroke(*[0.6 * number] * 5)]
    shown = html(what_if_page.supposed(one_more_cycle, case(readings, *LIMITS)))
    (row,) = [line for line in shown.splitlines() if "Zero error" in line and "<td" in line]
    assert row.count("not known") == 2
    assert "would" not in row
    assert "As supposed: not known." in shown


def test_what_cannot_be_supposed_is_said_and_no_traceback() -> None:
    (part,) = what_if_page.supposed(with_limits, made(), "lax")
    assert "This cannot be supposed. unit/unit.toml: no limit set" in html([part])
    assert MARK in html([part])


def test_where_nothing_changes_that_is_said() -> None:
    same = replace(builders.POSITION, instrument="Q")
    (part,) = what_if_page.supposed(with_instrument, made(instruments=(*builders.GOOD, same)), "position", "Q")
    assert "No check changes as far as it is printed." in html([part])
    assert "Unchanged, with their verdict on record." in html([part])


def test_a_limit_that_changes_stands_beside_the_one_on_record() -> None:
    sets = {"lax": LimitSet("lax", {"inaccuracy": builders.limit("inaccuracy", plus_minus=3.0)}, ())}
    shown = html(what_if_page.supposed(with_limits, made(sets=sets), "lax"))
    (row,) = [line for line in shown.splitlines() if "Inaccuracy" in line and "<td" in line]
    assert "±1.5" in row
    assert "then ±3" in row


def test_every_part_carries_the_mark() -> None:
    parts = [*what_if_page.front(made()), *what_if_page.choices(made())]
    parts += what_if_page.supposed(adjusted, made(), zero_pct=-0.8)
    assert {type(each) for each in parts} == {Page, Section, Figure}
    for each in parts:
        assert MARK in (each.html if isinstance(each, Section) else each.title)


def test_readings_stand_by_their_keys() -> None:
    shown = html(what_if_page.choices(made()))
    assert "Limit sets: modulating." in shown
    assert "Instruments: P (pct), C (pct), S (s), R (ohm)." in shown
    assert [f"readings.csv:{row}" in shown for row in range(2, 8)] == [True] * 5 + [False]


@pytest.mark.parametrize("verdict", ["pass", "conditional_pass", "fail", "not_tested", "not_assessable", "stale"])
def test_no_word_for_what_would_be_is_one_for_what_is(verdict: str) -> None:
    from kit.basis.verdicts import VERDICT_WORDS

    assert what_if_page.would(verdict) not in {word.lower() for word in VERDICT_WORDS.values()}
