"""Two shares of one tag, and what the second has otherwise."""

from __future__ import annotations

import copy
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from kit.basis.issues import Change, change_words
from kit.records import read_unit, tag_records
from kit.records.issues.compared import share_changes
from kit.records.issues.share import share_digest
from kit.records.shares.slices import share_content
from tests.small_unit import small_unit

__all__ = ["small_unit"]

Share = dict[str, Any]


@pytest.fixture
def share(small_unit: Path) -> Share:
    content, places = share_content(tag_records(read_unit(small_unit), "HV/2"))
    made: Share = json.loads(json.dumps({**content, "places": places}))
    return made


def changed(share: Share, change: Callable[[Share], object]) -> Share:
    other = copy.deepcopy(share)
    change(other)
    return other


def set_cell(table: str, column: str, row: int, value: object) -> Callable[[Share], object]:
    return lambda share: share["tables"][table][column].__setitem__(row, value)


def drop_row(share: Share) -> None:
    for cells in share["tables"]["strokes"].values():
        cells.pop()
    share["places"]["strokes"].pop()


CHANGES: dict[str, tuple[Callable[[Share], object], str]] = {
    "a reading": (set_cell("strokes", "time_s", 0, 31.5), "1 stroke"),
    "a reading to zero": (set_cell("strokes", "time_s", 0, 0.0), "1 stroke"),
    "a reading blanked": (set_cell("strokes", "time_s", 0, None), "1 stroke"),
    "a row gone": (drop_row, "1 stroke"),
    "a limit": (
        lambda share: share["settings"]["limit_sets"]["on_off"]["limits"]["stroke_time_open"].update(of_nominal_pct=9),
        "1 limit",
    ),
    "a limit gone": (
        lambda share: share["settings"]["limit_sets"]["on_off"]["limits"].pop("stroke_time_open"),
        "1 limit",
    ),
    "the rule": (lambda share: share["settings"].update(decision_rule="simple"), "1 key of unit.toml"),
    "the tests": (
        lambda share: share["settings"]["limit_sets"]["on_off"].update(tests=["readings"]),
        "1 key of unit.toml",
    ),
    "the register": (lambda share: share["tag"].update(fail_action="open"), "1 entry of the register"),
    "safety": (lambda share: share["tag"].update(safety_function=True), "1 entry of the register"),
    "an instrument": (lambda share: share["instruments"][0].update(due_on="2027-02-01"), "1 entry of an instrument"),
    "an instrument gone": (lambda share: share["instruments"].clear(), "1 instrument"),
    "a visit": (lambda share: share["visits"][0].update(technician="Technician 2"), "1 entry of a visit"),
    "a remark gone": (lambda share: share["problems"].clear(), "1 remark on the record"),
}


@pytest.mark.parametrize(("change", "words"), CHANGES.values(), ids=list(CHANGES))
def test_every_change_is_found_named_and_another_share(share: Share, change: Callable[[Share], object], words: str):
    other = changed(share, change)
    assert share_digest(other) != share_digest(share)
    assert change_words(share_changes(share, other)) == words
    assert change_words(share_changes(other, share)) == words


def test_a_reading_that_changed_says_where_and_from_what_to_what(share: Share):
    other = changed(share, set_cell("strokes", "time_s", 0, 31.5))
    assert share_changes(share, other) == (Change("stroke", "records/strokes.csv row 4", "time_s 31", "time_s 31.5"),)


def test_the_same_records_are_the_same_share(share: Share):
    assert share_changes(share, copy.deepcopy(share)) == ()
    assert share_digest(copy.deepcopy(share)) == share_digest(share)


@pytest.mark.parametrize(
    "change",
    [
        lambda share: share["settings"].update(revision="C"),
        lambda share: share["settings"].update(a_later_key=""),
        lambda share: share["tag"].update(a_later_column=None),
        lambda share: share["tables"]["strokes"].update(a_later_column=[None, ""]),
        lambda share: share["problems"][0].update(row=99, record="r1"),
        lambda share: share["places"].update(strokes=[8, 9, 10]),
        lambda share: share.update(format="another", input_hashes={}),
    ],
)
def test_a_later_version_and_rows_of_other_tags_make_no_other_share(share: Share, change: Callable[[Share], object]):
    assert share_digest(changed(share, change)) == share_digest(share)
