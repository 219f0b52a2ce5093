"""Pages issued: counted a tag at a time, kept in the unit's folder, never touched again."""

from __future__ import annotations

import csv
import json
import shutil
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path

import pytest

from kit.basis.issues import ISSUED, LEDGER, MANIFEST
from kit.records import UnitError, hash_inputs, read_unit, tag_mark, tag_records, to_slice
from kit.runs.batch import run_batch
from kit.runs.errors import RunError
from kit.runs.issued import publish as publishing
from kit.runs.issued.issue import Given
from kit.runs.issued.issuing import issue_pages
from kit.runs.issued.verify import verify_issued
from kit.runs.outputs.verify import verify_outputs
from kit.runs.paper.jobs import PaperDone, PaperJob
from tests.runs.issued.conftest import Issue, page_of
from tests.runs.stand_in import alone, change_a_stroke, edit, rows_of, snapshot

PAGE = "tags/HV-1/report.html"


def ledger_of(unit: Path) -> list[dict[str, str]]:
    return rows_of(unit / ISSUED / LEDGER)


def text_of(page: Path) -> str:
    return page.read_text(encoding="utf-8")


def issue_of(outputs: Path, tag: str) -> dict[str, object]:
    return json.loads((outputs / f"tags/{tag}/result.json").read_bytes())["issue"]


def test_a_first_issue_is_revision_a_and_the_page_says_so(unit: Path, outputs: Path, issue: Issue):
    assert "Draft of revision A" in text_of(outputs / PAGE)
    made = issue("HV-1")
    assert [(each.issue.tag, each.issue.revision) for each in made.issued] == [("HV-1", "A")]
    page = text_of(unit / ISSUED / "HV-1/A/report.html")
    assert "Draft" not in page
    assert "Revision A issued on 2026-03-10 by Engineer 1: For approval." in page
    assert "revision A" in page
    assert page == alone(text_of(outputs / PAGE))
    assert [(row["tag"], row["revision"], row["verdict"], row["changes"]) for row in ledger_of(unit)] == [
        ("HV-1", "A", "conditional_pass", "first issue")
    ]
    assert verify_issued(unit) == (1, ())


def test_the_issued_page_is_what_the_records_make_from_then_on(unit: Path, issue: Issue):
    issue("HV-1")
    made = page_of(to_slice(tag_records(read_unit(unit), "HV-1")))
    assert alone(made.html.decode()).encode() == (unit / ISSUED / "HV-1/A/report.html").read_bytes()
    assert made.result == (unit / ISSUED / "HV-1/A/result.json").read_bytes()


def test_unit_toml_names_the_first_revision_and_it_counts_on(unit: Path, outputs: Path, issue: Issue):
    edit("unit.toml", 'notice = "Invented"', 'notice = "Invented"\nrevision = "0"')(unit)
    run_batch(unit, outputs)
    assert issue("HV-1").issued[0].issue.revision == "0"
    change_a_stroke(unit)
    run_batch(unit, outputs)
    assert issue("HV-1").issued[0].issue.revision == "1"
    edit("unit.toml", 'revision = "0"', 'revision = "7"')(unit)
    run_batch(unit, outputs)
    assert issue("HV-1").unchanged == {"HV-1": "1"}


def test_only_what_changed_is_issued_again_and_what_changed_stands_on_the_page(unit: Path, outputs: Path, issue: Issue):
    assert {each.issue.tag for each in issue().issued} == {"HV-1", "HV/2"}
    before = snapshot(unit / ISSUED)
    assert issue().unchanged == {"HV-1": "A", "HV/2": "A"}
    assert snapshot(unit / ISSUED) == before
    change_a_stroke(unit)
    run_batch(unit, outputs)
    draft = text_of(outputs / PAGE)
    assert "Draft of revision B" in draft
    assert "Draft: differs from revision A issued on 2026-03-10 by Engineer 1: 1 stroke, 1 value." in draft
    made = issue(on="2026-03-11", reason="Timed again")
    assert [(each.issue.tag, each.issue.revision, each.issue.changes) for each in made.issued] == [
        ("HV-1", "B", "1 stroke, 1 value")
    ]
    assert made.unchanged == {"HV/2": "A"}
    page = text_of(unit / ISSUED / "HV-1/B/report.html")
    for said in (
        "Revision B issued on 2026-03-11",
        "A, superseded",
        "Timed again",
        "time_s 20.1",
        "time_s 20.2",
        "Changes since revision A",
    ):
        assert said in page
    after = snapshot(unit / ISSUED)
    assert {name: after[name] for name in before if name != LEDGER} == {
        name: data for name, data in before.items() if name != LEDGER
    }
    assert verify_issued(unit) == (3, ())


