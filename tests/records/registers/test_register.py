"""The registers of tags and instruments."""

from __future__ import annotations

from kit.records import read_unit


def test_the_register_is_read_with_its_defaults_and_further_columns(make_unit) -> None:
    tags = "tag,travel,travel_unit,command_range,fail_action,Line no\nFV-9,90,deg,4-20 mA,closed, 7 \n"
    tag = read_unit(make_unit({"tags.csv": tags})).tags["FV-9"]
    assert (tag.action, tag.characteristic, tag.rangeability, tag.fail_action_supply) == (
        "direct",
        "linear",
        50,
        "hold",
    )
    assert tag.further == {"Line no": "7"}


def test_a_bad_cell_of_the_register_is_blank_and_told_and_the_tag_is_kept(make_unit) -> None:
    head = "tag,travel,travel_unit,command_range,fail_action,fail_action_supply\n"
    tags = head + "FV-9,-90,deg,20-4 mA,shut,shut\nFV-9,,,,,\n"
    unit = read_unit(make_unit({"tags.csv": tags}))
    tag = unit.tags["FV-9"]
    assert (tag.travel, tag.command_range, tag.fail_action, tag.fail_action_supply) == (None, None, None, None)
    told = {problem.column: problem.set_aside for problem in unit.problems if problem.row == 2}
    assert told == dict.fromkeys(("travel", "command_range", "fail_action", "fail_action_supply"), False)
    assert [problem.row for problem in unit.problems if problem.set_aside] == [3]


def test_of_two_columns_of_one_name_the_register_reads_neither(make_unit) -> None:
    tags = "tag,command_range,Command_Range,fail_action\nFV-9,4-20 mA,0-10 V,open\n"
    unit = read_unit(make_unit({"tags.csv": tags}))
    assert unit.tags["FV-9"].command_range is None
    assert any("two columns command_range" in problem.problem for problem in unit.problems)


def test_an_instrument_with_a_bad_date_is_set_aside(make_unit) -> None:
    """Taken as blank it would never be overdue."""
    rows = "instrument,measures,due_on,calibrated_on\nA,mA,03/04/2026,\nB,mA,2026-01-01,2026-02-01\nC,V,2026-01-01,\n"
    unit = read_unit(make_unit({"instruments.csv": rows}))
    assert [one.instrument for one in unit.instruments] == ["C"]
