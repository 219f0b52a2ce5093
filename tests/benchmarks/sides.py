"""The sides that the benchmark compares. Each returns seconds of wall and processor time for so many tags."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path

import nbformat

from kit.assessment import assess_tag
from kit.records import from_slice, tag_records, to_slice
from kit.records.unit import read_unit
from kit.runs.notebook.execute import result_bytes, run_tag
from kit.runs.notebook.packaged import TAG_REPORT, notebook_path
from kit.views.exporter import ReportExporter
from kit.views.pieces.parts import Result, bundles
from kit.views.report import sections

PROGRAMS = Path(sys.executable).parent
_NO_PARSERS = "import sys\nsys.modules['rfc3987_syntax'] = None\n"
_MEMORY = """\
from kit.views.pieces.parts import Result
rollup = dict(line.split(":") for line in open("/proc/self/smaps_rollup") if "Private_" in line)
private_kb = sum(int(value.split()[0]) for name, value in rollup.items() if name in ("Private_Clean", "Private_Dirty"))
show(Result({"private_mb": private_kb / 1024}))
"""


@dataclass(frozen=True)
class Cost:
    tags: int
    wall_s: float
    cpu_s: float

    @property
    def a_minute(self) -> float:
        return 60 * self.tags / self.wall_s

    @property
    def cpu_a_tag_s(self) -> float:
        return self.cpu_s / self.tags


def slices(unit: Path) -> dict[str, bytes]:
    """Every tag's share of the unit."""
    records = read_unit(unit)
    return {tag: to_slice(tag_records(records, tag)) for tag in records.tags}


def batch(unit: Path, outputs: Path, workers: int, tags: int) -> Cost:
    """`strokebook batch` of the whole unit, start-up, reading, writing and the unit's page included."""
    command = [PROGRAMS / "strokebook", "batch", unit, "--all", "--workers", str(workers), "--out", outputs]
    return _timed([[command]], tags, {})


def obvious_loop(folder: Path, records: dict[str, bytes], workers: int, *, with_parsers: bool) -> Cost:
    """For each tag `papermill` and then `jupyter nbconvert`, one loop a worker.

    The notebook gets the tag's slice as its unit, which spares it reading the whole folder.
    """
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "sitecustomize.py").write_text("" if with_parsers else _NO_PARSERS, encoding="utf-8")
    loops: list[list[list[object]]] = [[] for _ in range(workers)]
    for index, (tag, data) in enumerate(records.items()):
        path, done = folder / f"{index}.json", folder / f"{index}.ipynb"
        path.write_bytes(data)
        notebook = notebook_path(TAG_REPORT)
        run = [PROGRAMS / "papermill", "--no-progress-bar", notebook, done, "-p", "unit", path, "-p", "tag", tag]
        page = [PROGRAMS / "jupyter", "nbconvert", "--to", "html", "--template", "strokebook", done]
        loops[index % workers] += [run, page]
    environment = {"PYTHONPATH": os.pathsep.join([str(folder), os.environ.get("PYTHONPATH", "")])}
    return _timed(loops, len(records), environment)


def plain_python(records: dict[str, bytes]) -> Cost:
    """The same calculations, figures, sections, page and result in one process, without any notebook run."""
    exporter, notebook = ReportExporter(), nbformat.read(notebook_path(TAG_REPORT), as_version=4)
    first = next(iter(records.values()))
    _plain_page(exporter, notebook, first)  # compiles the templates
    wall, cpu = time.perf_counter(), time.process_time()
    for data in records.values():
        _plain_page(exporter, notebook, data)
    return Cost(len(records), time.perf_counter() - wall, time.process_time() - cpu)


def private_mb(tag: str, data: bytes, folder: Path, engine: str) -> float:
    """Private memory of the kernel at the end of a tag's notebook."""
    notebook = nbformat.read(notebook_path(TAG_REPORT), as_version=4)
    notebook.cells.append(nbformat.v4.new_code_cell(_MEMORY))
    path = folder / "memory.ipynb"
    nbformat.write(notebook, path)
    done = run_tag(tag, data, "inputs/bench", notebook=path, engine=engine)  # type: ignore[arg-type]
    return float(json.loads(done.result or b"")["private_mb"])


def _plain_page(exporter: ReportExporter, notebook: nbformat.NotebookNode, data: bytes) -> bytes:
    records = from_slice(data)
    assessment = assess_tag(records)
    for cell in notebook.cells:
        if cell.cell_type == "code" and "show(sections." in cell.source:
            part = getattr(sections, cell.source.partition("sections.")[2].partition("(")[0])
            cell.outputs = [_output(bundle) for bundle in bundles(part(records, assessment))]
    results = [each for each in sections.keep_result(records, assessment) if isinstance(each, Result)]
    return exporter.page(notebook).encode() + result_bytes(results[0].content)


def _output(bundle: dict[str, object]) -> nbformat.NotebookNode:
    return nbformat.NotebookNode(output_type="display_data", metadata={}, data=bundle)


def _timed(loops: list[list[list[object]]], tags: int, environment: dict[str, str]) -> Cost:
    """Run the loops side by side, each as a shell would; processor time of all that they started."""
    environment = {**os.environ, **environment}
    start, before = time.perf_counter(), os.times()
    program = "import json, subprocess, sys\nfor each in json.load(sys.stdin):\n    subprocess.run(each, check=True)\n"
    running = []
    for loop in loops:
        shell = [sys.executable, "-S", "-c", program]
        quiet = subprocess.DEVNULL
        process = subprocess.Popen(shell, env=environment, stdin=subprocess.PIPE, stdout=quiet, stderr=quiet)
        assert process.stdin is not None
        process.stdin.write(json.dumps([[str(word) for word in command] for command in loop]).encode())
        process.stdin.close()
        running.append(process)
    statuses = [process.wait() for process in running]
    if any(statuses):
        raise SystemExit("A command of the benchmark failed.")
    after = os.times()
    used = after.children_user + after.children_system - before.children_user - before.children_system
    return Cost(tags, time.perf_counter() - start, used)
