"""What a unit's page counts: rows, shares, what an instrument touched."""

from __future__ import annotations

from math import inf

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.assessment.shown.unit_results import TagLine, UnitResults, instruments_touched, share_histogram, used
from kit.basis.records import RowCount
from kit.basis.registers import Instrument
from tests.views import made


def line(tag, *uses, **result):
    instruments = [{"instrument": name, "role": role, "fault": fault} for name, role, fault in uses]
    return TagLine(tag, "", "", {"instruments": instruments, **result})


def unit(*lines, instruments=(), counts=()):
    return UnitResults(made.settings(), lines, instruments, (), counts, {})


def test_rows_of_all_files_add_up():
    results = unit(counts=(RowCount("a", "readings", 20, 18, 2), RowCount("b", "strokes", 5, 5, 0)))
    assert (results.rows.read, results.rows.used, results.rows.set_aside) == (25, 23, 2)


def test_values_that_crowd_inside_a_limit_over_the_tags_are_told_once():
    rows = [{"check": "inaccuracy", "visit": "1", "stage": "as_found", "share_pct": -98.0, "verdict": "pass"}]
    tags = [TagLine(f"FV-{number}", "", "", used({"visit": "1", "results": rows})) for number in range(12)]
    (told,) = unit(*tags).crowds
    assert told.problem.startswith("Inaccuracy, as found: of 12 values")
    assert unit(*tags[1:]).crowds == ()


def test_tags_in_a_safety_function_are_counted():
    results = unit(line("A", safety_function=True), line("B", safety_function=False), line("C"))
    assert results.in_safety_function == 1


def test_a_share_beyond_any_is_infinite_and_none_is_none():
    assert line("A", nearest={"share": 0.5}).nearest_share == 0.5
    assert line("A", nearest={"share": None}).nearest_share == inf
    assert line("A", nearest=None).nearest_share is None
    assert line("A").nearest_share is None


@given(st.lists(st.floats(0, 3) | st.just(inf), min_size=1))
def test_every_tag_is_in_one_bar_and_within_exactly_where_its_share_is(shares):
    found = share_histogram(shares)
    assert found.count.sum() == len(shares)
    assert found.inside + found.outside == len(shares)
    assert found.inside == sum(share <= 1 + 1e-10 for share in shares)
    assert found.count[: found.bars_inside].sum() == found.inside
    assert found.count[-1] == sum(share > 1.5 + 1e-10 for share in shares)


def test_bars_are_a_tenth_of_the_tolerance():
    found = share_histogram([0.0, 0.1, 0.11, 1.0, 1.05])
    assert found.middle_pct.tolist() == pytest.approx(np.arange(5.0, 160.0, 10.0).tolist())
    assert found.count.tolist() == [2, 1, 0, 0, 0, 0, 0, 0, 0, 1, 1, 0, 0, 0, 0, 0]


def test_instruments_with_most_faults_come_first_and_idle_ones_last():
    registered = (Instrument("IDLE", "mA"), Instrument("GOOD", "mA"), Instrument("LATE", "deg"))
    results = unit(
        line("A", ("GOOD", "command", ""), ("GOOD", "feedback", ""), ("LATE", "position", "overdue")),
        line("B", ("GOOD", "command", ""), ("LATE", "position", "overdue"), ("", "time", "none named")),
        instruments=registered,
    )
    found = instruments_touched(results)
    assert [each.instrument for each in found] == ["LATE", "", "GOOD", "IDLE"]
    late, unnamed, good, idle = found
    assert (late.roles, late.tags, late.uses, late.faults) == (("position",), 2, 2, ("overdue",))
    assert unnamed.registered is None
    assert (good.roles, good.tags, good.uses, good.faults) == (("command", "feedback"), 2, 3, ())
    assert (idle.registered, idle.tags, idle.uses) == (registered[0], 0, 0)
