"""The PDFs of a unit: each of the page beside it, on record with it, never of another one."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from pathlib import Path

import pytest

from kit.records import UnitError
from kit.runs.batch import run_batch, run_report
from kit.runs.errors import RunError
from kit.runs.outputs.verify import verify_outputs
from kit.runs.paper import installed
from kit.runs.paper.jobs import PaperDone, PaperJob
from tests.runs.stand_in import ALL, Runner, StopError, change_a_stroke, snapshot


class Maker:
    """Stands in for the processes that make PDFs."""

    def __init__(self) -> None:
        self.fail: set[str] = set()
        self.jobs: list[PaperJob] = []

    def papers(self, jobs: Iterable[PaperJob], **_: object) -> Iterator[PaperDone]:
        for job in jobs:
            self.jobs.append(job)
            if job.tag not in self.fail:
                job.to.parent.mkdir(parents=True, exist_ok=True)
                job.to.write_bytes(b"%PDF of " + job.page.read_bytes())
            yield PaperDone(job, "ValueError: no" if job.tag in self.fail else "", 1.0, 150.0)

    def made(self) -> list[str]:
        """The tags whose PDF was asked for since the last time."""
        tags = [job.tag for job in self.jobs]
        self.jobs.clear()
        return tags


@pytest.fixture
def maker(monkeypatch: pytest.MonkeyPatch, runner: Runner) -> Maker:
    made = Maker()
    monkeypatch.setattr("kit.runs.paper.papers.make_papers", made.papers)
    return made


def pdfs(outputs: Path) -> dict[str, bytes]:
    return {path.parent.name: path.read_bytes() for path in sorted(outputs.glob("tags/*/report.pdf"))}


def test_a_batch_makes_every_pdf_once_and_all_is_on_record(small_unit: Path, outputs: Path, maker: Maker) -> None:
    report = run_batch(small_unit, outputs, pdf_of=())
    assert report.pdfs == ALL
    assert len(pdfs(outputs)) == len(ALL)
    assert not verify_outputs(small_unit, outputs)
    before = snapshot(outputs)
    assert run_batch(small_unit, outputs, pdf_of=()).pdfs == ()
    assert maker.made() == list(ALL)
    assert snapshot(outputs) == before
    assert run_batch(small_unit, outputs).nothing_to_do


def test_only_the_tags_named_are_made(small_unit: Path, outputs: Path, maker: Maker) -> None:
    run_batch(small_unit, outputs, pdf_of=["HV/2"])
    assert maker.made() == ["HV/2"]
    assert list(pdfs(outputs)) == ["HV%2F2"]


def test_an_unknown_tag_is_refused_before_anything_runs(small_unit: Path, outputs: Path, runner: Runner) -> None:
    with pytest.raises(UnitError, match="HV-9"):
        run_batch(small_unit, outputs, pdf_of=["HV-9"])
    assert not runner.ran


def test_a_pdf_goes_with_its_page(small_unit: Path, outputs: Path, maker: Maker) -> None:
    run_batch(small_unit, outputs, pdf_of=())
    before = pdfs(outputs)
    change_a_stroke(small_unit)
    report = run_batch(small_unit, outputs)
    assert report.ran == report.pdfs_gone
    assert len(report.pdfs_gone) == 1
    (gone,) = set(before) - set(pdfs(outputs))
    assert not list(outputs.rglob(f"*{gone}/report.pdf"))
    assert not verify_outputs(small_unit, outputs)


def test_a_pdf_whose_page_changed_is_made_again(small_unit: Path, outputs: Path, maker: Maker) -> None:
    run_batch(small_unit, outputs, pdf_of=())
    maker.made()
    change_a_stroke(small_unit)
    report = run_batch(small_unit, outputs, pdf_of=())
    assert maker.made() == list(report.ran) == list(report.pdfs)
    assert report.pdfs_gone == ()
    for folder, pdf in pdfs(outputs).items():
        assert pdf == b"%PDF of " + (outputs / "tags" / folder / "report.html").read_bytes()
    assert not verify_outputs(small_unit, outputs)


def test_a_page_made_again_with_the_same_bytes_keeps_its_pdf(small_unit: Path, outputs: Path, maker: Maker) -> None:
    run_batch(small_unit, outputs, pdf_of=())
    before = snapshot(outputs)
    run_batch(small_unit, outputs, every_tag=True)
    assert snapshot(outputs) == before


def test_one_that_fails_does_not_stop_the_others(small_unit: Path, outputs: Path, maker: Maker) -> None:
    maker.fail = {"HV-1"}
    report = run_batch(small_unit, outputs, pdf_of=())
    assert (dict(report.no_pdf), report.complete) == ({"HV-1": "ValueError: no"}, False)
    assert report.pdfs == ALL[1:]
    assert not verify_outputs(small_unit, outputs)


def test_what_cannot_be_made_again_does_not_leave_the_old_one(
    small_unit: Path, outputs: Path, maker: Maker, monkeypatch: pytest.MonkeyPatch
) -> None:
    run_batch(small_unit, outputs, pdf_of=())
    maker.fail = {"HV-1"}
    monkeypatch.setattr("kit.runs.paper.papers.papers_made_by", lambda: "another version")
    run_batch(small_unit, outputs, pdf_of=())
    assert "HV-1" not in pdfs(outputs)
    assert not verify_outputs(small_unit, outputs)


def test_a_pdf_that_was_lost_or_edited_is_made_again(small_unit: Path, outputs: Path, maker: Maker) -> None:
    run_batch(small_unit, outputs, pdf_of=())
    before = pdfs(outputs)
    (outputs / "tags" / "HV-1" / "report.pdf").unlink()
    (outputs / "tags" / "HV-3" / "report.pdf").write_bytes(b"edited")
    maker.made()
    run_batch(small_unit, outputs, pdf_of=())
    assert maker.made() == ["HV-1", "HV-3"]
    assert pdfs(outputs) == before


def test_a_lost_pdf_is_off_record_after_a_batch_without_pdf(small_unit: Path, outputs: Path, maker: Maker) -> None:
    run_batch(small_unit, outputs, pdf_of=())
    (outputs / "tags" / "HV-1" / "report.pdf").unlink()
    run_batch(small_unit, outputs)
    assert not verify_outputs(small_unit, outputs)


def test_an_interrupted_run_goes_on_from_the_pdfs_it_made(small_unit: Path, outputs: Path, maker: Maker) -> None:
    def stop(each: object) -> None:
        if (each.made, each.done) == ("PDFs", 2):  # type: ignore[attr-defined]
            raise StopError

    with pytest.raises(StopError):
        run_batch(small_unit, outputs, pdf_of=(), progress=stop)
    maker.made()
    report = run_batch(small_unit, outputs, pdf_of=())
    assert (maker.made(), report.ran) == (["HV-3"], ())
    assert not verify_outputs(small_unit, outputs)


def test_one_report_as_pdf(small_unit: Path, outputs: Path, maker: Maker) -> None:
    made = run_report(small_unit, outputs, "HV-1", pdf=True)
    assert made.pdf == outputs / "tags" / "HV-1" / "report.pdf"
    assert made.pdf.is_file()
    change_a_stroke(small_unit)
    gone = [run_report(small_unit, outputs, tag).pdf_gone for tag in ALL]
    assert gone.count(True) <= 1
    assert not [each for each in verify_outputs(small_unit, outputs) if not each.kind.startswith("input")]


def test_a_pdf_says_what_it_is_of_and_carries_records_and_result(small_unit: Path, outputs: Path, maker: Maker) -> None:
    run_report(small_unit, outputs, "HV-1", pdf=True)
    (job,) = maker.jobs
    assert "HV-1" in job.about.title
    assert "HV-1" in job.about.keywords
    records, result = job.attached
    assert (records.relationship, result.relationship) == ("Source", "Data")
    assert json.loads(records.data)["tag"]["tag"] == "HV-1"
    assert result.data == (outputs / "tags" / "HV-1" / "result.json").read_bytes()


def test_without_the_optional_install_nothing_is_run(
    small_unit: Path, outputs: Path, runner: Runner, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(installed, "_version", lambda package: "")
    with pytest.raises(RunError, match=r"PDF needs weasyprint and pikepdf.*pip install 'strokebook\[pdf\]'"):
        run_batch(small_unit, outputs, pdf_of=())
    with pytest.raises(RunError, match="not installed here"):
        run_report(small_unit, outputs, "HV-1", pdf=True)
    assert not runner.ran


def test_a_bound_pdf_is_taken_away_when_it_is_not_of_the_pdfs_that_stand(
    small_unit: Path, outputs: Path, maker: Maker, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("kit.views.paper.bound.pages_in", lambda path: 1)
    monkeypatch.setattr("kit.views.paper.cover.cover_pdf", lambda cover, about: repr(cover.rows).encode())
    monkeypatch.setattr("kit.views.paper.bound.bind", lambda cover, parts: cover + repr(parts).encode())
    made = run_batch(small_unit, outputs, bound=True)
    assert made.bound == outputs / "dossier.pdf"
    assert all(tag in made.bound.read_text(encoding="utf-8") for tag in ALL)
    assert not verify_outputs(small_unit, outputs)
    before = snapshot(outputs)
    run_batch(small_unit, outputs, bound=True)
    assert snapshot(outputs) == before
    change_a_stroke(small_unit)
    assert run_batch(small_unit, outputs).bound_gone
    assert not made.bound.exists()
    assert not verify_outputs(small_unit, outputs)
