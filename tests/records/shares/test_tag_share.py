"""One tag's share of a unit's records."""

from __future__ import annotations

from pathlib import Path

import pytest

from kit.records import UnitError, read_tag, read_unit, tag_records, to_slice
from tests.records.conftest import FILES


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


def test_a_notebook_reads_a_tag_from_a_folder_or_from_its_slice(make_unit, tmp_path: Path) -> None:
    folder = make_unit(FILES)
    slice_file = tmp_path / "FV-101.json"
    slice_file.write_bytes(to_slice(read_tag(folder, "FV-101")))
    assert to_slice(read_tag(str(slice_file), "FV-101")) == slice_file.read_bytes()
    with pytest.raises(UnitError, match="holds FV-101, not FV-102"):
        read_tag(slice_file, "FV-102")
    with pytest.raises(UnitError, match="Was FV-101 meant"):
        read_tag(folder, "FV-1O1")
