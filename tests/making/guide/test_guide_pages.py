"""The made pages of the guide are what their makers say."""

from __future__ import annotations

from kit.basis.checks import CHECKS
from tests.making.demo.stories import STORIES
from tests.making.guide import GUIDE
from tests.making.guide.demo_page import demo_page
from tests.making.guide.records_page import data_dictionary


def test_the_page_of_the_demo_unit_is_current() -> None:
    """Renew it with ``python -m tests.making.demo``."""
    assert (GUIDE / "demo.md").read_text("utf-8") == demo_page()


def test_the_page_of_the_records_is_current() -> None:
    """Renew it with ``python -m tests.making.guide.records_page``."""
    assert (GUIDE / "records.md").read_text("utf-8") == data_dictionary()


def test_every_check_stands_once_in_the_page() -> None:
    for check in CHECKS:
        assert data_dictionary().count(f"| `{check}` |") == 1


def test_every_tag_of_the_demo_unit_has_its_row() -> None:
    rows = [line for line in demo_page().splitlines() if line.startswith("| ")]
    assert all(any(line.startswith(f"| {story.tag.tag} | {story.tag.service} |") for line in rows) for story in STORIES)
