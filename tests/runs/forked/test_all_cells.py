"""Cells that one request asks for: the evidence is what they leave when each is asked for alone."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import nbformat
import pytest
from nbclient import NotebookClient

from kit.runs.forked.quick_client import ForkClient
from kit.runs.notebook.execute import run_tag
from tests.small_unit import shows_result

Write = Callable[..., Path]
pytestmark = pytest.mark.usefixtures("preloaded")

CASES = {
    "every kind of output": (
        "print('a'); 1 + 1",
        "import sys; print('b', file=sys.stderr)",
        "  ",
        "from IPython.display import Markdown, clear_output, display, update_display",
        "display(Markdown('x'), display_id='d')",
        "update_display(Markdown('y'), display_id='d')",
        "print('c'); clear_output(); print('d')",
        "print('e'); clear_output(wait=True)",
        "In, Out",
    ),
    "a cell that fails": ("print('a')", "display(1); 1 / 0", "print('never')"),
    "a cell that is no Python": ("print('a')", "1 +", "print('never')"),
    "a cell that ends the interpreter": ("print('a')", "import sys; sys.exit(2)", "print('never')"),
    "cells that await": ("import asyncio", "await asyncio.sleep(0.01); print('b')", "print('c')"),
    "a task that goes on": (
        "import asyncio\nasync def tell():\n    await asyncio.sleep(0)\n    print('told')",
        "task = asyncio.get_event_loop().create_task(tell())",
        "import time\ntask.done()",
    ),
    "a thread that tells late": (
        "import threading, time\ndef tell():\n    time.sleep(0.3)\n    print('late')",
        "threading.Thread(target=tell).start()",
        "time.sleep(0.6); print('b')",
    ),
    "a process that ends": ("print('a'); 1 + 1", "display(2)", "import os; os._exit(0)", "print('never')"),
}


@pytest.mark.parametrize("cells", CASES.values(), ids=CASES)
def test_the_evidence_is_the_same_from_both_engines(notebook: Write, cells: tuple[str, ...]) -> None:
    source = notebook(*cells)
    fast = run_tag("A", b"{}", "inputs/u", notebook=source)
    assert fast == run_tag("A", b"{}", "inputs/u", notebook=source, engine="plain")
    assert b"injected-parameters" in fast.ipynb


def test_cells_after_one_that_may_fail_run_too(notebook: Write) -> None:
    path = notebook("1 / 0", "print('later')", "2 / 0", "print('never')")
    content = nbformat.read(path, as_version=4)
    content.cells[-4].metadata["tags"] = ["raises-exception"]
    nbformat.write(content, path)
    fast = run_tag("A", b"{}", "inputs/u", notebook=path)
    assert b"later" in fast.html
    assert b"never" not in fast.html
    assert fast == run_tag("A", b"{}", "inputs/u", notebook=path, engine="plain")


def test_the_time_limit_is_told_of_the_cell_that_took_it(notebook: Write) -> None:
    """Also where a cell keeps every other thread of its kernel waiting."""
    waits = "import re\nre.match('(a+)+$', 'a' * 40 + 'b')"
    done = run_tag("A", b"{}", "inputs/u", notebook=notebook("display('shown')", waits, "1"), time_limit_s=3)
    assert "did not end within 3 s" in done.error
    shown = nbformat.reads(done.ipynb.decode(), as_version=4).cells[-3:]
    assert [[output.output_type for output in cell.outputs] for cell in shown] == [
        ["display_data"],
        ["error"],
        [],
    ]


def test_no_cell_is_asked_for_alone(notebook: Write, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(client: NotebookClient, *_: Any, **__: Any) -> None:
        raise AssertionError("asked for alone")

    monkeypatch.setattr(ForkClient, "execute_cell", refuse)
    assert run_tag("A", b"{}", "inputs/u", notebook=notebook("1", shows_result("{'tag': tag}"))).error == ""
