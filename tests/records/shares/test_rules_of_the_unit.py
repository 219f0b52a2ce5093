"""A flag that two tags share goes from both as soon as one of them changes: each is run again for the other's rows."""

from __future__ import annotations

from kit.records import read_unit, tag_mark
from kit.records.shares.tag_share import tag_records

HEAD = "tag,visit,cycle,direction,command_pct,position_pct\n"
POINTS = (0, 10, 25, 40, 50, 60, 75, 90, 100)
VISITS = "tag,visit,date\nFV-101,1,2026-03-04\nFV-103,1,2026-03-05\n"


def rows(tag: str, more: float = 0.0) -> str:
    return "".join(f"{tag},1,1,up,{point},{point + 0.31 + more * (point == 50):.2f}\n" for point in POINTS)


def unit_with(make_unit, first: str):
    files = {"records/visits.csv": VISITS, "records/readings.csv": HEAD + first + rows("FV-103")}
    return read_unit(make_unit(files))


def test_the_copy_is_told_on_both_and_goes_from_both(make_unit) -> None:
    copied = unit_with(make_unit, rows("FV-101"))
    other = tag_mark(copied, "FV-103")
    for tag, twin in (("FV-101", "FV-103"), ("FV-103", "FV-101")):
        told = [each.problem for each in tag_records(copied, tag).problems if "copied" in each.problem]
        assert len(told) == 1
        assert twin in told[0]
    changed = unit_with(make_unit, rows("FV-101", more=0.4))
    assert not [each for each in changed.problems if "copied" in each.problem]
    assert tag_mark(changed, "FV-103")[0] != other[0]


def test_a_change_that_leaves_the_flag_leaves_the_other_tag_alone(make_unit) -> None:
    before = tag_mark(unit_with(make_unit, rows("FV-101")), "FV-103")
    after = unit_with(make_unit, rows("FV-101").replace("FV-101,1,1,up,50,", "FV-101,1,1,up,50.0,"))
    assert tag_mark(after, "FV-103") == before
