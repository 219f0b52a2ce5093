"""The registers of tags and instruments."""

from __future__ import annotations

import numpy as np
import pytest

from kit.basis.records import Problem, Scope
from kit.basis.registers import Instrument, Tag
from kit.records import UnitError, read_unit
from kit.records.files.raw import RawTable, as_texts
from kit.records.registers.register import read_instruments, read_tags


def raw(**columns: str | list[str]) -> RawTable:
    """Columns of texts from row 2 on; a text alone is one row."""
    cells = {name: [given] if isinstance(given, str) else given for name, given in columns.items()}
    count = len(next(iter(cells.values())))
    return RawTable(tuple(cells), tuple(as_texts(each) for each in cells.values()), np.arange(2, 2 + count))


def tags(*limit_sets: str, **columns: str | list[str]) -> tuple[dict[str, Tag], list[Problem]]:
    usual: dict[str, str | list[str]] = {"tag": "T", "command_range": "4-20 mA", "fail_action": "closed"}
    if isinstance(columns.get("tag"), list):
        usual = {"command_range": ["4-20 mA"] * len(columns["tag"]), "fail_action": ["closed"] * len(columns["tag"])}
    found, draft = read_tags("tags.csv", raw(**{**usual, **columns}), frozenset(limit_sets))
    return found, draft.problems()


def instruments(**columns: str | list[str]) -> tuple[tuple[Instrument, ...], list[Problem]]:
    found, draft = read_instruments("instruments.csv", raw(**columns))
    return found, draft.problems()


def test_the_register_is_read_with_its_defaults_and_further_columns(make_unit) -> None:
    tags = "tag,travel,travel_unit,command_range,fail_action,Line no\nFV-9,90,deg,4-20 mA,closed, 7 \n"
    tag = read_unit(make_unit({"tags.csv": tags})).tags["FV-9"]
    assert (tag.action, tag.characteristic, tag.rangeability) == ("direct", "linear", 50)
    assert tag.fail_action_supply is None
    assert tag.further == {"Line no": "7"}


def test_a_bad_cell_of_the_register_is_not_known_and_open_and_the_tag_is_kept(make_unit) -> None:
    head = "tag,travel,travel_unit,command_range,fail_action,fail_action_supply\n"
    tags = head + "FV-9,-90,deg,20-4 mA,shut,shut\nFV-9,,,,,\n"
    unit = read_unit(make_unit({"tags.csv": tags}))
    tag = unit.tags["FV-9"]
    assert (tag.travel, tag.command_range, tag.fail_action, tag.fail_action_supply) == (None, None, None, None)
    of_tags = [each for each in unit.problems if each.table == "tags"]
    told = {each.column: each.set_aside for each in of_tags if each.row == 2}
    assert told == dict.fromkeys(("tag", "travel", "command_range", "fail_action", "fail_action_supply"), False)
    assert [each.row for each in of_tags if each.set_aside] == [3]
    assert sorted(tag.unreadable) == ["command_range", "fail_action", "fail_action_supply", "tag", "travel"]
    assert {(each.status, each.scope) for each in of_tags if each.row == 2} == {("open", Scope(("FV-9",)))}


@pytest.mark.parametrize(
    ("head", "cell", "says"),
    [
        ("Command_Range", "0-10 V", "two columns command_range"),
        ("dutty", "on_off", "'dutty', so it is not read. Was duty meant?"),
        ("Travel note", "x", "'Travel note', so it is not read. Was travel meant?"),
        ("acts", "reverse", "'acts', so it is not read, and its cells are words of action"),
        ("SIL", "yes", "'SIL', so it is not read, and its cells are words of safety_function"),
        ("criteria", "Fine", "'criteria', so it is not read, and its cells are limit sets of unit.toml"),
    ],
)
def test_a_register_with_a_doubtful_heading_is_refused(make_unit, head: str, cell: str, says: str) -> None:
    """Every tag would take the default of the column that it stands for."""
    text = f"tag,command_range,fail_action,{head}\nFV-9,4-20 mA,open,{cell}\n"
    with pytest.raises(UnitError, match=r"tags\.csv cannot be used") as error:
        read_unit(make_unit({"tags.csv": text, "unit.toml": "[limits.fine]\n[limits.coarse]\n"}))
    assert says in str(error.value)


def test_a_register_of_instruments_with_a_doubtful_heading_is_refused(make_unit) -> None:
    text = "instrument,measures,due on\nA,mA,2026-01-01\n"
    with pytest.raises(UnitError, match="Was due_on meant"):
        read_unit(make_unit({"instruments.csv": text}))


