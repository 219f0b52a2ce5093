"""The made pages of the guide are what their makers say."""

from __future__ import annotations

from dataclasses import fields
from pathlib import Path

from kit.basis.checks import CHECKS
from kit.basis.evidence import NEEDS
from kit.basis.settings import SCATTERS, UnitSettings
from kit.basis.unit_keys import EVIDENCE_KEYS, UNIT_KEYS
from kit.records.registers.unit_toml import read_settings
from tests.making.demo.stories import STORIES
from tests.making.guide import GUIDE
from tests.making.guide.demo_page import demo_page
from tests.making.guide.records_page import data_dictionary
from tests.making.guide.unit_toml_page import EXAMPLE, unit_toml_page


def test_the_page_of_the_demo_unit_is_current() -> None:
    """Renew it with ``python -m tests.making.demo``."""
    assert (GUIDE / "demo.md").read_text("utf-8") == demo_page()


def test_the_page_of_the_records_is_current() -> None:
    """Renew it with ``python -m tests.making.guide.records_page``."""
    assert (GUIDE / "records.md").read_text("utf-8") == data_dictionary()


def test_the_page_of_unit_toml_is_current() -> None:
    """Renew it with ``python -m tests.making.guide.unit_toml_page``."""
    assert (GUIDE / "unit-toml.md").read_text("utf-8") == unit_toml_page()


def test_the_example_of_unit_toml_is_read_and_holds_every_kind_of_table() -> None:
    settings = read_settings(Path("example"), EXAMPLE.encode())
    modulating, on_off = settings.limit_sets.values()
    assert (modulating.tests, on_off.tests) == (settings.tests, ("strokes", "fail_tests:signal_open"))
    assert modulating.evidence == {"inaccuracy": {"commands": 3, "gap_pct": 50.0}}
    assert set(settings.scatter) == set(SCATTERS)
    assert all((settings.prechecks, settings.own_columns))


def test_every_setting_of_a_unit_is_a_key_of_unit_toml() -> None:
    assert {each.name for each in fields(UnitSettings)} - {"unit", "limit_sets"} == UNIT_KEYS.keys() - {"limits"}


def test_every_need_has_its_key_and_every_key_is_needed() -> None:
    assert {need for needs in NEEDS.values() for need in needs} == EVIDENCE_KEYS.keys()
    assert all(EVIDENCE_KEYS[need].holds(value) for needs in NEEDS.values() for need, value in needs.items())


def test_every_check_stands_once_in_the_page() -> None:
    for check in CHECKS:
        assert data_dictionary().count(f"| `{check}` |") == 1


def test_every_tag_of_the_demo_unit_has_its_row() -> None:
    rows = [line for line in demo_page().splitlines() if line.startswith("| ")]
    assert all(any(line.startswith(f"| {story.tag.tag} | {story.tag.service} |") for line in rows) for story in STORIES)
