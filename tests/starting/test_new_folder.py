"""The folder of a new unit: every key explained, every limit a placeholder, nothing overwritten."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest

from kit.basis.checks import CHECKS
from kit.basis.unit_keys import (
    CHANNEL_KEYS,
    EVIDENCE_KEYS,
    LIMIT_KEYS,
    RECORDING_KEYS,
    SCATTER_KEYS,
    SET_KEYS,
    SWITCH_KEYS,
    TIME_KEYS,
    UNIT_KEYS,
    forms_of,
)
from kit.records import read_unit
from kit.records.registers.unit_toml import read_settings
from kit.starting.folder import NewUnitError, lay_down
from kit.starting.unit_file import unit_toml
from kit.starting.usual_limits import RECORDED_LIMITS, USUAL_LIMITS

EVERY_KEY = {
    **UNIT_KEYS,
    **SET_KEYS,
    **LIMIT_KEYS,
    **EVIDENCE_KEYS,
    **SCATTER_KEYS,
    **RECORDING_KEYS,
    **TIME_KEYS,
    **CHANNEL_KEYS,
    **SWITCH_KEYS,
}


def test_every_key_is_explained():
    text = " ".join(line.removeprefix("#").strip() for line in unit_toml("north").splitlines())
    for name, key in EVERY_KEY.items():
        if key.kind != "tables":
            assert key.about in text, name


def test_every_limit_waits_to_be_confirmed_and_confirming_is_deleting_the_word():
    text = unit_toml("north")
    waiting = read_settings(Path("north"), text.encode())
    limits = [limit for one in waiting.limit_sets.values() for limit in one.limits.values()]
    assert len(limits) == sum(map(len, USUAL_LIMITS.values()))
    assert all(limit.placeholder_in for limit in limits)
    confirmed = read_settings(Path("north"), text.replace(", placeholder = true", "").encode())
    assert not any(limit.placeholder_in for one in confirmed.limit_sets.values() for limit in one.limits.values())


def test_every_line_that_says_nothing_can_be_made_to_say_it():
    """Each commented key, with its # taken away, is TOML that is read."""
    lines = []
    for line in unit_toml("north").splitlines():
        said = re.fullmatch(r"# (\[+[a-z.]+\]+|[a-z_]+ = .+)", line)
        lines.append(said[1] if said else line)
    text = "\n".join(lines)
    settings = read_settings(Path("north"), text.encode())
    assert tomllib.loads(text)["recordings"][0]["files"] == "logs/*/*.txt"
    assert settings.coverage_probability == 0.9545
    assert settings.scatter["position"].value == 0.1
    for name in USUAL_LIMITS:
        assert {each.check for each in RECORDED_LIMITS} <= settings.limit_sets[name].limits.keys()


@pytest.mark.parametrize("name", USUAL_LIMITS)
def test_a_usual_limit_has_a_form_of_its_check_and_each_other_check_is_named(name: str):
    usual = [*USUAL_LIMITS[name], *RECORDED_LIMITS]
    assert all(each.form in forms_of(CHECKS[each.check]) for each in usual)
    assert len({each.check for each in usual}) == len(usual)
    text = unit_toml("north").partition(f"[limits.{name}]")[2]
    assert all(f"{check} " in text.replace("\n# ", " ") for check in CHECKS)


@pytest.mark.parametrize("title", ['No. "1"', "back\\slash", "Übersee", "a\x7fb"])
def test_any_title_is_written_as_toml(title: str):
    assert read_settings(Path("x"), unit_toml(title).encode()).title == title


def test_the_folder_holds_what_a_unit_needs_and_nothing_open(tmp_path: Path):
    names = lay_down(tmp_path / "north", rows=[{"tag": "FV-1", "command_range": "4-20 mA", "fail_action": "closed"}])
    assert names == ("unit.toml", "tags.csv", "instruments.csv", "CAUTIONS.md", "READ-ME.md")
    assert {each.name for each in (tmp_path / "north").iterdir() if each.is_dir()} == {"records", "logs"}
    unit = read_unit(tmp_path / "north")
    assert list(unit.tags) == ["FV-1"]
    assert not unit.problems
    assert "Before motion" in (tmp_path / "north/CAUTIONS.md").read_text(encoding="utf-8")


def test_nothing_is_written_into_a_folder_that_holds_something(tmp_path: Path):
    (tmp_path / "mine.txt").write_text("mine", encoding="utf-8")
    with pytest.raises(NewUnitError, match="is not empty"):
        lay_down(tmp_path)
    with pytest.raises(NewUnitError, match="is a file"):
        lay_down(tmp_path / "mine.txt")
    assert [path.name for path in tmp_path.iterdir()] == ["mine.txt"]
