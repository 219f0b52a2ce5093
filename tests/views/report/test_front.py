"""Page one: identity, verdicts, who signs, what was counted; the document number by the unit's pattern."""

from __future__ import annotations

import re

import pytest

from kit.assessment import assess_tag
from kit.assessment.results import ProbableCause, TagAssessment
from kit.basis.records import TagRecords
from kit.views.pieces.anchors import LIMITS
from kit.views.pieces.page_one import FEWEST, lines
from kit.views.report.front import Foot, Head, document_number, foot, head
from tests.views import made


@pytest.mark.parametrize(
    ("pattern", "tag", "expected"),
    [
        ("{unit}-{tag}", "FV-1", "north-FV-1"),
        ("D-{tag}/{tag}", "FV-1", "D-FV-1/FV-1"),
        ("D-100", "FV-1", "D-100"),
        ("{tag}-{unit}", "{unit}", "{unit}-north"),
    ],
)
def test_the_pattern_takes_the_tag_and_the_unit_once_each(pattern: str, tag: str, expected: str) -> None:
    assert document_number(made.settings(unit="north", document=pattern), tag) == expected


def upper(records: TagRecords, assessment: TagAssessment | None = None) -> Head:
    """The upper half of a page without a figure."""
    known = assessment or assess_tag(records)
    return head(records, known, lower(records, known), None)


def lower(records: TagRecords, assessment: TagAssessment | None = None) -> Foot:
    return foot(records, assessment or assess_tag(records))


def test_the_identity_tells_valve_signals_and_what_the_register_expects() -> None:
    tag = made.tag(
        feedback_range=None,
        action="reverse",
        characteristic="equal_percentage",
        rangeability=30.0,
        fail_action=None,
        fail_action_supply="open",
        stroke_time_close_s=None,
        further={"Line": "100-A"},
    )
    records = made.records(tag=tag)
    told = dict(upper(records).fields)
    assert told["Valve"].replace("\u00a0", " ") == "modulating, rotary, 90°"
    assert told["Command"] == (
        "4-20 mA, reverse, equal percentage, R = 30, 3.33 % of travel asked for at 100 % command, not shut"
    )
    assert told["Feedback"] == "none in the register"
    assert told["Fail action"] == "not stated on loss of signal, open on loss of supply"
    assert told["Nominal strokes"].replace("\u00a0", " ") == "open 15 s"
    assert (told["Limit set"], told["Line"], told["Date of readings"]) == ("modulating", "100-A", "2026-03-02")
    assert told["Unit"] == "Invented unit"


def test_the_head_tells_verdicts_of_both_stages_and_the_coverage() -> None:
    records = made.records()
    shown = upper(records)
    assert [(name, mark.word, date) for name, mark, date in shown.stages] == [
        ("As left", "Incomplete", "2026-03-02"),
        ("As found", "Fail", "2026-03-02"),
    ]
    assert shown.no_as_found == ""
    assert shown.rule.endswith("for a coverage probability of 95.45 %.")
    left = made.records({"readings": made.readings(made.HEALTHY), "settings": []})
    assert upper(left).no_as_found == "As found: not recorded."


def test_an_earlier_visit_that_failed_as_left_is_named_beside_the_verdict_in_one_short_line() -> None:
    """What is mended on a visit of its own has no stage as found: the failure must not read as if it had never been."""
    passed = made.stage(visit="3", date="2026-03-10")
    failed = [made.stage(visit=name, date=f"2026-03-0{name}", verdict="fail") for name in ("2", "1")]
    for stages, words in ((failed, ", and 1 more"), (failed[:1], "")):
        ((told, mark),) = upper(made.records(), made.assessment(passed, *stages)).before
        assert (told, mark.word) == (f"Before: visit 2 (2026-03-02){words}, as left", "Fail")
        assert lines(f"As left (2026-03-10): Pass As found: not recorded. {told}: {mark.word}", 671.0) == 1
    assert upper(made.records(), made.assessment(passed, made.stage(visit="1", date="2026-03-01"))).before == ()


