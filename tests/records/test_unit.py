"""The unit's folder as a whole: what makes it unusable, one tag's share, slices, where it is found."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from kit.records import UnitError, find_unit, from_slice, read_tag, read_unit, tag_records, to_slice, visit_key
from kit.records.registers.signal_ranges import parse_range

READINGS = (
    "tag,visit,stage,direction,command_mA,position_pct,feedback_mA,command_pct\n"
    "FV-101,1,as_found,up,12,49,12.1\nFV-101,1,,up,12,50,\nFV-103,1,,up,,50,,50\nFV-101,1,,up,OK,50,\n"
)
VISITS = "tag,visit,date,command_instrument,ambient_c\nFV-101,1,2026-03-04,CAL-1,21.5\n"
WIPER = "tag,visit,position_pct,wiper_ohm\nFV-101,1,50,OL\n"
FILES = {"records/readings.csv": READINGS, "records/visits.csv": VISITS, "records/potentiometer.csv": WIPER}


@pytest.mark.parametrize(
    ("files", "words"),
    [
        ({"unit.toml": "title = "}, "unit.toml cannot be read"),
        ({"tags.csv": ""}, "tags.csv: The file is empty"),
        ({"tags.csv": "name\nFV-101\n"}, "no column tag"),
        ({"tags.csv": "tag\n"}, "no usable row"),
    ],
)
def test_an_unusable_folder_is_an_error_that_names_the_file(make_unit, files: dict[str, str], words: str) -> None:
    with pytest.raises(UnitError, match=words):
        read_unit(make_unit(files))


def test_a_folder_without_settings_or_register_is_an_error(tmp_path: Path) -> None:
    with pytest.raises(UnitError, match=r"unit\.toml"):
        read_unit(tmp_path)
    (tmp_path / "unit.toml").write_text("")
    with pytest.raises(UnitError, match="Put the register there"):
        read_unit(tmp_path)


def test_all_faults_of_the_settings_are_told_at_once(make_unit) -> None:
    content = """
