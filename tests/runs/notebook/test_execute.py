"""One notebook, run in a process of its own: bytes in, bytes out."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable
from pathlib import Path

import nbformat
import pytest

from kit.runs.errors import RunError
from kit.runs.notebook.execute import failed_run, run_tag, run_unit_page
from tests.small_unit import shows_result

Write = Callable[..., Path]


def outputs(ipynb: bytes) -> list[nbformat.NotebookNode]:
    notebook = nbformat.reads(ipynb.decode(), as_version=4)
    return [output for cell in notebook.cells for output in cell.get("outputs", [])]


def test_the_result_is_what_the_notebook_computed_unrounded(notebook: Write):
    source = notebook(shows_result("{'tag': tag, 'value': 0.1 + 0.2, 'no': None}"))
    done = run_tag("A", b"{}", "inputs/u", notebook=source)
    assert done.error == ""
    assert done.result is not None
    assert json.loads(done.result) == {"tag": "A", "value": 0.1 + 0.2, "no": None}


def test_the_notebook_reads_exactly_the_bytes_that_were_handed_in(notebook: Write):
    source = notebook("from pathlib import Path", shows_result("{'read': Path(unit).read_text()}"))
    done = run_tag("A", b'{"row": 1}', "inputs/u", notebook=source)
    assert done.result is not None
    assert json.loads(done.result) == {"read": '{"row": 1}'}


def test_neither_page_nor_evidence_knows_where_the_slice_lay(notebook: Write):
    done = run_tag("A", b"{}", "inputs/north", notebook=notebook("print(unit)", "open(unit + '.absent')"))
    for data in (done.html, done.ipynb, done.error.encode()):
        assert b"strokebook-" not in data
    assert b"inputs/north\\n" in done.ipynb
    assert "inputs/north.absent" in done.error


def test_two_runs_give_the_same_bytes(notebook: Write):
    source = notebook("object()", "1/0")
    assert run_tag("A", b"{}", "inputs/u", notebook=source) == run_tag("A", b"{}", "inputs/u", notebook=source)


@pytest.mark.parametrize("tag", ["FV{1}", 'a"b', "<b>&", "Ω\n1", "C:\\x"])
def test_an_awkward_tag_reaches_the_notebook_as_it_is(notebook: Write, tag: str):
    done = run_tag(tag, b"{}", "inputs/u", notebook=notebook(shows_result("{'tag': tag}")))
    assert done.result is not None
    assert json.loads(done.result) == {"tag": tag}


def test_the_kernel_is_this_interpreter_whatever_python3_means_to_jupyter(notebook: Write, tmp_path: Path, monkeypatch):
    spec = tmp_path / "jupyter" / "kernels" / "python3"
    spec.mkdir(parents=True)
    wrong = {"argv": ["/nowhere/python", "{connection_file}"], "display_name": "Wrong", "language": "python"}
    (spec / "kernel.json").write_text(json.dumps(wrong), encoding="utf-8")
    monkeypatch.setenv("JUPYTER_PATH", str(tmp_path / "jupyter"))
    done = run_tag("A", b"{}", "inputs/u", notebook=notebook("import sys", shows_result("{'python': sys.executable}")))
    assert done.result is not None
    assert json.loads(done.result) == {"python": sys.executable}


def test_the_users_start_up_files_do_not_reach_the_notebook(notebook: Write, tmp_path: Path, monkeypatch):
    startup = tmp_path / "ipython" / "profile_default" / "startup"
    startup.mkdir(parents=True)
    (startup / "a.py").write_text("unwanted = 1", encoding="utf-8")
    monkeypatch.setenv("IPYTHONDIR", str(tmp_path / "ipython"))
    done = run_tag("A", b"{}", "inputs/u", notebook=notebook(shows_result("{'seen': 'unwanted' in globals()}")))
    assert done.result is not None
    assert json.loads(done.result) == {"seen": False}


@pytest.mark.parametrize(
    ("source", "said"),
    [
        ("raise ValueError('no such row')", "ValueError: no such row"),
        ("import os\nos._exit(3)", "Process ended"),
        ("import time\ntime.sleep(60)", "did not end within 5 s"),
        ("import sys\nsys.exit(2)", "SystemExit: 2"),
        ("get_ipython().showtraceback = lambda *_, **__: None\n1/0", "ZeroDivisionError: division by zero"),
    ],
)
def test_a_failure_is_told_and_the_cells_before_it_are_kept(notebook: Write, source: str, said: str):
    """papermill alone records a dead kernel and a time-out as completed cells."""
    limit_s = 5 if "5 s" in said else 60
    path = notebook("print('ran')", source, "print('never')")
    done = run_tag("A", b"{}", "inputs/u", notebook=path, time_limit_s=limit_s)
    shown = outputs(done.ipynb)
    assert done.result is None
    assert said in done.error
    assert shown[0].text == "ran\n"
    assert any(output.output_type == "error" for output in shown)
    assert b"never\\n" not in done.ipynb.replace(b"print('never')", b"")
    assert b"This report is incomplete" in done.html


def test_a_notebook_that_leaves_no_result_has_failed(notebook: Write):
    page = shows_result("{'verdict': 'pass'}").replace("strokebook.result", "strokebook.other")
    done = run_tag("A", b"{}", "inputs/u", notebook=notebook(page))
    assert done.result is None
    assert "left no result" in done.error
    assert b"This report is incomplete" in done.html


@pytest.mark.parametrize(
    ("given", "wanted", "said"),
    [
        ("strokebook.page", "strokebook.other", "showed no page one"),
        ("'tag': tag", "'tag': 'B'", "left the result of B"),
    ],
)
def test_no_verdict_is_taken_from_a_notebook_without_page_one_or_with_the_result_of_another_tag(
    notebook: Write, given: str, wanted: str, said: str
):
    source = shows_result("{'tag': tag, 'verdict': 'pass'}")
    assert run_tag("A", b"{}", "inputs/u", notebook=notebook(source)).result is not None
    done = run_tag("A", b"{}", "inputs/u", notebook=notebook(source.replace(given, wanted)))
    assert done.result is None
    assert said in done.error
    assert b"This report is incomplete" in done.html


def test_a_parameter_that_the_notebook_does_not_take_is_refused(notebook: Write, tmp_path: Path):
    with pytest.raises(RunError, match="unknown parameter outputs"):
        run_unit_page(tmp_path, tmp_path, "inputs/u", notebook=notebook("1"))


def test_a_page_of_which_nothing_came_back_names_the_tag_as_text():
    done = failed_run("<A>*1*", "the process ended")
    assert b"This report is incomplete" in done.html
    assert b"&lt;A&gt;*1*" in done.html
    assert b"the process ended" in done.html
