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


@pytest.fixture
def project(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A project without a unit, and the working folder in it."""
    (tmp_path / "inputs").mkdir()
    monkeypatch.chdir(tmp_path)
    return tmp_path


def lay(folder: Path) -> Path:
    folder.mkdir(parents=True)
    (folder / "unit.toml").write_text("")
    return folder


@pytest.mark.parametrize("asked", [None, "", "  "])
def test_without_a_name_the_only_unit_is_meant(project: Path, asked: str | None) -> None:
    with pytest.raises(UnitError, match=r"Say which unit\. There is no unit in inputs/ yet"):
        find_unit(asked)
    unit = lay(project / "inputs" / "a")
    assert find_unit(asked).resolve() == unit.resolve()


def test_a_path_is_the_unit_itself(project: Path) -> None:
    unit = lay(project / "elsewhere" / "b")
    assert find_unit(unit) == unit
    assert find_unit("elsewhere/b").resolve() == unit.resolve()


def test_a_folder_without_settings_is_told_from_one_that_is_not_there(project: Path) -> None:
    (project / "inputs" / "bare").mkdir()
    with pytest.raises(UnitError, match=r"bare has no unit\.toml\. A unit's folder needs one\. There is no unit"):
        find_unit("bare")
    with pytest.raises(UnitError, match=r"There is no unit other\. There is no unit in inputs/ yet\."):
        find_unit("other")
    with pytest.raises(UnitError, match="There is no unit"):
        find_unit(project / "other")


def test_the_nearest_inputs_folder_with_a_unit_counts(project: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    lay(project / "inputs" / "far")
    near = lay(project / "below" / "inputs" / "near")
    (project / "below" / "notebooks" / "inputs").mkdir(parents=True)
    monkeypatch.chdir(project / "below" / "notebooks")
    assert find_unit(None).resolve() == near.resolve()
    assert find_unit("far").resolve() == (project / "inputs" / "far").resolve()
