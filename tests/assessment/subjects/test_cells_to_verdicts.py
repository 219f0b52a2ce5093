"""From cells as people type them to a verdict: nothing passes that some cell leaves open."""

from __future__ import annotations

import dataclasses

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kit.assessment import assess_tag
from kit.basis.registers import Instrument, Tag, Visit
from kit.basis.tables import TABLES
from kit.basis.verdicts import CheckVerdict
from kit.records.drafts.blanks import tell_blanks
from kit.records.drafts.drafting import draft_table
from kit.records.drafts.lookup import Register
from kit.records.drafts.merge import merge_drafts
from kit.records.drafts.rules import apply_rules
from kit.records.files.csv_files import read_csv
from kit.records.files.raw import known_headings
from tests.assessment.builders import GOOD, LOOP_MA, check, limit, records

PASSES = frozenset({"pass", "conditional_pass"})
TAG = Tag("T", command_range=LOOP_MA, limits="modulating", fail_action="closed")
OHMS = Instrument("R", "ohm", range_high=1e10, accuracy_fixed=0.001, resolution=0.001)
SEEN = Visit("1", "2026-03-10", time_instrument="S", resistance_instrument="R", position_instrument="P")
NUMBERS = st.decimals(1, 60, places=1).map(float)
CELLS = st.one_of(
    NUMBERS.map(str),
    NUMBERS.map(">{}".format),
    NUMBERS.map("< {}".format),
    NUMBERS.map("{}+".format),
    st.sampled_from(["did not open", "no movement", "?", "n/a", "", "OL", "0", "about 20", "stuck", ">"]),
)


def verdict_of(table: str, text: str, name: str, **form: float) -> CheckVerdict:
    """The verdict on a table's rows as typed in a CSV file."""
    raw = read_csv(text.encode(), known_headings()).tables[0]
    draft = draft_table(f"records/{table}.csv", TABLES[table], raw)
    register = Register({"T": TAG})
    apply_rules(draft, register)
    tell_blanks(table, [draft], register)
    made = records({}, limit(name, **form), tag=TAG, visits=(SEEN,), instruments=(*GOOD, OHMS))
    tables = {**made.tables, table: merge_drafts(TABLES[table], [draft])}
    found = assess_tag(dataclasses.replace(made, tables=tables, problems=tuple(draft.problems())))
    return check(found, name).verdict


def certainly(cell: str, least: float, most: float) -> bool:
    """Whether a cell says that its value lies between two others."""
    try:
        return least <= float(cell) <= most
    except ValueError:
        pass
    number = float(cell.strip("<>+ ") or "nan") if cell[:1] in "<>" or cell.endswith("+") else float("nan")
    return number <= most and least == 0.0 if cell.startswith("<") else number >= least and most == float("inf")


@settings(max_examples=60, deadline=None)
@given(cells=st.lists(CELLS, min_size=1, max_size=4))
def test_strokes_pass_only_where_every_cell_says_that_it_arrived_in_time(cells):
    rows = "".join(f"T,1,open,{cell},2026-03-10T10:0{at}:00\n" for at, cell in enumerate(cells))
    verdict = verdict_of("strokes", f"tag,visit,direction,time_s,at\n{rows}", "stroke_time_open", maximum=30.0)
    assert verdict not in PASSES or all(certainly(cell, 0.0, 30.0) and cell != "0" for cell in cells)


@settings(max_examples=60, deadline=None)
@given(cells=st.lists(CELLS, min_size=1, max_size=4))
@pytest.mark.parametrize(
    ("name", "column", "least", "most"),
    [
        ("insulation_resistance", "insulation_mohm", 30.0, float("inf")),
        ("earth_resistance", "earth_ohm", 0.0, 30.0),
    ],
)
def test_a_resistance_passes_only_where_every_cell_says_that_it_is_right(name, column, least, most, cells):
    rows = "".join(f"T,1,{cell},2026-03-10T10:0{at}:00,250\n" for at, cell in enumerate(cells))
    form = {"minimum": least} if least else {"maximum": most}
    verdict = verdict_of("electrical", f"tag,visit,{column},at,loop_ohm\n{rows}", name, **form)
    right = [certainly(cell, least, most) or (cell == "OL" and least > 0.0) or cell == "" for cell in cells]
    assert verdict not in PASSES or all(right)


@settings(max_examples=60, deadline=None)
@given(cells=st.lists(CELLS | st.just("did not make"), min_size=1, max_size=4))
def test_a_switch_passes_only_where_every_cell_says_that_it_makes_before_its_stop(cells):
    rows = "".join(f"T,1,closed,{cell},0,2026-03-10T10:0{at}:00\n" for at, cell in enumerate(cells))
    text = f"tag,visit,switch,makes_at_pct,stop_at_pct,at\n{rows}"
    verdict = verdict_of("switches", text, "closed_switch_lead", minimum=30.0)
    assert verdict not in PASSES or all(certainly(cell, 30.0, float("inf")) for cell in cells)


@pytest.mark.parametrize("cells", [("20.0", "20.4"), ("<25", "<25"), ("20.0",)])
def test_times_that_are_certainly_right_pass(cells):
    rows = "".join(f"T,1,open,{cell},2026-03-10T10:0{at}:00\n" for at, cell in enumerate(cells))
    verdict = verdict_of("strokes", f"tag,visit,direction,time_s,at\n{rows}", "stroke_time_open", maximum=30.0)
    assert verdict in PASSES


@pytest.mark.parametrize("cell", [">999", "OL", "120"])
def test_an_insulation_that_is_certainly_right_passes(cell):
    text = f"tag,visit,insulation_mohm\nT,1,{cell}\n"
    assert verdict_of("electrical", text, "insulation_resistance", minimum=1.0) == "pass"
