"""The ways from a check lead to sections that there are."""

from __future__ import annotations

import pytest

from kit.basis.checks import CHECKS, CheckName
from kit.views.pieces.anchors import readings_of, section_of
from kit.views.pieces.slugs import slug
from kit.views.report.headings import titles


@pytest.mark.parametrize("check", CHECKS)
def test_every_check_has_a_section_that_shows_its_test_and_one_with_its_readings(check: CheckName) -> None:
    anchors = {slug(title) for title in titles()}
    assert {section_of(check), readings_of(check)} <= anchors
