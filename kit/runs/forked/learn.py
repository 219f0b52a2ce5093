"""Learn what the parent has to preload: ``python -m kit.runs.forked.learn UNIT TAG... > preload.txt``.

Runs each tag's notebook in a kernel of its own, notes every module that they imported, and prints those that
bring all of them in. Give a tag with typed readings and one with a recording: each imports what the other
does not. A test says when the list has fallen behind.
"""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
from collections.abc import Iterable
from pathlib import Path
from typing import Final

import nbformat

from kit.records import find_unit, read_unit, tag_records, to_slice
from kit.runs.notebook.execute import run_tag
from kit.runs.notebook.packaged import TAG_REPORT, notebook_path

BASE: Final = ("kit.runs.forked.kernel", "kit.records", "kit.assessment.tag", "kit.views.report.sections")
_FIRST: Final = ("kit", "ipykernel", "IPython")  # what these bring in need not be listed
_OF_THE_COLD_RUN: Final = ("__main__", "ipykernel_launcher", "pydev_umd")
_RESULT: Final = (
    "import json, sys\nfrom kit.views.pieces.parts import Result\nshow(Result({'modules': sorted(sys.modules)}))"
)
_PRELOADS: Final = """\
import contextlib, importlib, json, sys
kept = []
for name in json.load(sys.stdin):
    if name not in sys.modules:
        with contextlib.suppress(Exception):
            importlib.import_module(name)
            kept.append(name)
print(json.dumps([kept, sorted(sys.modules)]))
"""


def imported_cold(unit: str, tags: Iterable[str]) -> set[str]:
    """The modules that a kernel of its own has imported by the end of any of these tags' notebooks."""
    records = read_unit(find_unit(unit))
    return {name for tag in tags for name in _imported(unit, tag, to_slice(tag_records(records, tag)))}


def _imported(unit: str, tag: str, records: bytes) -> set[str]:
    notebook = nbformat.read(notebook_path(TAG_REPORT), as_version=4)  # type: ignore[no-untyped-call]
    notebook.cells.append(nbformat.v4.new_code_cell(_RESULT))  # type: ignore[no-untyped-call]
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "probe.ipynb"
        nbformat.write(notebook, path)  # type: ignore[no-untyped-call]
        done = run_tag(tag, records, unit, notebook=path, engine="plain")
    if done.result is None:
        raise SystemExit(f"The cold run failed: {done.error}")
    return {name for name in json.loads(done.result)["modules"] if name not in _OF_THE_COLD_RUN}


def imported_by(names: Iterable[str]) -> tuple[list[str], set[str]]:
    """Those of the modules that were not there when their turn came, and all that were there in the end."""
    program = [sys.executable, "-P", "-c", _PRELOADS]
    done = subprocess.run(program, input=json.dumps(list(names)), capture_output=True, encoding="utf-8", check=True)
    kept, present = json.loads(done.stdout)
    return kept, set(present)


def main(unit: str, *tags: str) -> None:
    """Print the list."""
    cold = imported_cold(unit, tags)
    ordered = sorted(cold, key=lambda name: (name.partition(".")[0] not in _FIRST, name))
    kept, _ = imported_by([*BASE, *ordered])
    print("# What a report's cells import, as a cold run showed it. Made by kit/runs/forked/learn.py.")
    print("\n".join(kept))


if __name__ == "__main__":
    main(*sys.argv[1:])
