"""The walk's page tells the steps that the walk's test takes."""

from __future__ import annotations

import re

from tests.making.guide import GUIDE, walk_page
from tests.making.guide.walk_page import LARGEST_BYTES, PAGE, PICTURES, shortened
from tests.walk.walk import WALK


def test_the_page_tells_each_step_in_order_and_names_its_command() -> None:
    """Renew it with ``python -m tests.making.guide.walk_page``."""
    page = PAGE.read_text("utf-8")
    assert f"`python -m {walk_page.__name__}`" in page
    assert page.startswith(walk_page.INTRODUCTION)
    sections = re.findall(r"^## \d+\. (.*)\n\n(.*)\n", page, flags=re.MULTILINE)
    assert sections == [(step.title, step.told) for step in WALK]


def test_every_picture_is_there_small_and_shown_once() -> None:
    page = PAGE.read_text("utf-8")
    assert [step.picture for step in WALK if step.picture] == list(PICTURES)
    for step in WALK:
        assert page.count(f"![{step.caption}]({step.picture})") == bool(step.picture)
    assert all((GUIDE / name).stat().st_size <= LARGEST_BYTES for name in PICTURES)


def test_the_page_knows_no_machine_and_no_key() -> None:
    page = PAGE.read_text("utf-8")
    assert not re.search(r"[ (\"=]/[a-z]+/", page)
    assert set(re.findall(r"SHA256:(\S+)", page)) == {"...:"}
    assert not re.search(r"[0-9a-f]{12}", page)


def test_a_long_answer_keeps_its_first_and_last_lines() -> None:
    assert shortened("a\nb\n") == ["a", "b"]
    lines = shortened("\n".join(map(str, range(40))))
    assert lines == [*map(str, range(9)), "...", "37", "38", "39"]
    assert shortened("x" * 200) == ["x" * 116 + " ..."]
    assert shortened(f"key SHA256:abc/+9: {'0f' * 32}.") == ["key SHA256:...: ...."]