def test_a_limit_that_changed_makes_a_draft_of_an_issued_page(unit: Path, outputs: Path, issue: Issue):
    issue("HV-1")
    edit("unit.toml", "stroke_time_open = { of_nominal_pct = 10", "stroke_time_open = { of_nominal_pct = 8")(unit)
    run_batch(unit, outputs)
    said = issue_of(outputs, "HV-1")
    assert said["standing"] == "differs"
    assert said["differs"] == "1 limit, 1 limit as applied"


def test_issuing_is_no_change_of_the_records_and_none_of_other_tags(unit: Path, outputs: Path, issue: Issue):
    before, marks = hash_inputs(unit), {tag: tag_mark(read_unit(unit), tag) for tag in ("HV-1", "HV/2", "HV-3")}
    open_before = rows_of(outputs / "problems.csv")
    issue("HV-1")
    after = read_unit(unit)
    assert hash_inputs(unit) == before == after.input_hashes
    assert [tag for tag, mark in marks.items() if tag_mark(after, tag) != mark] == ["HV-1"]
    assert rows_of(outputs / "problems.csv") == open_before


def test_after_issuing_the_outputs_stand_and_the_unit_page_tells_the_revision(unit: Path, outputs: Path, issue: Issue):
    issue("HV-1")
    assert verify_outputs(unit, outputs) == ()
    assert run_batch(unit, outputs).nothing_to_do
    assert "Pages: 1 as issued, 0 other than their last issue, 2 never issued." in text_of(outputs / "index.html")
    rows = {row["tag"]: (row["issue_standing"], row["issued_revision"]) for row in rows_of(outputs / "tags.csv")}
    assert rows == {"HV-1": ("issued", "A"), "HV/2": ("draft", ""), "HV-3": ("draft", "")}


def test_an_emptied_outputs_folder_loses_no_revision(unit: Path, outputs: Path, issue: Issue):
    issue("HV-1")
    shutil.rmtree(outputs)
    run_batch(unit, outputs)
    assert alone(text_of(outputs / PAGE)) == text_of(unit / ISSUED / "HV-1/A/report.html")
    assert issue("HV-1").unchanged == {"HV-1": "A"}


def test_only_what_could_be_looked_at_is_issued(unit: Path, issue: Issue):
    change_a_stroke(unit)
    with pytest.raises(RunError, match=r"HV-1: no report of the present records.*Run `strokebook batch"):
        issue("HV-1", "HV/2")
    assert not (unit / ISSUED).exists()


def test_a_tag_beside_others_that_changed_is_issued_and_the_unit_page_waits(unit: Path, outputs: Path, issue: Issue):
    change_a_stroke(unit)
    assert issue("HV/2").unit_page_due
    made = run_batch(unit, outputs)
    assert made.ran == ("HV-1",)


def test_tags_without_records_are_issued_where_they_are_named(unit: Path, issue: Issue):
    assert issue().without_records == ("HV-3",)
    assert [each.issue.verdict for each in issue("HV-3").issued] == ["not_tested"]


@pytest.mark.parametrize(
    ("given", "match"),
    [
        ({"on": "31.3.2026"}, "--on 31.3.2026: no date"),
        ({"on": "2026-03-01"}, "HV-1: --on 2026-03-01 lies before 2026-03-02"),
        ({"by": " ", "on": ""}, "why, by whom and when: add --by NAME --on DATE"),
        ({"reason": "two\nlines"}, "a text of one line"),
    ],
)
def test_an_issue_needs_a_reason_a_name_and_a_day_that_can_be(unit: Path, issue: Issue, given, match):
    with pytest.raises(RunError, match=match):
        issue("HV-1", **given)


def test_a_tag_that_is_not_in_the_register_is_refused(unit: Path, issue: Issue):
    with pytest.raises(UnitError, match=r"'HV-9' is not in the register"):
        issue("HV-9")


def test_a_text_that_a_spreadsheet_would_run_comes_back_as_it_was_given(unit: Path, issue: Issue):
    issue("HV-1", reason="=1+1", by="-Engineer, 'x'")
    assert b"'=1+1" in (unit / ISSUED / LEDGER).read_bytes()
    assert verify_issued(unit) == (1, ())
    assert tag_records(read_unit(unit), "HV-1").issues.issues[0].reason == "=1+1"


