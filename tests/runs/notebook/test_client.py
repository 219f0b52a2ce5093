"""Hung, stopped and dead kernels, with either engine: the page says what happened and shows what ran."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from kit.runs.notebook.execute import run_tag

Write = Callable[..., Path]
KILLED = "import os, signal\nos.kill(os.getpid(), signal.SIGKILL)"
STOPPED = "import os, signal\nos.kill(os.getpid(), signal.SIGSTOP)"
ENDED = "import os\nos._exit(0)"
DEAD = [(KILLED, "Process ended"), (ENDED, "Process ended"), ("import sys\nsys.exit(2)", "SystemExit: 2")]
HUNG = [("while True:\n    pass", "within 3 s"), (STOPPED, "within 3 s"), ("import time\ntime.sleep(60)", "within 3 s")]
ENDS = [("fast", *end) for end in (*DEAD, *HUNG)] + [("plain", *end) for end in (*DEAD, HUNG[0])]


@pytest.mark.parametrize(
    ("engine", "source", "said"),
    [*ENDS, *(pytest.param("plain", *end, marks=pytest.mark.long) for end in HUNG[1:])],
)
def test_the_page_says_what_happened_and_keeps_what_ran(notebook: Write, engine: Any, source: str, said: str) -> None:
    path = notebook("print('ran')", source, "print('never')")
    limit_s = 3 if (source, said) in HUNG else 60
    done = run_tag("A", b"{}", "inputs/u", notebook=path, time_limit_s=limit_s, engine=engine)
    assert done.result is None
    assert said in done.error
    assert b"This report is incomplete" in done.html
    assert b"ran\n" in done.html
    assert b"never\n" not in done.html


def test_the_time_limit_is_for_the_whole_notebook(notebook: Write) -> None:
    """Eight steps of half a second, none of which alone would break a limit of 2 s."""
    done = run_tag("A", b"{}", "inputs/u", notebook=notebook(*["import time\ntime.sleep(0.5)"] * 8), time_limit_s=2)
    assert "did not end within 2 s" in done.error
