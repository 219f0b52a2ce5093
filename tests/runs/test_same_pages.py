"""Plain papermill and nbconvert, the batch and a rerun give the same page."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from kit.records import find_unit, read_unit, tag_records, to_slice
from kit.runs.batch import run_report
from kit.runs.forked.owner import available, shared_parent
from kit.runs.issued.issue import Given
from kit.runs.issued.issuing import issue_pages
from kit.runs.notebook.execute import run_tag
from kit.runs.notebook.packaged import TAG_REPORT, notebook_path
from kit.runs.workers.jobs import Job
from kit.runs.workers.pool import run_jobs
from tests.runs.stand_in import alone

ROOT = Path(__file__).parents[2]
UNIT = "inputs/lime-works"
PAPERMILL, JUPYTER = (str(Path(sys.executable).parent / program) for program in ("papermill", "jupyter"))


def plainly(folder: Path, tag: str) -> bytes:
    """The page by the tools' own commands, as the README gives them, of the unit in ``folder``."""
    environment = {**os.environ, "JUPYTER_PREFER_ENV_PATH": "1"}
    executed = folder / "out.ipynb"
    notebook = str(notebook_path(TAG_REPORT))
    commands = (
        (PAPERMILL, "--no-progress-bar", notebook, str(executed), "-p", "unit", UNIT, "-p", "tag", tag),
        (JUPYTER, "nbconvert", "--to", "html", "--template", "strokebook", str(executed)),
    )
    for command in commands:
        subprocess.run(command, cwd=folder, env=environment, check=True, capture_output=True, timeout=300)
    return executed.with_suffix(".html").read_bytes()


@pytest.mark.long
@pytest.mark.skipif(not available(), reason="kernels are not forked here")
def test_every_tag_of_the_demo_unit_is_the_same_bytes_from_a_fork_and_from_a_kernel_of_its_own():
    """Page, evidence and result; the stock commands are tried on some of them below."""
    unit = read_unit(find_unit(ROOT / UNIT))
    slices = {tag: to_slice(tag_records(unit, tag)) for tag in unit.tags}
    jobs = [Job(tag, data, UNIT, 300, engine=engine) for tag, data in slices.items() for engine in ("plain", "fast")]
    with shared_parent():
        made = {(job.tag, job.engine): run for job, run in run_jobs(jobs, 2)}
    assert {key: run.error for key, run in made.items() if run.error} == {}
    assert [tag for tag in slices if made[tag, "plain"] != made[tag, "fast"]] == []


@pytest.mark.parametrize(
    "tag", ["FV-102", *(pytest.param(tag, marks=pytest.mark.long) for tag in ("TV-115", "HV-124"))]
)
def test_a_page_is_the_same_bytes_whichever_way_it_is_made(tmp_path: Path, tag: str):
    records = tag_records(read_unit(find_unit(ROOT / UNIT)), tag)
    made = run_tag(tag, to_slice(records), UNIT)
    assert made.error == ""
    shutil.copytree(ROOT / UNIT, tmp_path / UNIT)  # the notebook writes its page to the outputs/ beside it
    assert made.html == plainly(tmp_path, tag)
    assert made.html == (tmp_path / "outputs" / "lime-works" / "tags" / tag / "report.html").read_bytes()
    assert run_tag(tag, to_slice(records), UNIT) == made


def test_an_issued_page_is_the_same_bytes_whichever_way_it_is_made(tmp_path: Path):
    tag, unit = "FV-102", tmp_path / UNIT
    shutil.copytree(ROOT / UNIT, unit)
    run_report(unit, tmp_path / "outputs" / "lime-works", tag)
    given = Given("For approval", "Engineer 1", "2026-11-01")
    [issued] = issue_pages(unit, tmp_path / "outputs" / "lime-works", [tag], given).issued
    page = (tmp_path / "outputs" / "lime-works" / "tags" / tag / "report.html").read_bytes()
    assert b"Revision A issued on 2026-11-01 by Engineer 1" in page
    assert page == plainly(tmp_path, tag)
    assert (issued.folder / "report.html").read_bytes() == alone(page.decode()).encode()


@pytest.mark.long
def test_a_misspelt_parameter_fails_plain_papermill_too(tmp_path: Path):
    notebook, executed = str(notebook_path(TAG_REPORT)), str(tmp_path / "out.ipynb")
    command = (PAPERMILL, notebook, executed, "-p", "unit", UNIT, "-p", "tga", "A")
    done = subprocess.run(command, cwd=ROOT, capture_output=True, encoding="utf-8", timeout=300, check=False)
    assert done.returncode != 0
    assert "no parameter 'tga'" in done.stderr
