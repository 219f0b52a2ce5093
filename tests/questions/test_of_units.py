"""What is asked of the unit as a whole."""

from __future__ import annotations

import dataclasses

import pandas as pd

from kit import questions
from kit.basis.punch import PunchEntry
from kit.basis.retest import DUE_RULE
from kit.frames import Frames


def test_progress_is_told_by_the_day(unit: Frames) -> None:
    """HV-1 passes on its second visit, with a condition; HV/2 fails."""
    frame = questions.how_far(unit).frame
    assert frame.to_dict("list") == {"date": ["2025-03-02", "2026-03-02"], "tested": [1, 2], "passed": [0, 1]}


def test_the_register_s_columns_count_its_tags(unit: Frames) -> None:
    twice = [*unit.of_tags, *unit.of_tags]
    tags = [dataclasses.replace(each.tag, further={"system": str(place % 2)}) for place, (each, _) in enumerate(twice)]
    owned = (
        (dataclasses.replace(records, tag=tag), judged) for tag, (records, judged) in zip(tags, twice, strict=True)
    )
    with_systems = Frames(tuple(owned))
    frame = questions.how_far_by_column(with_systems).frame
    assert list(frame["column"].unique()) == ["system"]
    assert frame["tags"].sum() == 2 * len(unit.of_tags)


def test_what_failures_share_is_told_for_persons_and_instruments(unit: Frames) -> None:
    frame = questions.what_failures_share(unit).frame
    told = frame[frame["of"] == "technician"].set_index("name")
    assert (told.loc["Technician 1", "failed"], told.loc["Technician 2", "failed"]) == (1, 0)
    assert not frame["stands_out"].any()


def test_what_is_asked_of_nothing_is_a_frame_without_rows(unit: Frames) -> None:
    empty = Frames(())
    asked = (
        *(questions.how_far, questions.how_far_by_column, questions.what_failures_share),
        *(questions.which_causes, questions.what_changed, questions.what_is_due),
    )
    for question in asked:
        frame = question(empty).frame
        assert isinstance(frame, pd.DataFrame)
        assert len(frame) == 0
        assert len(frame.columns) > 1
    assert next(iter(questions.what_is_stale(unit).frame.columns)) == "tag"


def test_a_tag_that_was_never_issued_is_a_draft(unit: Frames) -> None:
    frame = questions.what_changed(unit).frame
    assert set(frame["standing"]) == {"draft"}


def test_a_day_that_a_tag_is_due_again_is_a_proposal_with_its_rule(unit: Frames) -> None:
    """By hand: HV-1 passes with its visit of 2026-03-02, and 365 days later is 2027-03-02."""
    settings = dataclasses.replace(unit.of_tags[0][0].settings, retest_days=365)
    owned = tuple((dataclasses.replace(records, settings=settings), judged) for records, judged in unit.of_tags)
    answer = questions.what_is_due(Frames(owned))
    told = answer.frame.set_index("tag")
    assert told.loc["HV-1", "due_proposed_on"] == "2027-03-02"
    assert told.loc["HV-1", "due_proposed_by"] == "retest_days of unit.toml"
    assert (told.loc["HV/2", "due_proposed_on"], "what is open comes first" in told.loc["HV/2", "no_day_because"]) == (
        "",
        True,
    )
    assert "a proposal" in answer.figure.caption
    assert DUE_RULE in answer.figure.caption


def test_an_item_stands_with_who_has_it(unit: Frames) -> None:
    frame = questions.what_is_left(unit).frame
    item = frame[frame["check"] != ""].iloc[0]
    owned = dataclasses.replace(unit, punch=(PunchEntry(item["tag"], item["check"], item["what"], owner="A"),))
    owners = questions.what_is_left(owned).frame["owner"]
    assert list(owners[owners != ""]) == ["A"]
