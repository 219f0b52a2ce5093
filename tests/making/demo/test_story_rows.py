"""The rows of the demo unit hang together: order of work, instruments, people, slips."""

from __future__ import annotations

import csv
import io
from collections import defaultdict
from dataclasses import replace
from itertools import pairwise

import pytest

from kit.basis.checks import CAUSES, CHECKS
from kit.basis.verdicts import TAG_VERDICTS
from tests.making.demo.stories import STORIES
from tests.making.demo.story import Plan, Story
from tests.making.demo.story_rows import rows_of
from tests.making.demo.typed_cells import Row
from tests.making.demo.unit_files import COMMITTED

VISITED = [story for story in STORIES if story.visits]
VISITS = [(story, plan) for story in VISITED for plan in story.visits]


def tables(story: Story, plan: Plan) -> dict[str, list[Row]]:
    return {table: rows for each, table, rows in rows_of(story) if each is plan}


def instruments_of(plan: Plan) -> set[str]:
    equipment = plan.equipment
    named = {equipment.command, equipment.position, equipment.time, equipment.tester, equipment.supply}
    return named - {""}


def story_of(tag: str) -> Story:
    return next(story for story in STORIES if story.tag.tag == tag)


def test_there_are_enough_tags_and_each_stands_once() -> None:
    tags = [story.tag.tag for story in STORIES]
    assert len(tags) >= 18
    assert len(set(tags)) == len(tags)


def test_every_verdict_that_a_tag_can_get_has_a_story() -> None:
    assert {story.verdict for story in STORIES} == set(TAG_VERDICTS)


def test_deciding_checks_are_checks_and_stand_where_something_is_amiss() -> None:
    for story in STORIES:
        assert (story.deciding_check in CHECKS) == (story.verdict not in ("pass", "not_tested")), story.tag.tag


@pytest.mark.parametrize(("story", "plan"), VISITS, ids=lambda each: getattr(each, "title", getattr(each, "visit", "")))
def test_the_clock_of_a_visit_runs_on_and_adjustments_come_before_what_they_would_undo(
    story: Story, plan: Plan
) -> None:
    found, left, adjusted = [], [], []
    for table, rows in tables(replace(story, slips=()), replace(plan, adjusted_after=())).items():
        times = [str(row["at"]) for row in rows if "at" in row]
        assert all(early < late for early, late in pairwise(times)), table
        adjusted += times if table == "adjustments" else []
        left += [str(row["at"]) for row in rows if row.get("stage") == "as_left" and "at" in row]
        found += [str(row["at"]) for row in rows if row.get("stage") == "as_found" and "at" in row]
    assert not adjusted or not left or max(adjusted) < min(left)
    assert not found or not adjusted or max(found) < min(adjusted)


def test_an_instrument_is_in_one_place_at_a_time() -> None:
    spans: dict[str, list[tuple[str, str, str]]] = defaultdict(list)
    for story, plan in VISITS:
        times = [str(row["at"]) for rows in tables(story, plan).values() for row in rows if "at" in row]
        for instrument in instruments_of(plan):
            spans[instrument].append((min(times), max(times), story.tag.tag))
    for instrument, used in spans.items():
        for earlier, later in pairwise(sorted(used)):
            assert earlier[1] < later[0], (instrument, earlier, later)


def test_every_instrument_is_registered_one_is_overdue_and_one_unused() -> None:
    register = list(csv.DictReader(io.StringIO((COMMITTED / "instruments.csv").read_text("utf-8"))))
    known = {row["instrument"] for row in register}
    last_day: dict[str, str] = {}
    for _, plan in VISITS:
        for instrument in instruments_of(plan):
            last_day[instrument] = max(plan.start[:10], last_day.get(instrument, ""))
    assert set(last_day) <= known
    assert known - set(last_day) == {"DG-02"}
    assert {row["instrument"] for row in register if last_day.get(row["instrument"], "") > row["due_on"]} == {"IN-03"}


def test_a_modulating_tag_has_three_cycles_of_nine_readings() -> None:
    story = story_of("PV-116A")
    rows = tables(story, story.visits[0])["readings"]
    assert [row["direction"] for row in rows] == (["up"] * 5 + ["down"] * 4) * 3


def test_commands_are_measured_not_nominal() -> None:
    story = story_of("PV-116B")
    commands = [str(row["command_mA"]) for row in tables(story, story.visits[0])["readings"]]
    nominal = {"12.000", "14.000", "16.000", "18.000", "20.000"}
    assert sum(each in nominal for each in commands) <= 3
    assert len(set(commands)) > 10  # five nominal values would be five


def test_volts_across_250_ohm_stand_for_the_loop_current() -> None:
    """U = R I, by hand: 12 mA across 250 ohm is 3 V, so the readings run from 1 V to 5 V."""
    story = story_of("TV-107")
    rows = tables(story, story.visits[0])["readings"]
    assert not any("command_mA" in row for row in rows)
    volts = [float(row["command_V"]) for row in rows]
    assert min(volts) == pytest.approx(1.0, abs=0.01)
    assert max(volts) == pytest.approx(5.0, abs=0.01)


def test_the_safety_function_is_tried_with_every_loss() -> None:
    story = story_of("HV-119")
    causes = [row["cause"] for row in tables(story, story.visits[0])["fail_tests"]]
    assert sorted(map(str, causes)) == sorted(CAUSES)


def test_each_slip_changes_one_cell_or_doubles_one_row() -> None:
    slips = [(story, slip) for story in STORIES for slip in story.slips]
    assert len(slips) >= 5
    for story, slip in slips:
        plan = story.visits[-1]
        typed = tables(replace(story, slips=(slip,)), plan)[slip.table]
        clean = tables(replace(story, slips=()), plan)[slip.table]
        if slip.column is None:
            assert typed == [*clean[: slip.row + 1], *clean[slip.row :]]
        else:
            differs = [
                (number, name) for number, row in enumerate(clean) for name in row if typed[number][name] != row[name]
            ]
            assert differs == [(slip.row, slip.column)]


def test_the_exchanged_digits_are_those_of_the_reading() -> None:
    story = story_of("TV-115")
    (slip,) = story.slips
    clean = tables(replace(story, slips=()), story.visits[-1])["readings"][slip.row]
    read = str(clean["position_deg"]).replace(".", ",")  # the slaker files have decimal commas
    assert clean["stage"] == "as_found"
    assert slip.typed == read[1] + read[0] + read[2:]
