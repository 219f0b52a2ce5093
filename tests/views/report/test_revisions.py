"""A page as a document: draft, issued, differing, damaged."""

from __future__ import annotations

from dataclasses import replace

import kit
from kit.assessment import assess_tag
from kit.assessment.shown.page_state import page_state, result_marks
from kit.basis.issues import Change, Issue, TagIssues, result_mark
from kit.basis.records import TagRecords
from kit.views.report.result_json import check_row
from kit.views.report.revisions import issue_content, issue_line, revision_words, revisions_sheet
from tests.views import made

READING = Change("reading", "records/readings.csv row 2", "position_deg 45", "position_deg 46")


def issued(records: TagRecords, *revisions: str, **more: object) -> TagRecords:
    """The records with these issues, the last one of what they are now."""
    assessment = assess_tag(records)
    given = [
        Issue(
            "FV-1",
            each,
            f"2026-03-{day:02}",
            "Engineer <1>",
            "For approval",
            assessment.verdict,
            "",
            "",
            "",
            kit.__version__,
        )
        for day, each in enumerate(revisions, start=10)
    ]
    return replace(records, issues=TagIssues(tuple(given), results=result_marks(assessment), **more))  # type: ignore[arg-type]


def line_of(records: TagRecords) -> str:
    return issue_line(page_state(records, assess_tag(records)))


def test_what_was_never_issued_is_a_draft_of_the_first_revision() -> None:
    records = made.records()
    assert revision_words(page_state(records, assess_tag(records))) == "Draft of revision A"
    assert line_of(records) == ""
    assert revisions_sheet(records, assess_tag(records)).missing.startswith("Draft of revision A")


def test_the_same_inputs_and_results_are_the_issued_page() -> None:
    records = issued(made.records(), "A", "B", changes=(READING,))
    assert line_of(records) == "Revision B issued on 2026-03-11 by Engineer <1>: For approval. Changes: 1 reading."
    content = issue_content(records, assess_tag(records))
    assert (content["standing"], content["revision"], content["superseded"]) == ("issued", "B", ["A"])
    assert [each.caption for each in revisions_sheet(records, assess_tag(records)).tables] == [
        "Issues",
        "Changes since revision A",
    ]


def test_a_record_that_changed_makes_a_draft_of_the_next() -> None:
    records = issued(made.records(), "A", changed=(READING,))
    assert line_of(records) == "Draft: differs from revision A issued on 2026-03-10 by Engineer <1>: 1 reading."
    assert revision_words(page_state(records, assess_tag(records))) == "Draft of revision B"


def test_results_that_a_later_version_works_out_otherwise_make_a_draft_too() -> None:
    records = issued(made.records(), "A")
    moved = tuple((*mark[:4], "fail", *mark[5:]) for mark in records.issues.results)
    state = page_state(replace(records, issues=replace(records.issues, results=moved)), assess_tag(records))
    assert state.standing == "differs"
    assert {each.kind for each in state.changes} == {"verdict"}


def test_a_page_that_another_version_issued_says_that_it_is_a_copy() -> None:
    records = issued(made.records(), "A")
    older = replace(records.issues.issues[0], strokebook="0.0.1")
    assert line_of(replace(records, issues=replace(records.issues, issues=(older,)))).endswith(
        "A copy: the issued page is by strokebook 0.0.1."
    )


def test_damage_gives_no_revision() -> None:
    records = issued(made.records(), "A", damage=("issued/issues.csv: a row is gone.",))
    assert revision_words(page_state(records, assess_tag(records))) == "Draft"
    assert line_of(records).startswith("Draft without a revision")
    assert "issued/issues.csv: a row is gone." in revisions_sheet(records, assess_tag(records)).lines


def test_what_counts_as_results_is_what_the_result_file_keeps() -> None:
    records = made.records()
    assessment = assess_tag(records)
    rows = [check_row(records, stage, each) for stage in assessment.stages for each in stage.checks]
    assert result_marks(assessment) == tuple(map(result_mark, rows))
    assert rows