titel = "x"
decision_rule = "lenient"
coverage_probability = 95
tests = ["reading"]
document = "{tags}"
[limits.a]
inacuracy = { plus_minus = 1, source = "x" }
inaccuracy = { plus_minus = 1 }
fail_time = { plus_minus = 1, source = "x" }
t63 = { max = 1, plus_minus = 1, source = "x" }
dead_time = { max = "1", source = "x" }
stroke_time_open = { min = 2, max = 1, source = "x" }
"""
    with pytest.raises(UnitError) as caught:
        read_unit(make_unit({"unit.toml": content}))
    told = str(caught.value)
    for words in (
        "Was title meant",
        "by_ratio",
        "0.9545",
        "no known test",
        "{tag}",
        "Was inaccuracy meant",
        "needs a source",
    ):
        assert words in told
    for words in ("fail_time has no target", "exactly one of", "not a number", "min 2 is above max 1"):
        assert words in told


@pytest.mark.parametrize("pattern", ["{unit}-{tag}", "{tag}", "D-100"])
def test_a_document_number_may_name_the_tag_and_the_unit(make_unit, pattern: str) -> None:
    folder = make_unit({"unit.toml": f'title = "x"\ndocument = "{pattern}"\n'})
    assert read_unit(folder).settings.document == pattern


@pytest.mark.parametrize("pattern", ["{tags}", "{tag!r}", "{{tag}}", "{tag", "tag}"])
def test_a_document_number_may_hold_no_other_braces(make_unit, pattern: str) -> None:
    folder = make_unit({"unit.toml": f'title = "x"\ndocument = "{pattern}"\n'})
    with pytest.raises(UnitError, match=r"may hold \{tag\} and \{unit\} and no other braces"):
        read_unit(folder)


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


def test_a_share_holds_the_tags_rows_and_problems_and_no_others(make_unit) -> None:
    share = tag_records(read_unit(make_unit(FILES)), "FV-101")
    assert share.tables["readings"]["stage"].tolist() == ["as_found", "as_left"]
    assert [problem.tag for problem in share.problems] == ["FV-101"]
    assert [one.instrument for one in share.instruments] == ["CAL-1"]
    assert share.visits[0].ambient_c == 21.5
    assert len(share.tables["strokes"]) == 0
    assert set(share.input_hashes) == {*FILES, "unit.toml", "tags.csv", "instruments.csv"}


def test_the_shares_of_all_tags_make_up_the_unit(make_unit) -> None:
    unit = read_unit(make_unit(FILES))
    shares = [tag_records(unit, tag) for tag in unit.tags]
    assert sum(len(share.tables["readings"]) for share in shares) == len(unit.tables["readings"]) == 3


def test_a_slice_gives_back_what_it_was_made_of(make_unit) -> None:
    share = tag_records(read_unit(make_unit(FILES)), "FV-101")
    back = from_slice(to_slice(share))
    assert to_slice(back) == to_slice(share)
    assert (back.settings, back.tag, back.visits, back.problems) == (
        share.settings,
        share.tag,
        share.visits,
        share.problems,
    )
    for name, rows in share.tables.items():
        assert list(back.tables[name].columns) == list(rows.columns)
        for column, values in rows.columns.items():
            np.testing.assert_array_equal(back.tables[name][column], values)
            assert back.tables[name][column].dtype == values.dtype
    assert back.tables["potentiometer"]["wiper_ohm"].tolist() == [np.inf]


def test_bytes_that_are_no_slice_are_an_error() -> None:
    with pytest.raises(UnitError, match="holds no tag's records"):
        from_slice(b"{}")


def test_a_notebook_reads_a_tag_from_a_folder_or_from_its_slice(make_unit, tmp_path: Path) -> None:
    folder = make_unit(FILES)
    slice_file = tmp_path / "FV-101.json"
    slice_file.write_bytes(to_slice(read_tag(folder, "FV-101")))
    assert to_slice(read_tag(str(slice_file), "FV-101")) == slice_file.read_bytes()
    with pytest.raises(UnitError, match="holds FV-101, not FV-102"):
        read_tag(slice_file, "FV-102")
    with pytest.raises(UnitError, match="Was FV-101 meant"):
        read_tag(folder, "FV-1O1")


def test_a_unit_is_found_by_name_from_a_folder_below(
    make_unit, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    inputs, notebooks = tmp_path / "project" / "inputs", tmp_path / "project" / "notebooks"
    make_unit({}).rename(tmp_path / "moved")
    for path in (inputs, notebooks):
        path.mkdir(parents=True)
    (tmp_path / "moved").rename(inputs / "unit-a")
    monkeypatch.chdir(notebooks)
    for asked in (None, "unit-a", "inputs/unit-a", inputs / "unit-a"):
        assert find_unit(asked).resolve() == (inputs / "unit-a").resolve()
    with pytest.raises(UnitError, match=r"There is no unit other\. Units in inputs/: unit-a"):
        find_unit("other")
    (inputs / "unit-b").mkdir()
    (inputs / "unit-b" / "unit.toml").write_text("")
    with pytest.raises(UnitError, match=r"Say which unit\. Units in inputs/: unit-a, unit-b"):
        find_unit(None)


@pytest.mark.parametrize(
    ("text", "low", "high", "unit"),
    [
        ("4-20 mA", 4, 20, "mA"),
        ("4 - 20mA", 4, 20, "mA"),
        ("4…20 mA", 4, 20, "mA"),
        ("4..20 mA", 4, 20, "mA"),
        ("0–10 V", 0, 10, "V"),
        ("4 to 20 ma", 4, 20, "mA"),
        ("12-20 mA", 12, 20, "mA"),
        ("4 mA - 20 mA", 4, 20, "mA"),
        ("0,5-4,5 V", 0.5, 4.5, "V"),
    ],
)
def test_a_signal_range_is_read_as_people_write_it(text: str, low: float, high: float, unit: str) -> None:
    found = parse_range(text)
    assert (found.low, found.high, found.unit, found.text) == (low, high, unit, text)


@pytest.mark.parametrize(
    "text", ["", "20-4 mA", "4-4 mA", "4-20", "4 V - 20 mA", "mA", "4-200 mA", "-4-20 mA", "0-24 V"]
)
def test_what_is_no_signal_range_is_an_error(text: str) -> None:
    with pytest.raises(ValueError, match=r"Write it like|lower signal first"):
        parse_range(text)


def test_visits_sort_as_numbers_as_dates_and_naturally() -> None:
    visits = ["10", "9", "2026-10-02", "2026-03-04", "site visit 10", "Site visit 9", "9.5", ""]
    assert sorted(visits, key=visit_key) == [
        "9",
        "9.5",
        "10",
        "2026-03-04",
        "2026-10-02",
        "",
        "Site visit 9",
        "site visit 10",
    ]
