"""The unit's folder as a whole: what makes it unusable, what of it is read, and how often."""

from __future__ import annotations

import io
import subprocess
import sys
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from kit.basis.recording import Segment
from kit.basis.recording_maps import RecordingMap
from kit.basis.records import RecordingFile
from kit.basis.registers import Tag
from kit.records import UnitError, read_unit, tag_records, to_slice
from kit.records.recordings.read import RecordingReading, read_recording
from tests.records.conftest import FILES


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


def recorded(rows: int = 20) -> str:
    return "time_s,command_mA,feedback_mA,position_pct\n" + "".join(f"{row},12,12,50\n" for row in range(rows))


def test_every_file_is_read_once(make_unit, monkeypatch: pytest.MonkeyPatch) -> None:
    files = {
        **FILES,
        "logs/FV-101/1.as_left.csv": recorded(),
        "logs/FV-101/2.as_left.csv": "nothing",
        "logs/FV-103/1.as_found.csv": recorded(),
        "logs/stray.csv": recorded(),
    }
    folder = make_unit(files)
    read: list[str] = []
    opened = Path.open

    def counted(path: Path, *args: Any, **further: Any) -> Any:
        read.append(path.relative_to(folder).as_posix())
        return opened(path, *args, **further)

    monkeypatch.setattr(Path, "open", counted)
    unit = read_unit(folder)
    for tag in unit.tags:
        tag_records(unit, tag)
    ledger = "issued/issues.csv"  # looked for; what was issued is no input
    assert sorted(read) == sorted([*files, "unit.toml", "tags.csv", "instruments.csv", ledger])
    assert sorted(unit.input_hashes) == sorted({*read} - {ledger})


