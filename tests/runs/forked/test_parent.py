"""The parent has imported all that a report needs, and has one thread."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from kit.runs.forked.learn import BASE, imported_by, imported_cold
from kit.runs.forked.owner import PARENTS
from kit.runs.forked.parent import preload_names

_AFTER_PRELOADING = """\
import json, os, sys
from kit.runs.forked.parent import preload
preload()
print(json.dumps([len(os.listdir("/proc/self/task")), sorted({"pandas", "papermill", "nbconvert"} & set(sys.modules))]))
"""


@pytest.mark.long
def test_what_a_cold_run_imports_is_preloaded() -> None:
    """Out of date? Run `python -m kit.runs.forked.learn inputs/lime-works` with these tags and commit its output."""
    _, preloaded = imported_by(preload_names())
    assert sorted(imported_cold("inputs/lime-works", ["FV-102", "FV-125", "FV-131"]) - preloaded) == []


def test_the_list_names_what_exists() -> None:
    names = list(preload_names())
    assert set(BASE) <= set(names)
    assert imported_by(names)[0] == names


def test_the_preloaded_process_has_one_thread_and_no_more_than_a_kernel_needs(tmp_path: Path) -> None:
    import os

    done = subprocess.run(
        [sys.executable, "-c", _AFTER_PRELOADING],
        env={**os.environ, **PARENTS, "IPYTHONDIR": str(tmp_path)},
        capture_output=True,
        encoding="utf-8",
        check=True,
        timeout=120,
    )
    assert json.loads(done.stdout) == [1, []]
