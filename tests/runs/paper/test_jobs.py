"""PDFs in processes of their own: one that fails or takes too long is told, and the next one made."""

from __future__ import annotations

import os
import sys
import threading
from dataclasses import replace
from pathlib import Path

import pytest

from kit.runs.paper.jobs import PaperJob, make_papers
from kit.runs.paper.process import say_why
from kit.views.paper.about import About

ABOUT = About("title", "subject", ("word",), "strokebook", "")
PAGE = "<!DOCTYPE html><html><head><title>a</title></head><body><h1>a</h1></body></html>"


def job(folder: Path, tag: str, page: str) -> PaperJob:
    path = folder / f"{tag}.html"
    path.write_text(page, encoding="utf-8")
    return PaperJob(tag, path, folder / "new" / f"{tag}.pdf", ABOUT, ())


def test_one_that_fails_is_told_and_the_next_one_made(tmp_path: Path) -> None:
    jobs = [job(tmp_path, "A", "no page"), job(tmp_path, "B", PAGE)]
    done = list(make_papers(jobs, workers=1, time_limit_s=300))
    assert [(each.job.tag, each.error) for each in done] == [
        ("A", "ValueError: the page has no head, so it is no report"),
        ("B", ""),
    ]
    assert (tmp_path / "new" / "B.pdf").read_bytes().startswith(b"%PDF-")
    assert not (tmp_path / "new" / "A.pdf").exists()


@pytest.mark.skipif(sys.platform == "win32", reason="no limit of processor time there")
def test_one_that_works_too_long_is_ended_and_the_next_one_made(tmp_path: Path) -> None:
    long = PAGE.replace("<h1>a</h1>", "<p>a</p>" * 20_000)
    jobs = [job(tmp_path, "A", long), job(tmp_path, "B", PAGE)]
    first, second = make_papers(jobs, workers=1, time_limit_s=2)
    assert first.error == "the PDF took more than 2 s of processor time. Give a longer --tag-timeout."
    assert second.error == ""


@pytest.mark.skipif(sys.platform == "win32", reason="no limit of processor time there")
def test_waiting_for_a_loaded_machine_does_not_count(tmp_path: Path) -> None:
    waiting = replace(job(tmp_path, "A", PAGE), page=tmp_path / "pipe")
    os.mkfifo(waiting.page)
    writer = threading.Timer(3.0, lambda: waiting.page.write_text(PAGE, encoding="utf-8"))
    writer.start()
    (done,) = make_papers([waiting], workers=1, time_limit_s=2)
    writer.join()
    assert (done.error, done.seconds > 3.0) == ("", True)


@pytest.mark.skipif(sys.platform == "win32", reason="no pipe with a name there")
def test_one_that_hangs_is_ended(tmp_path: Path) -> None:
    waiting = replace(job(tmp_path, "A", PAGE), page=tmp_path / "pipe")
    os.mkfifo(waiting.page)
    (done,) = make_papers([waiting], workers=1, time_limit_s=0)
    assert done.error == "the PDF was not done after 0 s. Give a longer --tag-timeout."


def test_a_missing_library_of_the_system_is_named() -> None:
    assert "Pango" in say_why(OSError("cannot load library 'libpango-1.0-0'"))
    assert say_why(ValueError("a\nb")) == "ValueError: a b"
