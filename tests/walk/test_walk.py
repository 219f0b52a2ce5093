"""From a list of tags to a signed pass, and what a bad instrument does to it: each step says itself what must hold."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.walk.walk import WALK, Desk, walk

pytestmark = pytest.mark.long


def test_the_walk_holds_from_its_first_step_to_its_last(tmp_path: Path):
    taken = [(step, typed) for step, typed in walk(Desk(tmp_path))]
    assert [step for step, _ in taken] == list(WALK)
    assert str(tmp_path) not in str([typed for _, typed in taken]), "the guide shows these"