def test_for_one_tag_no_other_recording_is_parsed(make_unit, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = make_unit(
        {"logs/FV-101/1.as_left.csv": recorded(), "logs/FV-103/1.as_left.csv": recorded(), "logs/odd.csv": ""}
    )
    whole = read_unit(folder)
    parsed: list[str] = []

    def counted(source: RecordingFile, data: bytes, tag: Tag, maps: tuple[RecordingMap, ...]) -> RecordingReading:
        parsed.append(source.file)
        return read_recording(source, data, tag, maps)

    monkeypatch.setattr("kit.records.unit.read_recording", counted)
    own = read_unit(folder, recordings_of="FV-103")
    assert parsed == ["logs/FV-103/1.as_left.csv"]
    assert own.input_hashes == whole.input_hashes
    assert to_slice(tag_records(own, "FV-103")) == to_slice(tag_records(whole, "FV-103"))


def test_the_samples_of_a_unit_are_not_held_in_memory(make_unit) -> None:
    """What lies in memory of a recording is its name and its extent, whatever its length."""
    unit = read_unit(make_unit({"logs/FV-101/1.as_left.csv": recorded(2000)}))
    assert [each.recording for each in unit.recordings] == [None]
    (own,) = tag_records(unit, "FV-101").recordings
    assert own.recording is not None
    assert len(own.recording) == 2000


def test_a_recording_that_cannot_be_read_is_told_to_its_tag(make_unit) -> None:
    folder = make_unit({"logs/FV-101/1.as_left.csv": recorded()})
    (folder / "logs/FV-101/2.as_left.csv").symlink_to("nowhere")
    unit = read_unit(folder)
    (problem,) = [each for each in unit.problems if each.file == "logs/FV-101/2.as_left.csv"]
    assert problem.tag == "FV-101"
    assert "points to a file that is not there" in problem.problem
    assert [each.visit for each in unit.recordings] == ["1"]


def test_segments_that_do_not_fit_are_told_while_reading(make_unit) -> None:
    segments = "tag,visit,log,from_s,to_s,what\nFV-101,1,,5,3,rest\nFV-101,1,b,3,5,rest\nFV-101,1,,3,5,rest\n"
    unit = read_unit(make_unit({"logs/FV-101/1.as_left.csv": recorded(), "records/segments.csv": segments}))
    told = [(each.row, each.column) for each in unit.problems if each.file == "records/segments.csv"]
    assert sorted(told) == [(2, "to_s"), (3, "log")]
    (recording,) = tag_records(unit, "FV-101").recordings
    assert recording.segments == (Segment("rest", 3.0, 5.0, "1", "as_left"),)


def test_a_slice_is_taken_up_without_what_reads_files() -> None:
    """A notebook's kernel starts with neither of the libraries that read files."""
    code = "import sys, kit.records; print([name for name in ('pandas', 'pyarrow', 'openpyxl') if name in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def register_book(*, first_hidden: bool) -> bytes:
    book = openpyxl.Workbook()
    book.remove(book.active)
    for name, tag in (("old", "FV-8"), ("tags", "FV-9"), ("more", "FV-10")):
        sheet = book.create_sheet(name)
        for row in (["tag", "fail_action", "command_range"], [tag, "closed", "4-20 mA"]):
            sheet.append(row)
        sheet.sheet_state = "hidden" if name == "old" and first_hidden else "visible"
    data = io.BytesIO()
    book.save(data)
    return data.getvalue()


@pytest.mark.parametrize(("first_hidden", "tag", "unread"), [(False, "FV-8", "tags"), (True, "FV-9", "old")])
def test_a_registers_first_visible_sheet_is_read_and_the_others_are_told(
    make_unit, first_hidden: bool, tag: str, unread: str
) -> None:
    folder = make_unit({"tags.xlsx": register_book(first_hidden=first_hidden)})
    (folder / "tags.csv").unlink()
    unit = read_unit(folder)
    assert list(unit.tags) == [tag]
    told = [each.problem for each in unit.problems if each.file == "tags.xlsx"]
    assert told == [f"Sheet {name} is not read: only the first visible sheet is." for name in sorted([unread, "more"])]


def test_of_two_registers_one_is_read_and_both_count_among_the_inputs(make_unit) -> None:
    unit = read_unit(make_unit({"tags.xlsx": register_book(first_hidden=False)}))
    assert list(unit.tags) == ["FV-101", "FV-102", "FV-103"]
    told = [each for each in unit.problems if each.file == "tags.xlsx"]
    assert {each.problem for each in told} == {"Not read, because tags.csv is there too. Remove one of the two."}
    assert {each.status for each in told} == {"open"}  # nobody can say which of two registers holds
    assert {"tags.csv", "tags.xlsx"} <= set(unit.input_hashes)


def test_without_an_instrument_register_everything_else_is_read(make_unit) -> None:
    folder = make_unit(FILES)
    (folder / "instruments.csv").unlink()
    unit = read_unit(folder)
    assert unit.instruments == ()
    assert [each.problem for each in unit.problems if each.file == "instruments.csv"] == [
        "There is no instrument register: no check has an uncertainty. Add it."
    ]
    assert len(unit.tables["readings"]) == 3


def test_problems_and_counts_come_in_order(make_unit) -> None:
    files = {
        "records/strokes-b.csv": "tag,visit,direction,time_s\nFV-102,1,open,x\nFV-101,1,open,x\nFV-101,1,open,y\n",
        "records/strokes-a.csv": "tag,visit,direction,time_s\nFV-101,1,open,x\n",
    }
    unit = read_unit(make_unit(files))
    aside = [(each.tag, each.file[-5], each.row) for each in unit.problems if each.set_aside]
    assert aside == [("FV-101", "a", 2), ("FV-101", "b", 3), ("FV-101", "b", 4), ("FV-102", "b", 2)]
    assert [(each.file, each.table) for each in unit.counts] == [
        ("instruments.csv", "instruments"),
        ("records/strokes-a.csv", "strokes"),
        ("records/strokes-b.csv", "strokes"),
        ("records/visits.csv", "visits"),
        ("tags.csv", "tags"),
    ]
