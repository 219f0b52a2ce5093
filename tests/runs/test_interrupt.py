"""A batch killed at random moments; `python -m tests.benchmarks.interrupt` tries a hundred."""

from __future__ import annotations

import random
import sys
from pathlib import Path

import pytest

from tests.benchmarks.interrupt import WAYS, one_round, prepare

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="no such signals here")


def test_a_batch_that_was_killed_is_gone_on_with_to_the_same_bytes(tmp_path: Path):
    """One moment of a small one, in the ordinary run of the tests."""
    ground = prepare(tmp_path, tags=3)
    one_round(ground, "driver", random.Random(20261124))


@pytest.mark.long
def test_whatever_is_killed_the_next_batch_ends_with_the_bytes_of_an_undisturbed_one(tmp_path: Path):
    """Two moments for each of driver, Ctrl-C, worker, kernel and preloaded parent."""
    ground = prepare(tmp_path)
    assert ground.after.keys() > ground.before.keys()
    chance = random.Random(20261124)
    for way in WAYS * 2:
        one_round(ground, way, chance)
