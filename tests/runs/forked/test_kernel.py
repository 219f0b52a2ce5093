"""Each notebook runs in a fresh process that knows nothing of another."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from kit.runs.forked.owner import own_parent
from kit.runs.notebook.execute import run_tag
from kit.runs.workers.jobs import Job
from kit.runs.workers.pool import run_jobs
from tests.small_unit import shows_result

Write = Callable[..., Path]


def result(notebook: Path, tag: str = "A") -> dict[str, Any]:
    done = run_tag(tag, b"{}", "inputs/u", notebook=notebook)
    assert done.error == ""
    content: dict[str, Any] = json.loads(done.result or b"")
    return content


def test_what_one_notebook_leaves_behind_the_next_does_not_find(notebook: Write) -> None:
    leaves = "import sys, os, builtins\nbuiltins.left = sys.left = os.environ['LEFT'] = 'left'"
    run_tag("A", b"{}", "inputs/u", notebook=notebook(leaves))
    finds = "{'found': [hasattr(builtins, 'left'), hasattr(sys, 'left'), 'LEFT' in os.environ]}"
    seen = result(notebook("import builtins, os, sys", shows_result(finds)))
    assert seen == {"found": [False, False, False]}


def test_each_notebook_has_a_process_of_its_own_forked_from_the_parent(notebook: Write) -> None:
    source = notebook("import os", shows_result("{'own': os.getpid(), 'parent': os.getppid()}"))
    first, second = result(source), result(source)
    assert first["own"] != second["own"]
    assert first["parent"] == second["parent"] == own_parent().process.pid


def test_random_numbers_are_not_the_same_in_every_kernel(notebook: Write) -> None:
    draws = "{'drawn': [random.random(), np.random.random(), int.from_bytes(os.urandom(4))]}"
    source = notebook("import os, random\nimport numpy as np", shows_result(draws))
    first, second = result(source)["drawn"], result(source)["drawn"]
    assert all(a != b for a, b in zip(first, second, strict=True))


def test_the_kernel_has_the_environment_of_now_and_not_of_the_parents_start(notebook: Write, monkeypatch) -> None:
    source = notebook("import os", shows_result("{'seen': os.environ.get('LATER')}"))
    result(source)
    monkeypatch.setenv("LATER", "yes")
    assert result(source) == {"seen": "yes"}


def test_no_history_is_kept(notebook: Write) -> None:
    source = notebook("shell = get_ipython()", shows_result("{'kept': shell.history_manager.enabled}"))
    assert result(source) == {"kept": False}


def test_an_interrupt_reaches_the_cell(notebook: Write) -> None:
    source = "import os, signal\nos.kill(os.getpid(), signal.SIGINT)\nimport time\ntime.sleep(60)"
    assert "KeyboardInterrupt" in run_tag("A", b"{}", "inputs/u", notebook=notebook(source)).error


@pytest.mark.parametrize("engine", ["fast", "plain"])
def test_what_is_printed_below_python_reaches_the_page(notebook: Write, engine: Any, monkeypatch) -> None:
    monkeypatch.delenv("PYTEST_CURRENT_TEST")  # under pytest ipykernel leaves such output alone
    source = notebook("import os, time\n_ = os.write(1, b'low level')\ntime.sleep(0.5)")
    done = run_tag("A", b"{}", "inputs/u", notebook=source, engine=engine)
    assert b"low level" in done.html


def test_all_workers_share_the_parent_that_the_batch_started(notebook: Write) -> None:
    from kit.runs.forked.owner import shared_parent

    source = notebook("import os, time\ntime.sleep(0.2)", shows_result("{'parent': os.getppid()}"))
    jobs = [Job(f"T{number}", b"{}", "inputs/u", 60, source) for number in range(4)]
    with shared_parent():
        wanted = own_parent().process.pid
        seen = {json.loads(run.result or b"{}").get("parent") for _, run in run_jobs(jobs, 2)}
    assert seen == {wanted}
