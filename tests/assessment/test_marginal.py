"""What would decide a marginal check, by its own budget."""

from __future__ import annotations

import dataclasses

import pytest

from kit.assessment import assess_tag
from kit.assessment.marginal import what_would_decide
from kit.basis.registers import Instrument
from tests.assessment.builders import GOOD, TAG, check, limit, records

BETTER = Instrument("BETTER", "pct", accuracy_fixed=0.02, resolution=0.01)
WORSE = Instrument("WORSE", "pct", accuracy_fixed=2.0, resolution=0.5)


def said(name, errors, *limits, register=(), scatter=0.0, rule="guarded"):
    """Up and down readings in three cycles, spread by ``scatter`` about their errors."""
    rows = [
        {
            "direction": way,
            "cycle": str(cycle),
            "command_pct": float(at),
            "position_pct": at + error + (cycle - 2) * scatter,
        }
        for cycle in (1, 2, 3)
        for way in ("up", "down")
        for at, error in zip((0, 25, 50, 75, 100), errors, strict=True)
    ]
    made = records({"readings": rows}, *limits, instruments=GOOD, rule=rule)
    stage = assess_tag(made).deciding
    found = check(assess_tag(made), name)
    return found, what_would_decide(found, stage, TAG, made.settings, register)


def test_scatter_goes_down_with_more_cycles_and_their_number_is_told():
    """Zero error 0.3 of 1, scatter 0.9: the instruments leave 0.36, so that repeats can decide."""
    found, text = said("zero_error", (0.3, 0.0, 0.0, 0.0, 0.0), limit("zero_error", plus_minus=1.0), scatter=0.9)
    assert found.verdict == "conditional_pass"
    assert "more cycle" in text
    assert text.endswith("would decide it, were the value to stay.")


def test_a_better_instrument_of_the_register_is_named_and_a_worse_one_is_not():
    found, text = said(
        "inaccuracy", (1.3, 0.0, 0.0, 0.0, 0.0), limit("inaccuracy", plus_minus=1.5), register=(WORSE, BETTER)
    )
    assert found.verdict == "conditional_pass"
    assert text == "The same readings with BETTER would decide it, were the value to stay."


PAST = dataclasses.replace(BETTER, instrument="PAST", due_on="2020-01-01")
UNREAD = dataclasses.replace(BETTER, instrument="UNREAD", unreadable=("accuracy_fixed",))


def test_an_instrument_past_its_due_date_or_that_cannot_be_read_is_not_offered():
    limits = limit("inaccuracy", plus_minus=1.5)
    _, text = said("inaccuracy", (1.3, 0.0, 0.0, 0.0, 0.0), limits, register=(PAST, UNREAD))
    assert text.startswith("Reading it again with the instruments at hand would not decide it")
    _, text = said("inaccuracy", (1.3, 0.0, 0.0, 0.0, 0.0), limits, register=(PAST, UNREAD, BETTER))
    assert text == "The same readings with BETTER would decide it, were the value to stay."


@pytest.mark.parametrize("register", [(), (WORSE,)])
def test_where_nothing_can_it_says_what_u_would_have_to_be(register):
    _, text = said("inaccuracy", (1.49, 0.0, 0.0, 0.0, 0.0), limit("inaccuracy", plus_minus=1.5), register=register)
    assert text.startswith(
        "Reading it again with the instruments at hand would not decide it: U would have to come from"
    )
    assert "below 0.01." in text


def test_what_is_decided_needs_nothing():
    found, text = said("inaccuracy", (0.1, 0.0, 0.0, 0.0, 0.0), limit("inaccuracy", plus_minus=1.5))
    assert (found.verdict, text) == ("pass", "")


def test_an_instrument_without_an_accuracy_decides_nothing():
    silent = Instrument("SILENT", "pct", resolution=0.001)
    _, text = said("inaccuracy", (1.3, 0.0, 0.0, 0.0, 0.0), limit("inaccuracy", plus_minus=1.5), register=(silent,))
    assert "would not decide it" in text


def test_the_punch_list_says_it():
    rows = [{"direction": "up", "command_pct": float(at), "position_pct": at + 1.4} for at in (0, 25, 50, 75, 100)]
    made = records({"readings": rows}, limit("inaccuracy", plus_minus=1.5), instruments=GOOD, rule="guarded")
    (item,) = assess_tag(made).punch_list
    assert (item.check, "would not decide it: U would have to come from" in item.suggested_action) == (
        "inaccuracy",
        True,
    )
