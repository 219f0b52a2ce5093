"""Files that are not read: which are open, for what, and which are only noted."""

from __future__ import annotations

import hashlib
import io

import openpyxl
import pytest

from kit.basis.records import Problem, Scope, UnitRecords

STROKES = "tag,visit,direction,time_s\nFV-101,1,open,20.1\nFV-102,1,open,20.1\n"
ALL = ("FV-101", "FV-102", "FV-103")
TWO = ("FV-101", "FV-102")
WITHOUT_HEADINGS = "FV-101,1,open,20.1\nFV-101,1,close,20\n"


def workbook(rows: str, *, sheet: str = "strokes", hidden: bool = False, beside: str = "") -> bytes:
    book = openpyxl.Workbook()
    book.active.title = "notes"
    book.active.append([beside])
    made = book.create_sheet(sheet)
    for row in rows.splitlines():
        made.append(row.split(","))
    made.sheet_state = "hidden" if hidden else "visible"
    data = io.BytesIO()
    book.save(data)
    return data.getvalue()


def about(unit: UnitRecords, file: str) -> Problem:
    (problem,) = [each for each in unit.problems if each.file == file and each.row is None]
    return problem


def counted(unit: UnitRecords, file: str) -> list[tuple[str, int, int, int]]:
    return [(each.table, each.read, each.used, each.set_aside) for each in unit.counts if each.file == file]


@pytest.mark.parametrize(
    ("file", "data", "scope", "rows"),
    [
        ("records/week-12.csv", STROKES, Scope(TWO, table="strokes"), 2),  # not known by its name
        ("records/week-12.csv", WITHOUT_HEADINGS, Scope(("FV-101",)), 2),
        ("records/week-12.csv", WITHOUT_HEADINGS.replace("\n", " s\n"), Scope(("FV-101",)), 2),
        ("strokes.csv", STROKES, Scope(TWO, table="strokes"), 2),  # beside records/
        ("backup/week-12.csv", STROKES, Scope(TWO, table="strokes"), 2),
        ("records/strokes.txt", STROKES, Scope(TWO, table="strokes"), 2),  # text in columns
        ("records/week.txt", STROKES.replace(",", "   "), Scope(TWO, table="strokes"), 2),
        ("records/field.xlsx", workbook(STROKES, hidden=True), Scope(TWO, table="strokes"), 2),
        ("records/field.xlsx", workbook(STROKES, sheet="Week 12"), Scope(TWO, table="strokes"), 2),
        ("records/strokes.csv", "tag,visit,direction,time_s\n", Scope(ALL, table="strokes"), 0),
        ("records/strokes.csv", "", Scope(ALL, table="strokes"), None),
        ("records/strokes.xlsx", b"damaged", Scope(ALL), None),
        ("records/week-12.xlsx", b"damaged", Scope(ALL), None),
        ("records/week-12.ods", b"anything", Scope(ALL), None),
        ("records/week-12.csv", "time_s,command_mA,position_pct\n0,4,0\n", Scope(ALL, table="logs"), 1),
        ("records/week-12.csv", "tag,visit,date,technician\nFV-101,1,2026-03-04,N\n", Scope(("FV-101",)), 1),
        ("records/week-12.csv", STROKES.replace("FV-101", "fv 1O1"), Scope(TWO, table="strokes"), 2),
        ("strokes.xlsx", b"damaged", Scope(ALL), None),  # a workbook may hold any table
    ],
)
def test_what_is_not_read_is_open_for_what_it_may_hold(
    read_files, file: str, data: str | bytes, scope: Scope, rows: int | None
) -> None:
    unit = read_files({file: data})
    (problem,) = [each for each in unit.problems if each.file == file and each.status == "open"]
    assert (problem.scope, problem.row) == (scope, None)
    assert problem.record.startswith("r")
    assert [each[1:] for each in counted(unit, file)] == ([] if rows is None else [(rows, 0, rows)])
    assert not any(file in rows["file"] for rows in unit.tables.values())


@pytest.mark.parametrize(
    ("file", "data"),
    [
        ("records/photo.jpg", b"x"),
        ("records/certificate.pdf", b"x"),
        ("records/notes.txt", "The valve was stiff, slow and noisy.\nIt was greased.\n"),
        ("records/photo-list.csv", "photo,shows\nP-1,Name plate\n"),
        ("records/photo-list.csv", "tag,photo,remark\nFV-101,P-1,Name plate\n"),
        ("records/lists.xlsx", workbook("direction,cause\nopen,signal_open\n", sheet="lists", hidden=True)),
        ("records/week-12.csv", ""),
        ("plan.csv", "step,what\n1,strokes\n"),
    ],
)
def test_what_holds_no_value_is_noted_and_not_open(read_files, file: str, data: str | bytes) -> None:
    unit = read_files({file: data})
    told = [each for each in unit.problems if each.file == file]
    assert told
    assert {each.status for each in told} == {"flag"}


@pytest.mark.parametrize("file", [".old/strokes.csv", "records/~$strokes.csv", "drawing.dwg", "out/u/strokes.csv"])
def test_hidden_folders_lock_files_and_what_a_batch_wrote_are_passed_over(read_files, file: str) -> None:
    digest = hashlib.sha256(STROKES.encode()).hexdigest()
    unit = read_files({file: STROKES, "out/u/manifest.json": f'{{"files": {{"strokes.csv": "{digest}"}}}}'})
    assert [each for each in unit.problems if each.file == file] == []


@pytest.mark.parametrize("named", ['"its SHA-256"', "1", "null", '"../../out/u/strokes.csv"'])
def test_a_table_that_a_manifest_names_and_that_is_another_now_is_open(read_files, named: str) -> None:
    """What a batch wrote and a person wrote over is a person's."""
    unit = read_files({"out/u/strokes.csv": STROKES, "out/u/manifest.json": f'{{"files": {{"strokes.csv": {named}}}}}'})
    assert about(unit, "out/u/strokes.csv").status == "open"


