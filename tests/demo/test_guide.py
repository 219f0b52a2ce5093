"""The guide page of the demo unit is what the stories say."""

from __future__ import annotations

from pathlib import Path

from kit.demo.guide import demo_page
from kit.demo.stories import STORIES

PAGE = Path(__file__).resolve().parents[2] / "notebooks" / "guide" / "demo.md"


def test_the_page_is_current() -> None:
    """Renew it with ``python -m kit.demo``."""
    assert PAGE.read_text("utf-8") == demo_page()


def test_every_tag_has_its_row() -> None:
    rows = [line for line in demo_page().splitlines() if line.startswith("| ")]
    assert all(any(line.startswith(f"| {story.tag.tag} | {story.tag.service} |") for line in rows) for story in STORIES)