def rewrite(unit: Path, change: Callable[[list[list[str]]], object]) -> None:
    """Change the rows of the ledger as a spreadsheet would."""
    path = unit / ISSUED / LEDGER
    with path.open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.reader(file))
    change(rows)
    with path.open("w", encoding="utf-8-sig", newline="") as file:
        csv.writer(file, lineterminator="\n").writerows(rows)


def as_cell(row: int, column: int, text: str) -> Callable[[list[list[str]]], object]:
    return lambda rows: rows[row].__setitem__(column, text)


DAMAGES: dict[str, tuple[Callable[[Path], object], str]] = {
    "a reason edited": (lambda unit: rewrite(unit, as_cell(1, 4, "Other")), "reason is 'Other', issued as"),
    "a revision edited": (lambda unit: rewrite(unit, as_cell(2, 1, "C")), "HV-1/C/manifest.json: missing"),
    "a tag edited": (lambda unit: rewrite(unit, as_cell(1, 0, "HV-3")), "the ledger has no row of it"),
    "a date as a spreadsheet has it": (lambda unit: rewrite(unit, as_cell(1, 2, "10.03.2026")), "on is '10.03.2026'"),
    "the first row gone": (lambda unit: rewrite(unit, lambda rows: rows.pop(1)), "does not follow the row before it"),
    "the last row gone": (lambda unit: rewrite(unit, lambda rows: rows.pop()), "the ledger has no row of it"),
    "rows exchanged": (lambda unit: rewrite(unit, lambda rows: rows.insert(1, rows.pop())), "does not follow"),
    "a row twice": (lambda unit: rewrite(unit, lambda rows: rows.append(rows[-1])), "does not follow"),
    "the head gone": (lambda unit: rewrite(unit, lambda rows: rows.pop(0)), "its first line is not"),
    "a cell gone": (lambda unit: rewrite(unit, lambda rows: rows[1].pop()), "row 2 has not all its cells"),
    "no text": (lambda unit: (unit / ISSUED / LEDGER).write_bytes(b"\xff\xfe\x00"), "cannot be read"),
    "the ledger gone": (lambda unit: (unit / ISSUED / LEDGER).unlink(), "the ledger has no row of it"),
    "a folder gone": (lambda unit: shutil.rmtree(unit / ISSUED / "HV-1/B"), "HV-1/B/manifest.json: missing"),
    "a manifest gone": (lambda unit: (unit / ISSUED / "HV-1/A" / MANIFEST).unlink(), "HV-1/A/manifest.json: missing"),
    "a manifest emptied": (lambda unit: (unit / ISSUED / "HV-1/B" / MANIFEST).write_bytes(b"[]"), "no manifest"),
    "a manifest edited": (
        edit(f"{ISSUED}/HV-1/A/{MANIFEST}", '"versions"', '"inputs_"'),
        "no manifest that can be read",
    ),
    "a hash edited": (edit(f"{ISSUED}/HV-1/A/{MANIFEST}", '"report.html": "', '"report.html": "0'), "not the one that"),
    "a result edited": (
        edit(f"{ISSUED}/HV-1/B/result.json", '"conditional_pass"', '"pass"'),
        "result.json is not as it was issued",
    ),
    "the records gone": (lambda unit: (unit / ISSUED / "HV-1/B/records.json").unlink(), "records.json is missing"),
}


@pytest.fixture
def twice_issued(unit: Path, outputs: Path, issue: Issue) -> Path:
    issue("HV-1")
    change_a_stroke(unit)
    run_batch(unit, outputs)
    issue("HV-1", on="2026-03-11")
    return unit


