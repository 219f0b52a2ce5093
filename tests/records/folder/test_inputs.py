"""Which files of a unit's folder are read, and their hashes."""

from __future__ import annotations

import hashlib
from pathlib import Path

from kit.records import hash_inputs, read_unit
from kit.records.folder.inputs import list_recordings, list_records
from tests.records.conftest import FILES

X = hashlib.sha256(b"x").hexdigest()
FURTHER: dict[str, str | bytes] = {
    "records/deep/er/strokes.csv": "tag,visit,direction,time_s\nFV-101,1,open,5\n",
    "records/.hidden.csv": "x",
    "records/~$readings.xlsx": "x",
    "records/.git/readings.csv": "x",
    "records/notes.txt": "x",
    "logs/FV-101/1.as_left.csv": "time_s,command_mA,position_pct\n0,4,0\n1,4,0\n",
    "logs/stray.csv": "x",
    "logs/FV-101/.1.as_left.csv": "x",
    "tags.xlsx": "no workbook",
    "other.csv": "x",
    "other.pdf": "x",
    "elsewhere/strokes.txt": "x",
    "out/unit-a/manifest.json": f'{{"files": {{"results.csv": "{X}", "tags.csv": "{X}", "tags/a/report.html": "x"}}}}',
    "out/unit-a/results.csv": "x",
    "out/unit-a/tags.csv": "y",
    "out/unit-a/readings.csv": "x",
    "out/strokes.csv": "x",
}
READ = [
    *(
        "elsewhere/strokes.txt",
        "instruments.csv",
        "logs/FV-101/1.as_left.csv",
        "logs/stray.csv",
        "out/strokes.csv",
        "out/unit-a/readings.csv",
        "out/unit-a/tags.csv",
        "records/deep/er/strokes.csv",
    ),
    *("other.csv", "records/notes.txt", "records/potentiometer.csv", "records/readings.csv", "records/visits.csv"),
    *("tags.csv", "tags.xlsx", "unit.toml"),
]


def test_what_is_hashed_is_what_is_read(make_unit) -> None:
    folder = make_unit({**FILES, **FURTHER})
    found = hash_inputs(folder)
    assert list(found or {}) == sorted(READ)
    assert found == read_unit(folder).input_hashes
    assert found == {name: hashlib.sha256((folder / name).read_bytes()).hexdigest() for name in sorted(READ)}


def test_files_are_listed_at_any_depth_without_hidden_and_lock_files(make_unit) -> None:
    folder = make_unit(FURTHER)
    assert list_records(folder) == ["records/deep/er/strokes.csv", "records/notes.txt", "records/visits.csv"]
    assert list_recordings(folder) == ["logs/FV-101/1.as_left.csv", "logs/stray.csv"]


def test_a_file_that_cannot_be_read_leaves_no_hashes(make_unit) -> None:
    folder: Path = make_unit({})
    (folder / "records" / "readings.csv").symlink_to("nowhere")
    assert hash_inputs(folder) is None