def test_dates_below_an_unknown_heading_of_the_instruments_are_refused_where_dates_are_missing(make_unit) -> None:
    """An overdue instrument would never run out."""
    rows = "instrument,measures,calibrated_on,on\nA,mA,2025-01-01,2025-02-01\n"
    with pytest.raises(UnitError, match="its cells are dates, as those of due_on are"):
        read_unit(make_unit({"instruments.csv": rows}))
    whole = "instrument,measures,calibrated_on,due_on,bought\nA,mA,2025-01-01,2025-02-01,2020-01-01\n"
    assert read_unit(make_unit({"instruments.csv": whole})).instruments[0].due_on == "2025-02-01"


def test_of_a_row_with_a_cell_too_many_the_tag_is_known_and_nothing_else(make_unit) -> None:
    """A tag that dropped out of the register would take its records along."""
    text = "tag,duty,command_range,fail_action,action\nFV-9,on_off,4-20 mA,open,reverse,x\n"
    unit = read_unit(make_unit({"tags.csv": text}))
    assert (unit.tags["FV-9"].duty, unit.tags["FV-9"].command_range, unit.tags["FV-9"].fail_action) == ("", None, None)
    assert "action" in unit.tags["FV-9"].unreadable
    (problem,) = [each for each in unit.problems if each.file == "tags.csv" and each.status == "open"]
    assert (problem.row, problem.set_aside, problem.scope) == (2, False, Scope(("FV-9",)))


def test_a_column_of_the_plants_own_is_no_slip() -> None:
    headed = raw(tag="T", command_range="4-20 mA", fail_action="open", **{"Travel note": "x"})
    found, draft = read_tags("tags.csv", headed, frozenset(), ("travel NOTE",))
    assert found["T"].further == {"Travel note": "x"}
    assert draft.problems() == []


def test_what_the_register_says_is_what_the_tag_is() -> None:
    found, problems = tags(
        "fine",
        safety_function="yes",
        service="Invented water",
        motion="linear",
        travel="40",
        travel_unit="mm",
        action="reverse",
        characteristic="equal_percentage",
        rangeability="30",
        feedback_range="0-10 V",
        fail_action_supply="open",
        limits="fine",
    )
    tag = found["T"]
    assert problems == []
    assert (tag.safety_function, tag.service, tag.motion) == (True, "Invented water", "linear")
    assert (tag.travel, tag.travel_unit, tag.action, tag.characteristic) == (40.0, "mm", "reverse", "equal_percentage")
    assert (tag.rangeability, tag.fail_action, tag.fail_action_supply) == (30.0, "closed", "open")
    assert tag.command_range is not None
    assert tag.feedback_range is not None
    assert (tag.command_range.high, tag.feedback_range.high) == (20.0, 10.0)
    assert (tag.further, tag.limits, tag.stroke_time_open_s) == ({}, "fine", None)


def test_two_rows_of_one_tag_in_any_letter_case_are_both_open_where_they_differ() -> None:
    found, problems = tags(tag=["T", "U", "t"])
    assert list(found) == ["T", "U"]
    words = "{} stands in row {} too, and the rows differ. Keep the one that is right."
    assert [(each.row, each.column, each.set_aside, each.problem) for each in problems] == [
        (4, "tag", True, words.format("t", 2)),
        (2, "tag", False, words.format("t", 4)),
    ]
    assert {(each.status, each.scope) for each in problems} == {("open", Scope(("T",)))}
    assert (found["T"].unreadable, found["U"].unreadable) == (("tag",), ())


def test_a_row_of_the_register_told_twice_in_the_same_words_is_read_once() -> None:
    found, (problem,) = tags(tag=["T", "T"])
    assert (list(found), found["T"].unreadable) == (["T"], ())
    assert (problem.row, problem.set_aside, problem.status) == (3, True, "flag")


def test_a_range_that_is_none_is_not_known_and_open() -> None:
    found, (problem,) = tags(command_range="20-4 mA")
    assert (found["T"].command_range, found["T"].unreadable) == (None, ("command_range",))
    assert (problem.column, problem.set_aside, problem.status) == ("command_range", False, "open")
    assert problem.problem.endswith("It is taken as not known.")


def test_a_travel_without_a_unit_is_blank_and_told() -> None:
    found, problems = tags(tag=["T", "U"], travel=["90", "90"], travel_unit=["", "deg"])
    assert (found["T"].travel, found["U"].travel) == (None, 90.0)
    assert [(each.row, each.column, each.set_aside) for each in problems] == [(2, "travel_unit", False)]


@pytest.mark.parametrize(
    ("motion", "unit", "odd"),
    [
        ("rotary", "deg", False),
        ("rotary", "mm", True),
        ("linear", "mm", False),
        ("linear", "deg", True),
        ("", "mm", False),
    ],
)
def test_a_motion_has_its_travel_in_its_own_unit(motion: str, unit: str, odd: bool) -> None:
    found, problems = tags(motion=motion, travel="30", travel_unit=unit)
    assert found["T"].travel == 30.0
    assert [each.column for each in problems if "rotary" in each.problem] == (["travel_unit"] if odd else [])