def test_damage_is_told_and_never_counted_over(twice_issued: Path, outputs: Path, issue: Issue, tmp_path: Path):
    """Every kind of it: the page gives no revision, the unit's page and verify tell it, and issue refuses."""
    whole = Path(shutil.copytree(twice_issued / ISSUED, tmp_path / "whole"))
    for name, (damage, words) in DAMAGES.items():
        damage(twice_issued)
        told = " ".join(verify_issued(twice_issued)[1])
        assert words in told, name
        run_batch(twice_issued, outputs)
        assert issue_of(outputs, "HV-1")["standing"] == "damaged", name
        page = text_of(outputs / PAGE)
        assert "Draft without a revision" in page, name
        assert "revision B" not in page.split("Revisions", 1)[0], name
        assert "damaged" in text_of(outputs / "index.html"), name
        before = snapshot(twice_issued / ISSUED)
        with pytest.raises(RunError, match=r"strokebook verify.*Nothing was issued"):
            issue("HV-1", on="2026-03-12")
        assert snapshot(twice_issued / ISSUED) == before, name
        shutil.rmtree(twice_issued / ISSUED)
        shutil.copytree(whole, twice_issued / ISSUED)
    assert verify_issued(twice_issued) == (2, ())


@pytest.mark.parametrize(
    ("damage", "words"),
    [
        (lambda folder: (folder / "A/report.html").write_bytes(b"x"), "HV-1/A: report.html is not as it was issued."),
        (lambda folder: (folder / "A/report.ipynb").unlink(), "HV-1/A: report.ipynb is missing."),
        (lambda folder: (folder / "A/note.txt").write_bytes(b"x"), "HV-1/A: note.txt was not issued with it."),
    ],
)
def test_verify_looks_at_every_byte_of_every_issue(twice_issued: Path, damage, words: str):
    damage(twice_issued / ISSUED / "HV-1")
    assert verify_issued(twice_issued) == (2, (f"{ISSUED}/{words}",))


def test_an_issue_that_was_interrupted_is_finished_by_the_next(
    unit: Path, outputs: Path, issue: Issue, monkeypatch: pytest.MonkeyPatch
):
    with monkeypatch.context() as patched:
        patched.setattr(publishing, "finish", lambda folder: (_ for _ in ()).throw(KeyboardInterrupt))
        with pytest.raises(KeyboardInterrupt):
            issue_pages(unit, outputs, ["HV-1"], Given("r", "b", "2026-03-10"))
    assert "An issue was interrupted" in verify_issued(unit)[1][0]
    publishing.finish(unit)
    assert verify_issued(unit) == (1, ())
    run_batch(unit, outputs)
    assert issue("HV-1").unchanged == {"HV-1": "A"}


def test_a_page_whose_draft_was_a_pdf_is_issued_as_one(
    unit: Path, outputs: Path, issue: Issue, monkeypatch: pytest.MonkeyPatch
):
    def papers(jobs: Iterable[PaperJob], **_: object) -> Iterator[PaperDone]:
        for job in jobs:
            job.to.parent.mkdir(parents=True, exist_ok=True)
            job.to.write_bytes(f"%PDF {job.about.title} of ".encode() + job.page.read_bytes())
            yield PaperDone(job, "", 0.0, None)

    for place in ("kit.runs.paper.papers", "kit.runs.issued.issuing"):
        monkeypatch.setattr(f"{place}.make_papers", papers)
    monkeypatch.setattr("kit.runs.batch.check_installed", lambda: None)
    run_batch(unit, outputs, pdf_of=["HV-1"])
    assert (outputs / "tags/HV-1/report.pdf").read_bytes().startswith(b"%PDF T-HV-1 Draft of revision A: HV-1")
    issue()
    assert not (unit / ISSUED / "HV%2F2/A/report.pdf").exists()
    pdf = (unit / ISSUED / "HV-1/A/report.pdf").read_bytes()
    page = (outputs / PAGE).read_bytes()
    assert pdf == b"%PDF T-HV-1 revision A: HV-1 Invented water of " + page
    assert (outputs / "tags/HV-1/report.pdf").read_bytes() == pdf
    assert verify_issued(unit) == (2, ())
    assert verify_outputs(unit, outputs) == ()
    assert run_batch(unit, outputs, pdf_of=["HV-1"]).pdfs == ()


def test_a_call_that_ends_while_pages_are_made_issues_nothing(
    unit: Path, issue: Issue, monkeypatch: pytest.MonkeyPatch
):
    def interrupted(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("kit.runs.issued.issuing.run_jobs", interrupted)
    with pytest.raises(KeyboardInterrupt):
        issue("HV-1")
    assert not (unit / ISSUED).exists()


def test_a_table_that_somebody_puts_beside_the_ledger_is_still_told(unit: Path, issue: Issue):
    issue("HV-1")
    shutil.copy(unit / "records/strokes.csv", unit / ISSUED / "strokes.csv")
    assert any(each.file == f"{ISSUED}/strokes.csv" for each in read_unit(unit).problems)
