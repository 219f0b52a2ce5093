"""Report, unit's page and the page of a notebook of one's own, by the rules of axe-core."""

from __future__ import annotations

from typing import Any

import pytest

from tests.browser.test_every_page import PAGES, WIDTHS, named
from tests.views.accessible import violations


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("name", [named(name) for name in PAGES])
def test_a_page_breaks_no_rule(open_page: Any, demo_page: Any, name: str, width: int, scheme: str) -> None:
    page = open_page(demo_page(name), viewport={"width": width, "height": 900}, color_scheme=scheme)
    assert violations(page) == []


@pytest.mark.parametrize("name", [named(name) for name in PAGES])
def test_a_printed_page_can_be_read(open_page: Any, demo_page: Any, name: str) -> None:
    page = open_page(demo_page(name), viewport={"width": 688, "height": 972}, color_scheme="dark")
    page.emulate_media(media="print", color_scheme="dark")
    assert [each for each in violations(page) if each.startswith("color-contrast")] == []