def test_a_limit_set_that_unit_toml_does_not_have_is_told_with_those_it_has() -> None:
    _, problems = tags("b", "a", tag=["T", "U", "V"], limits=["a", "x", ""])
    (problem,) = problems
    assert (problem.row, problem.column, problem.value, problem.status) == (3, "limits", "x", "open")
    assert problem.problem.endswith("It has: a, b.")
    _, (alone,) = tags(limits="x")
    assert alone.problem.endswith("It has: none.")


def test_further_columns_are_kept_as_they_are_and_known_ones_are_none() -> None:
    found, _ = tags(**{"Line no": " 7 ", "TRAVEL": "", " ": "", "area": ""})
    assert found["T"].further == {"Line no": "7", "area": ""}


def test_an_instrument_with_a_bad_date_is_kept_and_says_so(make_unit) -> None:
    """Taken as blank it would never be overdue."""
    rows = "instrument,measures,due_on,calibrated_on\nA,mA,03/04/2026,\nB,mA,2026-01-01,2026-02-01\nC,V,2026-01-01,\n"
    unit = read_unit(make_unit({"instruments.csv": rows}))
    assert [(one.instrument, one.unreadable) for one in unit.instruments] == [
        ("A", ("due_on",)),
        ("B", ("due_on",)),
        ("C", ()),
    ]


@pytest.mark.parametrize("dash", ["--", "n/a", "-"])
def test_a_dash_in_a_date_of_an_instrument_or_where_a_blank_has_a_meaning_is_not_known(make_unit, dash: str) -> None:
    """An overdue instrument would be in date for a dash, and a safety function none."""
    instruments = f"instrument,measures,due_on,calibrated_on\nA,mA,{dash},\nB,mA,,\n"
    tags = (
        f"tag,command_range,fail_action,safety_function,action\nFV-9,4-20 mA,open,{dash},{dash}\nFV-8,4-20 mA,open,,\n"
    )
    unit = read_unit(make_unit({"instruments.csv": instruments, "tags.csv": tags}))
    assert [one.unreadable for one in unit.instruments] == [("due_on",), ()]
    assert sorted(unit.tags["FV-9"].unreadable) == ["action", "safety_function"]
    assert unit.tags["FV-8"].unreadable == ()
    of_tag = [each for each in unit.problems if each.table == "tags"]
    assert {(each.column, each.status) for each in of_tag} == {("action", "open"), ("safety_function", "open")}
    assert next(each for each in of_tag if each.column == "action").problem.endswith("leave it blank: direct.")


def test_what_the_register_says_is_what_the_instrument_is() -> None:
    (found,), problems = instruments(
        instrument="A", measures="mA", range_low="0", range_high="24", accuracy_fixed="0.01", due_on="2027-01-05"
    )
    assert problems == []
    assert found == Instrument("A", "mA", range_low=0.0, range_high=24.0, accuracy_fixed=0.01, due_on="2027-01-05")


@pytest.mark.parametrize(
    ("low", "high", "rises"), [("0", "1", True), ("1", "1", False), ("2", "1", False), ("", "1", True)]
)
def test_an_instruments_range_rises(low: str, high: str, rises: bool) -> None:
    (found,), problems = instruments(instrument="A", measures="mA", range_low=low, range_high=high)
    assert found.unreadable == (() if rises else ("range_high",))
    assert [(each.column, each.status) for each in problems] == ([] if rises else [("range_high", "open")])


@pytest.mark.parametrize(
    ("done", "due", "fits"),
    [("2026-01-05", "2027-01-05", True), ("2026-01-05", "2026-01-05", True), ("2026-01-06", "2026-01-05", False)],
)
def test_a_calibration_is_not_due_before_it_is_done(done: str, due: str, fits: bool) -> None:
    (found,), problems = instruments(instrument="A", measures="mA", calibrated_on=done, due_on=due)
    assert found.unreadable == (() if fits else ("due_on",))
    assert [each.column for each in problems] == ([] if fits else ["due_on"])


@pytest.mark.parametrize(
    ("heading", "serials", "told"),
    [
        ("Actuator serial", ["7001", "7001"], ["7001 is that of B", "7001 is that of A"]),
        ("Actuator serial", ["7001", "7002"], []),
        ("Actuator serial", ["", ""], []),
        ("line", ["7001", "7001"], []),
    ],
)
def test_a_serial_number_on_two_tags_is_asked_about_in_either_row(heading, serials, told) -> None:
    found, problems = tags(**{"tag": ["A", "B"], heading: serials})
    assert list(found) == ["A", "B"]
    asked = sorted((each for each in problems if "nameplate" in each.problem), key=lambda each: each.tag)
    assert [each.problem.partition("serial ")[2].partition(" too")[0] for each in asked] == told
    assert {each.status for each in asked} <= {"flag"}