@pytest.mark.parametrize(
    "file", ["old/strokes.csv", "old/u/strokes.csv", "issued/strokes.csv", "issued/u/A/strokes.csv"]
)
@pytest.mark.parametrize("manifest", ["{}", "[]", "no manifest", '{"files": 1}', '{"files": {"results.csv": "x"}}'])
def test_a_table_that_no_manifest_names_is_open_wherever_it_lies(read_files, file: str, manifest: str) -> None:
    """A folder of somebody's own is not made the kit's by a manifest in it."""
    beside = file.replace("strokes.csv", "manifest.json")
    unit = read_files({file: STROKES, beside: manifest, "old/manifest.json": manifest})
    assert about(unit, file).status == "open"
    assert counted(unit, file) == [("strokes", 2, 0, 2)]


@pytest.mark.parametrize("file", ["old/FV-101.visit-2.xlsx", "FV-101.parquet"])
def test_a_table_beside_the_records_that_cannot_be_read_may_hold_anything(read_files, file: str) -> None:
    """A field sheet is named after a tag and not after a table."""
    told = about(read_files({file: b"PK cut in the middle"}), file)
    assert (told.status, told.scope) == ("open", Scope(ALL))


READ = "tag,visit,direction,time_s\nFV-101,1,open,31\n"
LISTED = "tag,check,what,owner,closed_on,closed_by,remark"


@pytest.mark.parametrize("name", ["punch_strokes", "punch list 12", "Punch", "open_records_strokes", "dispositions"])
@pytest.mark.parametrize(
    ("data", "table"),
    [
        (READ, "strokes"),
        ("tag,visit,item,result\nFV-101,1,Coupling tight,no\n", "prechecks"),
        (f"{LISTED},time_s\nFV-101,stroke_time_open,,,,,slow,31\n", ""),
        ("FV-101,1,open,31.0\nFV-101,1,open,31.5\n", ""),
        (f"FV-101,open,slow,31 s\n{LISTED}\n", ""),
    ],
    ids=["strokes", "prechecks", "a column more", "no headings", "above the headings"],
)
def test_measurements_in_a_file_named_as_a_list_are_not_lost(read_files, name: str, data: str, table: str) -> None:
    unit = read_files({f"records/{name}.csv": data})
    (problem,) = [each for each in unit.problems if each.status == "open"]
    assert problem.scope == Scope(("FV-101",), table=table)
    assert "it is not read" in problem.problem


@pytest.mark.parametrize("further", ["", ",evidence,suggested_action,category,state", ",photo", ",discipline"])
def test_a_punch_list_with_columns_of_its_own_is_one(read_files, further: str) -> None:
    row = "FV-101,inaccuracy,It is outside its limit,A,2026-03-20,B,done"
    unit = read_files({"records/punch.csv": f"{LISTED}{further}\n{row}{',x' * further.count(',')}\n"})
    assert len(unit.punch) == 1
    assert not [each for each in unit.problems if each.status == "open"]


@pytest.mark.parametrize("copy", ["records/strokes-copy.csv", "strokes.csv", "old/strokes.csv"])
def test_the_same_file_twice_is_read_once_and_told(read_files, copy: str) -> None:
    visits = "tag,visit,date\nFV-101,1,2026-03-04\nFV-102,1,2026-03-04\n"
    unit = read_files({"records/Strokes.csv": STROKES, copy: STROKES, "records/visits.csv": visits})
    assert len(unit.tables["strokes"]) == 2
    problem = about(unit, copy)
    assert (problem.status, problem.scope) == ("flag", None)
    assert problem.problem.startswith("Byte for byte the same as records/Strokes.csv")
    assert counted(unit, copy) == [("strokes", 2, 0, 2)]


def test_a_sheet_of_a_form_without_rows_is_no_record_where_others_have_some(read_files) -> None:
    unit = read_files({"records/form.xlsx": workbook("tag,visit,direction,time_s\n", beside="remark")})
    assert {each.status for each in unit.problems if each.file == "records/form.xlsx"} == {"flag"}


def test_a_sheet_beside_the_register_that_holds_tags_is_open(make_unit) -> None:
    from kit.records import read_unit

    folder = make_unit({"tags.xlsx": workbook("tag,travel,command_range,fail_action\nFV-101,80,4-20 mA,open\n")})
    unit = read_unit(folder)
    problem = next(each for each in unit.problems if each.file == "tags.xlsx" and each.status == "open")
    assert problem.scope == Scope(("FV-101",))


def test_rows_without_a_column_tag_are_of_the_tags_that_stand_in_another(read_files) -> None:
    unit = read_files({"records/strokes.csv": STROKES.replace("tag,", "valve,")})
    scopes = {each.row: each.scope.tags for each in unit.problems if each.scope and each.row}
    assert scopes == {2: ("FV-101",), 3: ("FV-102",)}


@pytest.mark.parametrize(
    ("tag", "tags"), [("", ALL), ("#REF!", ALL), ("FV-l0l", ("FV-101",)), ("FV-9", ()), ("FV-10", ALL), ("XY-7", ())]
)
def test_a_row_of_an_unknown_tag_alone_in_its_file_is_of_those_it_may_stand_for(read_files, tag: str, tags) -> None:
    unit = read_files({"records/strokes.csv": f"tag,visit,direction,time_s\n{tag},1,open,20\n"})
    (problem,) = [each for each in unit.problems if each.file == "records/strokes.csv" and each.column == "tag"]
    assert problem.scope is not None
    assert problem.scope.tags == tags