def test_a_probable_cause_is_a_remark_of_page_one() -> None:
    stage = made.stage(causes=(ProbableCause("gain error", "errors rise by -2 %", "", "Look."),))
    remarks = lower(made.records(), made.assessment(stage, remarks=("A remark.",))).remarks
    assert remarks == ("A remark.", "Probable cause, to be confirmed on site: gain error. errors rise by −2 %")


def test_the_foot_tells_who_signs_and_what_was_counted() -> None:
    records = made.records()
    shown = lower(records)
    assert shown.signatures == (
        ("Executed by", "Technician 1"),
        ("Checked by", "Checker A"),
        ("Witnessed or accepted by", ""),
    )
    rows = sum(len(table) for table in records.tables.values())
    assert shown.data_quality == (
        f"{rows} rows of this tag used, 1 set aside, 0 flags raised. Nothing was corrected. "
        "The list is under Problems in the records."
    )
    nobody = lower(made.records(visits=(), problems=()), made.assessment())
    assert [name for _, name in nobody.signatures] == ["", "", ""]
    assert (nobody.loss, nobody.instruments) == (None, None)
    assert nobody.data_quality.endswith("Nothing was corrected.")


def test_remarks_of_one_file_name_it_once_and_all_that_they_say_stands() -> None:
    told = ("logs/a.csv: one hold: lost.", "A remark: of none.", "logs/a.csv: two more.", "logs/b.csv: -1 % away.")
    shown = lower(made.records(), made.assessment(made.stage(), remarks=told)).remarks
    assert shown == ("logs/a.csv: one hold: lost. Two more.", "A remark: of none.", "logs/b.csv: \u22121 % away.")


def test_what_is_signed_is_told_beside_the_boxes() -> None:
    shown = lower(made.records())
    assert shown.signed_for[:3] == ("FV-1", "DOC-FV-1", "Draft of revision A")
    assert re.fullmatch(r"input [0-9a-f]{12}", shown.signed_for[3])
    assert shown.verdict.word == "Incomplete"


def test_exceptions_that_do_not_fit_are_counted_gravest_first_and_none_is_cut_where_all_fit() -> None:
    """Eighty failures cannot stand on one sheet; five can."""
    many = [made.result("inaccuracy", 9.0 + number, "fail", detail=f"no. {number}", upper=1.0) for number in range(80)]
    gap = made.result("zero_error", None, "not_tested", reason="not read")
    shown = upper(made.records(), made.assessment(made.stage(gap, *many)))
    assert {mark.kind for mark, _ in shown.exceptions} == {"fail"}
    assert 10 < len(shown.exceptions) < 60
    assert shown.more == f"And {81 - len(shown.exceptions)} more: see"
    few = upper(made.records(), made.assessment(made.stage(gap, *many[:5])))
    assert (len(few.exceptions), few.more) == (6, "")


def test_what_must_stand_on_page_one_leaves_less_room_for_exceptions() -> None:
    many = [made.result("inaccuracy", 9.0 + number, "fail", detail=f"no. {number}", upper=1.0) for number in range(80)]
    counts = []
    for remarks in ((), ("A sentence that a reviewer should know. " * 20,), ("A sentence to know. " * 400,)):
        shown = upper(made.records(), made.assessment(made.stage(*many), remarks=remarks))
        counts.append(len(shown.exceptions))
    assert counts[0] > counts[1] > counts[2] == FEWEST


def test_where_limits_come_from_leads_to_their_sources_and_without_a_check_to_the_section_that_says_so() -> None:
    checked = made.assessment(made.stage(made.result("inaccuracy", 0.5, upper=1.5)))
    assert upper(made.records(), checked).limits_at == LIMITS
    assert upper(made.records(), made.assessment(made.stage())).limits_at == "every-check"
