"""The last cell of a tag's notebook: whoever runs all cells by hand finds the page in outputs/ and its name here."""

from __future__ import annotations

import html
import os
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

if TYPE_CHECKING:
    from kit.runs.notebook.source import Source

_OPEN_NOTEBOOK: Final = "JPY_SESSION_NAME"  # in which Jupyter tells a kernel the notebook that it is of
_INJECTED: Final = "# Parameters"
_UNUSABLE: Final = 2
_NOT_SAVED: Final = (
    "No page was written: what ran here is not {name} as it is saved. Save the notebook, restart its kernel and run "
    "all cells. A notebook under another name: strokebook report --notebook FILE."
)


def write_page(unit: str, tag: str) -> None:
    """Write the tag's page, evidence and result to outputs/, as ``strokebook report`` does, and say where they are.

    It is that very command on the notebook as it is saved, in a kernel of its own, under the same lock, journal and
    manifest: what cells left behind in this kernel, in whatever order they ran, is not on the page. Where the cells
    that ran here are not those that are saved, nothing is written, and that is said. Under a batch, which hands the
    tag's records over as a file and keeps the page itself, it does nothing.

    Raises
    ------
    RunError
        If the outputs folder cannot be used.
    """
    if Path(unit).is_file():
        return
    from kit.records import find_unit
    from kit.runs.notebook.source import read_source

    folder = find_unit(unit).absolute()
    notebook = _open_notebook()
    source = read_source(notebook)
    if not is_what_ran(source, _ran()):
        _say(html.escape(_NOT_SAVED.format(name=notebook.name)))
        return
    base = folder.parents[1] if folder.parent.name == "inputs" else Path.cwd()
    page, told = _report(folder, tag, base / "outputs" / folder.name, notebook)
    address = Path(os.path.relpath(page)).as_posix()
    _say(f'{html.escape(told)}<br/>Page: <a href="{html.escape(address)}" target="_blank">{html.escape(address)}</a>')


def is_what_ran(source: Source, ran: Sequence[str]) -> bool:
    """Whether the cells that ran last are those of a notebook, in its order; unit and tag may be others."""
    from kit.basis.notebook_mark import without_given

    wanted = [str(cell["source"]) for cell in source.cells if cell["cell_type"] == "code"]
    found = [text for text in ran if text.strip() and not text.startswith(_INJECTED)]
    pairs = [[without_given(text).rstrip() for text in texts] for texts in (wanted, found[-len(wanted) :])]
    return pairs[0] == pairs[1]


def _report(folder: Path, tag: str, outputs: Path, notebook: Path) -> tuple[Path, str]:
    """The page, and what the command said of it."""
    from kit.runs.errors import RunError

    options = ["--out", str(outputs), "--notebook", str(notebook)]
    command = [sys.executable, "-m", "kit.cli", "report", str(folder), tag, *options]
    done = subprocess.run(command, capture_output=True, encoding="utf-8", check=False)
    lines = done.stdout.splitlines()
    if done.returncode >= _UNUSABLE or len(lines) < 2:
        raise RunError(done.stderr.strip().removeprefix("strokebook: ") or f"exit status {done.returncode}")
    return Path(lines[-2]), lines[-1]


def _open_notebook() -> Path:
    """The file of the notebook that this kernel runs; where nobody tells it, the one that the command would run."""
    from kit.runs.notebook.source import choose

    told = Path(os.environ.get(_OPEN_NOTEBOOK, ""))
    return told if told.suffix == ".ipynb" and told.is_file() else choose(None).path


def _ran() -> list[str]:
    from IPython.core.getipython import get_ipython

    shell: Any = get_ipython()
    return [str(text) for text in shell.history_manager.input_hist_raw]


def _say(words: str) -> None:
    from IPython.display import HTML, display

    display(HTML(f"<p>{words}</p>"))  # type: ignore[no-untyped-call]
