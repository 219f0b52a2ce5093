"""A batch killed at random moments; `python -m tests.benchmarks.interrupt` tries a hundred.

Its parts are tried in the ordinary run: what ends with a killed driver (forked/test_owner), the lock that goes with
it (outputs/test_lock), and the next batch going on from the journal (outputs/test_journal).
"""

from __future__ import annotations

import random
import sys
from pathlib import Path

import pytest

from tests.benchmarks.interrupt import WAYS, one_round, prepare

pytestmark = [pytest.mark.long, pytest.mark.skipif(sys.platform == "win32", reason="no such signals here")]


def test_whatever_is_killed_the_next_batch_ends_with_the_bytes_of_an_undisturbed_one(tmp_path: Path):
    """Two moments for each of driver, Ctrl-C, worker, kernel and preloaded parent."""
    ground = prepare(tmp_path)
    assert ground.after != ground.before  # there is something to interrupt
    chance = random.Random(20261124)
    for way in WAYS * 2:
        one_round(ground, way, chance)
