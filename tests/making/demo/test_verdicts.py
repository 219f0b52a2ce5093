"""Every tag of the demo unit is judged as its story says, and its slips are found."""

from __future__ import annotations

from pathlib import Path

import pytest

from kit.assessment import assess_tag
from kit.assessment.results import TagAssessment
from kit.assessment.subjects import SUBJECTS, table_of
from kit.basis.checks import CHECKS, CheckName
from kit.basis.records import UnitRecords
from kit.records import read_unit, tag_records
from tests.making.demo.stories import STORIES
from tests.making.demo.story import Slip, Story
from tests.making.demo.unit_files import COMMITTED

RECORDED = [story for story in STORIES if any(plan.walk for plan in story.visits)]
TYPED = [story for story in STORIES if story not in RECORDED]
LOST_ROWS = [(story, slip) for story in STORIES for slip in story.slips if slip.set_aside]
READ_AGAIN = ("belongs_to", "misread")  # decisions after which a row is used


@pytest.fixture(scope="module")
def unit() -> UnitRecords:
    return read_unit(COMMITTED)


@pytest.fixture(scope="module")
def assessed(unit: UnitRecords) -> dict[str, TagAssessment]:
    return {story.tag.tag: assess_tag(tag_records(unit, story.tag.tag)) for story in STORIES}


def checks_with_values(assessed: dict[str, TagAssessment], stories: list[Story]) -> set[str]:
    return {
        check.check
        for story in stories
        for stage in assessed[story.tag.tag].stages
        for check in stage.checks
        if check.value is not None
    }


@pytest.mark.parametrize("story", STORIES, ids=lambda story: story.tag.tag)
def test_the_register_row_is_read_as_the_story_states_it(unit: UnitRecords, story: Story) -> None:
    assert unit.tags[story.tag.tag] == story.tag


@pytest.mark.parametrize("story", STORIES, ids=lambda story: story.tag.tag)
def test_the_verdict_is_that_of_the_story(assessed: dict[str, TagAssessment], story: Story) -> None:
    assessment = assessed[story.tag.tag]
    assert assessment.verdict == story.verdict, assessment.reason
    if story.deciding_check:
        assert assessment.worst_check.split()[0] == story.deciding_check


def test_as_found_fails_and_the_older_visit_passes_behind_the_as_left_pass(assessed: dict[str, TagAssessment]) -> None:
    stages = assessed["TV-115"].stages
    assert [(stage.visit, stage.stage, stage.verdict) for stage in stages] == [
        ("2", "as_left", "pass"),
        ("2", "as_found", "fail"),
        ("1", "as_left", "pass"),
    ]


def told_of(unit: UnitRecords) -> set[CheckName]:
    """The checks of typed rows, but for those of which the unit records no column that is theirs alone."""
    told = set()
    for subject in (each for each in SUBJECTS if each.table in unit.tables):
        for feed in subject.feeds:
            shared = {column for other in subject.feeds if other is not feed for column in other.columns}
            own = set(feed.columns) - shared
            rows = unit.tables[subject.table]
            if not own or any(cell == cell and cell != "" for column in own for cell in rows[column].tolist()):
                told.add(feed.check)
    return told


def test_every_check_of_typed_records_has_a_value_somewhere(
    unit: UnitRecords, assessed: dict[str, TagAssessment]
) -> None:
    told = told_of(unit)
    assert len(told) > 25
    assert told <= checks_with_values(assessed, TYPED)


def test_every_check_of_recordings_has_a_value_somewhere(assessed: dict[str, TagAssessment]) -> None:
    assert {name for name in CHECKS if table_of(name) == "logs"} <= checks_with_values(assessed, RECORDED)


@pytest.mark.parametrize("story", RECORDED, ids=lambda story: story.tag.tag)
def test_a_recording_is_used_but_for_what_its_story_tells(unit: UnitRecords, story: Story) -> None:
    told = [each.problem for each in unit.problems if each.file.startswith(f"logs/{story.tag.tag}/")]
    doubled = [each for each in told if "sample of the row before once more" in each]
    gaps = [each for each in told if "gap of 21.8 s" in each]
    assert len(told) == len(doubled) + len(gaps)
    assert (len(doubled), len(gaps)) == ((4, 1) if story.tag.tag == "LV-132" else (0, 0))


