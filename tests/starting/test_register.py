"""A list of tags carried into the register: every row used or told, nothing guessed."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import openpyxl
import pytest

from kit.assessment import assess_tag
from kit.basis.tables import TABLES
from kit.records import read_unit, tag_records
from kit.starting.folder import NewUnitError, lay_down
from kit.starting.listed import Listed, read_list
from kit.starting.meaning import Meaning, as_file, as_line, fits_a_line, propose, stated
from kit.starting.register import register_of
from tests.starting.lists import HEADINGS, ROWS, workbook


@pytest.fixture
def listed(tmp_path: Path) -> Listed:
    return read_list(workbook(tmp_path))


def test_the_headings_are_found_below_a_title_and_proposed(listed: Listed):
    assert listed.headings == HEADINGS
    assert listed.told == (
        "Sheet Colours is not read.",
        "Row 1 stands above the headings: Invented works: list of valves.",
    )
    meant = propose(listed).columns
    assert meant["Item No."] == ("tag",)
    assert meant["Stroke [°]"] == ("travel",)
    assert meant["Stroke time (s)"] == ("stroke_time_open_s", "stroke_time_close_s")
    assert (meant["System"], meant["Remarks"]) == ((), ())


def test_rows_in_are_rows_used_and_rows_told(listed: Listed):
    made = register_of(listed, propose(listed))
    assert made.read == len(ROWS) == len(listed)
    assert [row["tag"] for row in made.rows] == ["FV-1001", "FV-1002", "XV-1003", "FV-1004"]
    assert [text.partition(":")[0] for text in made.left_out] == ["Row 8", "Row 9", "Row 10", "Row 12", "Row 13"]
    told = "\n".join(made.left_out)
    assert "Row 8: no tag: Subtotal | 3." in told
    assert "Row 9: FV-1001 stands in row 5 already, word for word." in told
    assert "Row 10: the headings once more." in told
    assert "FV-1005 stands in rows 12, 13, and they differ: none is used." in told


def test_cells_are_carried_with_the_unit_of_their_heading_and_the_words_confirmed(listed: Listed):
    first, second, third, _ = register_of(listed, propose(listed)).rows
    assert (first["travel"], first["travel_unit"], first["command_range"]) == ("90", "deg", "4-20 mA")
    assert (first["duty"], first["fail_action"], first["System"]) == ("modulating", "closed", "30")
    assert (second["travel"], second["travel_unit"], second["fail_action"]) == ("90", "deg", "open")
    assert (third["duty"], third["fail_action"], third["feedback_range"]) == ("on_off", "hold", "")


def test_what_cannot_be_read_is_left_blank_told_and_kept_as_listed(listed: Listed):
    made = register_of(listed, propose(listed))
    last = made.rows[-1]
    assert last["travel"] == ""
    assert last["Stroke [°] as listed"] == "abt 90"
    assert any("travel of FV-1004: 'abt 90' is not a number" in text for text in made.told)
    assert last["Remarks"] == "'=HYPERLINK"


def test_the_folder_reads_without_an_open_record_and_every_tag_is_not_tested(listed: Listed, tmp_path: Path):
    made = register_of(listed, propose(listed))
    lay_down(tmp_path / "north", made.headings, made.rows, made.own_columns)
    unit = read_unit(tmp_path / "north")
    assert [each for each in unit.problems if each.status == "open"] == []
    assert {assess_tag(tag_records(unit, tag)).verdict for tag in unit.tags} == {"not_tested"}
    assert unit.tags["FV-1002"].further["Remarks"] == "near stairs"


def test_a_cell_whose_blank_would_mean_something_is_asked_for_and_never_left_out(listed: Listed):
    """Blank, the duty would be one that nobody wrote."""
    proposed = propose(listed)
    without = replace(proposed, words={key: word for key, word in proposed.words.items() if key != ("duty", "on/off")})
    with pytest.raises(
        NewUnitError, match=r"Control type \(rows 7\): 'on/off' is not one of .*Say what it means: duty"
    ):
        register_of(listed, without)


def test_a_heading_in_another_unit_is_neither_proposed_nor_taken(tmp_path: Path):
    headings = ("Tag", "Opening time [min]", "Track [kΩ]")
    listed = read_list(workbook(tmp_path, [("FV-1", 0.5, 5)], headings))
    assert propose(listed).columns == {"Tag": ("tag",), "Opening time [min]": (), "Track [kΩ]": ()}
    with pytest.raises(NewUnitError, match=r"'Opening time \[min\]' is in min, and stroke_time_open_s is in s"):
        stated("Tag=tag, Opening time [min]=stroke_time_open_s", listed)


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ("Item No.=tg", "no column 'tg'. Was tag meant?"),
        ("Itm No.=tag", "no heading 'Itm No.'. Was Item No. meant?"),
        ("Remarks=service", "no heading is tag"),
        ("Item No.=tag, Remarks=tag", "two headings are tag"),
        ("Item No.=tag, fail_action:FC=shut", "'shut' is not one of open, closed, hold"),
        ("Item No.=tag, service:FC=closed", "service has no words of its own"),
        ("Item No.=tag, all:fail_action=FC", "all:fail_action: 'FC' is not one of"),
        ("Item No.=tag, all:tag=FV-1", "all:tag: no column that may be the same"),
        ("Item No.=tag, Remarks=service, all:service=Air", "all:service: a heading fills it already"),
        ("Item No.", "says nothing of a heading"),
    ],
)
def test_what_is_stated_wrongly_is_refused_with_its_place(listed: Listed, said: str, told: str):
    with pytest.raises(NewUnitError) as caught:
        stated(said, listed)
    assert told in str(caught.value)


def test_the_proposals_can_be_confirmed_as_one_line_or_as_a_file(listed: Listed, tmp_path: Path):
    proposed = propose(listed)
    assert fits_a_line(proposed)
    assert stated(as_line(proposed), listed) == proposed
    file = tmp_path / "list.toml"
    file.write_text(as_file(proposed, listed), encoding="utf-8")
    assert stated(str(file), listed) == proposed


def test_a_heading_that_no_line_can_hold_goes_into_a_file(tmp_path: Path):
    headings = ('Tag "A", of the valve', "Fail = where")
    listed = read_list(workbook(tmp_path, [("FV-1", "FC, slow")], headings), "Valves")
    assert propose(listed).columns == {headings[0]: (), headings[1]: ()}
    meaning = Meaning({headings[0]: ("tag",), headings[1]: ("fail_action",)}, {("fail_action", "FC, slow"): "closed"})
    assert not fits_a_line(meaning)
    file = tmp_path / "list.toml"
    file.write_text(as_file(meaning, listed), encoding="utf-8")
    assert stated(str(file), listed) == meaning
    assert register_of(listed, meaning).rows == ({"tag": "FV-1", "fail_action": "closed"},)


def test_merged_cells_leave_their_rows_out_and_say_so(tmp_path: Path):
    path = workbook(tmp_path)
    book = openpyxl.load_workbook(path)
    book["Valves"].merge_cells("C5:C6")
    book.save(path)
    listed = read_list(path)
    made = register_of(listed, propose(listed))
    assert made.read == len(ROWS)
    assert "Row 6: The cells C5:C6 are merged" in made.left_out[0]


def test_a_csv_list_with_semicolons_is_read_too(tmp_path: Path):
    path = tmp_path / "list.csv"
    path.write_text("Invented works\nTag No;Travel [mm];Signal;On loss of signal\nLV-1;40,5;4-20 mA;FC\n", "utf-8")
    listed = read_list(path)
    (row,) = register_of(listed, propose(listed)).rows
    assert (row["tag"], row["travel"], row["travel_unit"]) == ("LV-1", "40,5", "mm")
    assert (row["command_range"], row["fail_action"]) == ("4-20 mA", "closed")


def test_two_sheets_that_may_be_the_list_have_to_be_told_apart(tmp_path: Path):
    path = workbook(tmp_path)
    book = openpyxl.load_workbook(path)
    book.copy_worksheet(book["Valves"]).title = "Old"
    book.save(path)
    with pytest.raises(NewUnitError, match=r"Valves, Old may be the list of tags\. Name the sheet: --sheet NAME"):
        read_list(path)
    assert read_list(path, "Old").headings == HEADINGS
    with pytest.raises(NewUnitError, match="no sheet 'New'; it has Valves, Colours, Old"):
        read_list(path, "New")


@pytest.mark.parametrize("name", ["list.ods", "list.xlsx", "absent.csv"])
def test_a_file_that_is_no_list_is_refused(tmp_path: Path, name: str):
    if name != "absent.csv":
        (tmp_path / name).write_bytes(b"nothing")
    with pytest.raises(NewUnitError, match=name):
        read_list(tmp_path / name)


def test_every_register_column_is_proposed_for_its_own_name(tmp_path: Path):
    names = TABLES["tags"].columns
    listed = read_list(workbook(tmp_path, [["FV-1"]], names))
    assert propose(listed).columns == {name: (name,) for name in names}


def test_a_list_in_another_language_is_read_once_a_person_says_what_its_headings_are(tmp_path: Path):
    path = tmp_path / "liste.csv"
    path.write_text("Erfundenes Werk;;\nStelle;Weg [mm];Bei Ausfall\nLV-1;40;zu\nLV-2;40;auf\n", "utf-8")
    listed = read_list(path)
    assert listed.headings == ("Stelle", "Weg [mm]", "Bei Ausfall")
    assert propose(listed) == Meaning({"Stelle": (), "Weg [mm]": (), "Bei Ausfall": ()})
    said = "Stelle=tag, Weg [mm]=travel, Bei Ausfall=fail_action, fail_action:zu=closed, fail_action:auf=open"
    rows = register_of(listed, stated(said, listed)).rows
    assert [(row["tag"], row["travel_unit"], row["fail_action"]) for row in rows] == [
        ("LV-1", "mm", "closed"),
        ("LV-2", "mm", "open"),
    ]
