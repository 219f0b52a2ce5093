"""PDFs in processes of their own: one that fails or takes too long is told, and the next one made."""

from __future__ import annotations

from pathlib import Path

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


def test_one_that_takes_too_long_is_ended(tmp_path: Path) -> None:
    (done,) = make_papers([job(tmp_path, "A", PAGE)], workers=1, time_limit_s=0)
    assert done.error.startswith("the PDF took longer than 0 s")


def test_a_missing_library_of_the_system_is_named() -> None:
    assert "Pango" in say_why(OSError("cannot load library 'libpango-1.0-0'"))
    assert say_why(ValueError("a\nb")) == "ValueError: a b"