def test_the_stroke_timed_wrongly_by_hand_is_told_and_the_recording_stands(assessed: dict[str, TagAssessment]) -> None:
    """Typed: 36 s. The virtual valve: 0.25 s of delay and 100.8 % at 3.4 %/s, 29.9 s."""
    assessment = assessed["FV-131"]
    (stands,) = (
        check for check in assessment.stages[0].checks if (check.check, check.detail) == ("stroke_time_close", "")
    )
    assert stands.value == pytest.approx(29.8, abs=0.2)
    assert [(each.tag, each.column) for each in assessment.problems] == [("FV-131", "stroke_time_close")]


@pytest.mark.parametrize(("story", "slip"), LOST_ROWS, ids=lambda each: getattr(each, "typed", ""))
def test_a_slip_that_costs_a_row_is_found_where_it_was_made(unit: UnitRecords, story: Story, slip: Slip) -> None:
    found = [
        each
        for each in unit.problems
        if each.table == slip.table
        and each.set_aside == (slip.answer is None or slip.answer.decision not in READ_AGAIN)
        and (each.value == slip.typed if slip.column else "row" in each.problem)
        and (each.column == slip.column or slip.column is None)
    ]
    assert len(found) == 1, (slip, found)
    expected = ("flag" if slip.column is None else "open") if slip.answer is None else "answered"
    assert found[0].status == expected


def test_exchanged_digits_are_flagged_with_the_reading_meant_and_used_as_typed(unit: UnitRecords) -> None:
    (slip,) = (slip for story in STORIES for slip in story.slips if not slip.set_aside)
    (found,) = (each for each in unit.problems if each.tag == "TV-115")
    assert float(found.value.replace(",", ".")) == float(slip.typed.replace(",", "."))
    assert (found.column, found.set_aside) == (slip.column, False)
    assert "42.3" in found.problem


def test_nothing_else_is_flagged(unit: UnitRecords) -> None:
    """A file in cp1252, one that is no table, the exchanged digits, the gap: no false alarm on any faulty valve."""
    flagged = sorted(Path(each.file).name for each in unit.problems if each.status == "flag" and not each.set_aside)
    assert flagged == ["1.as_left.two-channels.csv", "photo-list.csv", "readings-slaker.csv", "visits-slaker.csv"]


def test_every_reading_typed_in_volts_is_set_aside(unit: UnitRecords) -> None:
    volts = [each for each in unit.problems if each.tag == "TV-107" and each.column == "command_V" and each.set_aside]
    assert len(volts) == 27


def test_nothing_else_is_set_aside(unit: UnitRecords) -> None:
    """The slips that cost a row, the 27 readings in volts, the four samples of LV-132 written twice, and no more."""
    read_again = sum(slip.answer is not None and slip.answer.decision in READ_AGAIN for _, slip in LOST_ROWS)
    wanted = 27 + len(LOST_ROWS) - read_again + 4
    assert sum(count.set_aside for count in unit.counts) == wanted
    assert all(count.read == count.used + count.set_aside for count in unit.counts)


def test_the_stray_file_is_named_once(unit: UnitRecords) -> None:
    assert sum(each.file.endswith("photo-list.csv") for each in unit.problems) == 1


def test_every_budget_rests_on_the_instruments_that_its_check_declares(assessed: dict[str, TagAssessment]) -> None:
    """Where a recording has no position column the feedback's instrument stands for that of the position.

    Hysteresis is made of two budgets, which name their instruments themselves.
    """
    declared = {feed.check: set(feed.roles) for subject in SUBJECTS for feed in subject.feeds}
    seen: dict[str, set[str]] = {}
    for assessment in assessed.values():
        for check in (check for stage in assessment.stages for check in stage.checks if check.budget is not None):
            assert check.budget is not None
            used = {each.name.partition(" instrument")[0] for each in check.budget.components if each.instrument}
            by_feedback = {"feedback" if role == "position" else role for role in declared[check.check]}
            assert used <= declared[check.check] | by_feedback, (assessment.tag, check.check)
            seen.setdefault(check.check, set()).update(used)
    del declared["hysteresis"]
    short = {check: roles - seen[check] for check, roles in declared.items() if check in seen}
    assert not {check: roles for check, roles in short.items() if roles}
