"""One fault tried: written into a copy of the tree, and the tests run that pass through its line."""

from __future__ import annotations

import importlib
import os
import resource
import shutil
import signal
import sys
import tempfile
import time
from dataclasses import dataclass
from multiprocessing.util import Finalize
from pathlib import Path
from typing import Literal

from tests.mutation.faults import Fault

Outcome = Literal["killed", "timed out", "survived"]

_PARTS = ("kit", "tests", "notebooks", "inputs", "pyproject.toml", "README.md", "DEVELOPERS.md", "CHANGELOG.md")
_AHEAD = ("pytest", "hypothesis", "numpy", "pandas", "pandera.pandas", "scipy.stats", "scipy.signal", "openpyxl")
_FIRST_S = 5.0  # of tests, before the rest of them is collected
_LEAST_S = 30.0  # of processor time, which does not depend on what else the machine does
_TIMES = 10.0  # longer than without the fault: it hangs
_WALL = 20.0  # times the processor time: it waits for something that does not come
_ENDED_WELL = (0, 5)  # all passed; nothing collected

_copy: Path


@dataclass(frozen=True)
class Trial:
    """What became of a fault."""

    fault: Fault
    outcome: Outcome
    tests: int


def begin(root: Path) -> None:
    """A worker: a copy of the tree, and the libraries imported before the tests are."""
    global _copy
    _copy = Path(tempfile.mkdtemp(prefix=f"mutants-{os.getppid()}-"))
    Finalize(None, _end, (_copy, os.getpid()), exitpriority=1)
    for part in _PARTS:
        if (root / part).is_dir():
            shutil.copytree(root / part, _copy / part)
        elif (root / part).exists():
            shutil.copy2(root / part, _copy / part)
    os.chdir(_copy)
    os.environ["PYTHONPATH"] = str(_copy)
    os.environ["PYTHONDONTWRITEBYTECODE"] = "1"  # a file changed and changed back has one size and one second
    os.environ["PYTEST_DISABLE_PLUGIN_AUTOLOAD"] = "1"  # no test needs one, and each costs a start
    sys.dont_write_bytecode = True
    for name in _AHEAD:
        importlib.import_module(name)


def _end(copy: Path, owner: int) -> None:
    if os.getpid() == owner:  # a child forked for the tests leaves by os._exit, and would not come here
        shutil.rmtree(copy, ignore_errors=True)


def tried(fault: Fault, tests: list[str], seconds: dict[str, float]) -> Trial:
    """Write the fault, run the tests, take it back."""
    file = _copy / fault.path
    source = file.read_bytes()
    kept = file.stat()
    file.write_bytes(fault.applied(source))
    os.utime(file, (1.0, 1.0))  # no compiled file is of that time
    try:
        return Trial(fault, _outcome(tests, seconds), len(tests))
    finally:
        file.write_bytes(source)
        os.utime(file, ns=(kept.st_atime_ns, kept.st_mtime_ns))


def _outcome(tests: list[str], seconds: dict[str, float]) -> Outcome:
    total, split = 0.0, 0
    while split < len(tests) and total < _FIRST_S:
        total += seconds[tests[split]]
        split += 1
    for part in (tests[:split], tests[split:]):
        code = _run(part, max(_LEAST_S, _TIMES * sum(seconds[each] for each in part))) if part else 0
        if code is None:
            return "timed out"
        if code not in _ENDED_WELL:
            return "killed"
    return "survived"


def _run(tests: list[str], limit_s: float) -> int | None:
    """The exit code of pytest in a child of its own; None: it took more processor time than the limit."""
    child = os.fork()
    if child == 0:
        os.setsid()
        resource.setrlimit(resource.RLIMIT_CPU, (int(limit_s), int(limit_s) + 5))
        code = 1
        try:
            code = _pytest(tests)
        finally:
            os._exit(code)
    until = time.monotonic() + _WALL * limit_s
    while time.monotonic() < until:
        done, status = os.waitpid(child, os.WNOHANG)
        if done:
            code = os.waitstatus_to_exitcode(status)
            return None if code == -signal.SIGXCPU else code
        time.sleep(0.02)
    os.killpg(child, signal.SIGKILL)
    os.waitpid(child, 0)
    return None


def _pytest(tests: list[str]) -> int:
    import pytest

    for name in [each for each in sys.modules if each.split(".")[0] in ("kit", "tests")]:
        del sys.modules[name]
    sys.path.insert(0, str(_copy))
    silent = os.open(os.devnull, os.O_WRONLY)
    os.dup2(silent, 1)
    os.dup2(silent, 2)
    imported_ahead = "ignore::pytest.PytestAssertRewriteWarning"
    return int(pytest.main(["-x", "-q", "-W", imported_ahead, "-p", "no:cacheprovider", *tests]))
