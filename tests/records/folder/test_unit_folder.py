"""Finding a unit's folder."""

from __future__ import annotations

from pathlib import Path

import pytest

from kit.records import UnitError, find_unit


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
