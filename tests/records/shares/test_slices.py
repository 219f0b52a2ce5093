"""Slices: a tag's records as bytes and back."""

from __future__ import annotations

import io
import json
import zipfile
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.basis.recording import Segment
from kit.basis.records import TagRecords
from kit.records import UnitError, from_slice, read_unit, tag_records, to_slice
from kit.records.shares.slices import cells_of
from tests.records.conftest import FILES, MakeUnit


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


def test_bounds_come_back_with_their_rows(make_unit) -> None:
    strokes = "tag,visit,direction,time_s\nFV-101,1,open,>60\nFV-101,1,open,did not open\n"
    share = tag_records(read_unit(make_unit({**FILES, "records/strokes.csv": strokes})), "FV-101")
    back = from_slice(to_slice(share)).tables["strokes"]
    assert back["time_s"].tolist() == [60.0, np.inf]
    assert back.bounded("time_s", "above").tolist() == [True, False]
    assert back.bounded("time_s", "never").tolist() == [False, True]


def test_bytes_that_are_no_slice_are_an_error() -> None:
    with pytest.raises(UnitError, match="holds no tag's records"):
        from_slice(b"{}")


RECORDED = "time_s,command_mA,position_pct\n0,4,0\n1,4,0\n2,4,0.5\n"


def full(make_unit: MakeUnit) -> TagRecords:
    """A share of everything that a tag may have."""
    files = {
        **FILES,
        "unit.toml": '[limits.modulating]\ninaccuracy = { max = 1.5, min = -1, source = "A", revision = "2" }\n'
        'tests = ["readings"]\n',
        "logs/FV-101/1.as_left.a.csv": RECORDED,
        "logs/FV-101/1.as_left.b.csv": "time_s,command_mA\n0,4\n",
        "records/segments.csv": "tag,visit,log,from_s,to_s,what\nFV-101,1,a,0,2,rest\n",
    }
    return tag_records(read_unit(make_unit(files)), "FV-101")


def test_every_part_of_a_share_comes_back(make_unit) -> None:
    share = full(make_unit)
    back = from_slice(to_slice(share))
    for name in ("settings", "tag", "instruments", "visits", "problems", "input_hashes"):
        assert getattr(back, name) == getattr(share, name)
    assert share.settings.limit_sets["modulating"].limits["inaccuracy"].minimum == -1.0
    used, unused = back.recordings
    assert used.recording is not None
    assert used.recording.position_pct.tolist() == [0.0, 0.0, 0.5]
    assert unused.recording is None
    assert unused.why_not != ""
    assert [replace(each, recording=None) for each in back.recordings] == [
        replace(each, recording=None) for each in share.recordings
    ]
    assert used.segments == (Segment("rest", 0.0, 2.0, "1", "as_left"),)


def test_the_same_records_give_the_same_bytes(make_unit) -> None:
    assert to_slice(full(make_unit)) == to_slice(full(make_unit))


def test_a_slice_holds_samples_and_no_file(make_unit) -> None:
    with zipfile.ZipFile(io.BytesIO(to_slice(full(make_unit)))) as archive:
        assert archive.namelist() == ["records.json", "logs/FV-101/1.as_left.a.csv"]
        assert b"time_s,command_mA" not in archive.read("logs/FV-101/1.as_left.a.csv")


def test_without_recordings_a_slice_is_text(make_unit) -> None:
    data = to_slice(tag_records(read_unit(make_unit(FILES)), "FV-101"))
    assert json.loads(data)["tag"]["tag"] == "FV-101"


@pytest.mark.parametrize("data", [b"", b"[]", b"PK nothing", b'{"format": "strokebook slice 1"}', b"\xff"])
def test_other_bytes_are_refused(data: bytes) -> None:
    with pytest.raises(UnitError, match="Make it again, or name a unit"):
        from_slice(data)


@given(values=st.lists(st.floats()))
def test_numbers_that_json_does_not_know_survive_in_cells(values: list[float]) -> None:
    cells = cells_of(np.array(values, dtype=float))
    assert json.loads(json.dumps(cells, allow_nan=False)) == cells
    again = [float("nan") if cell is None else float(cell) for cell in cells]
    np.testing.assert_array_equal(again, values)
