"""What differs between two equal runs is taken out of the notebook kept as evidence."""

from __future__ import annotations

import nbformat
import pytest
from nbformat.v4 import new_code_cell, new_markdown_cell, new_notebook, new_output

from kit.runs.notebook.normalise import normalise, result_of, to_bytes

RESULT = "application/vnd.strokebook.result+json"


def executed(*outputs: nbformat.NotebookNode) -> nbformat.NotebookNode:
    """A notebook as papermill leaves it: run paths, times, marker cells, a made-up cell number."""
    times = {"papermill": {"duration": 0.1, "start_time": "2026-01-01"}, "execution": {"iopub.status.busy": "now"}}
    marker = new_markdown_cell("An Exception was encountered", metadata={"tags": ["papermill-error-cell-tag"]})
    injected = new_code_cell('unit = "/tmp/x/records.json"', metadata={"tags": ["injected-parameters"], **times})
    cell = new_code_cell("show()", outputs=list(outputs), metadata=times, id="cell")
    run = {"parameters": {"unit": "/tmp/x/records.json"}, "input_path": "/home/a/n.ipynb", "end_time": "now"}
    spec = {"name": "other", "display_name": "Mine", "language": "python"}
    return new_notebook(cells=[marker, injected, cell], metadata={"papermill": run, "kernelspec": spec})


def test_times_paths_and_marker_cells_are_gone():
    done = normalise(executed(), {"/tmp/x/records.json": "inputs/u"})
    assert [cell["id"] for cell in done.cells] == ["injected-parameters", "cell"]
    assert done.cells[0].source == 'unit = "inputs/u"'
    assert done.cells[0].metadata == {"tags": ["injected-parameters"]}
    assert done.metadata["parameters"] == {"unit": "inputs/u"}
    assert not any(word in to_bytes(done) for word in (b"/tmp", b"/home", b"now", b"2026", b"Mine"))


@pytest.mark.parametrize(
    ("found", "wanted"),
    [
        ('File "/opt/env/lib/python3.11/site-packages/kit/a.py", line 3', 'File "a.py", line 3'),
        (r'File "C:\env\Lib\kit\a.py", line 3', 'File "a.py", line 3'),
        ('File "/srv/kit/views/templates/budgets.html.j2"', 'File "budgets.html.j2"'),
        ("inputs/north/records/readings.csv: row 3", "inputs/north/records/readings.csv: row 3"),
        ("the ratio a/b and 4/20", "the ratio a/b and 4/20"),
        ("\x1b[31mred\x1b[0m <x at 0x7f00deadbeef>", "red <x at 0x0>"),
        ("File /tmp/ipykernel_12/345.py:1", "File <cell>:1"),
    ],
)
def test_a_failure_names_no_folder_of_this_machine(found: str, wanted: str):
    done = normalise(executed(new_output("error", ename="E", evalue=found, traceback=[found])), {})
    assert done.cells[-1].outputs[0].evalue == wanted
    assert done.cells[-1].outputs[0].traceback == [wanted]


def test_plain_text_goes_where_something_richer_stands_beside_it():
    rich = new_output("display_data", data={"text/html": "<p>1</p>", "text/plain": "<A at 0x7f00deadbeef>"})
    alone = new_output("display_data", data={"text/plain": "<A at 0x7f00deadbeef>"})
    done = normalise(executed(rich, alone), {})
    shown = [output.data for output in done.cells[-1].outputs]
    assert shown == [{"text/html": "<p>1</p>"}, {"text/plain": "<A at 0x0>"}]


def test_the_last_result_shown_is_the_result():
    shown = [new_output("display_data", data={RESULT: {"verdict": verdict}}) for verdict in ("fail", "pass")]
    assert result_of(executed(*shown)) == {"verdict": "pass"}


def test_without_a_result_there_is_none():
    assert result_of(executed()) is None
