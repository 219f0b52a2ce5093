"""Page one: identity, verdicts, who signs, what was counted; the document number by the unit's pattern."""

from __future__ import annotations

import pytest

from kit.assessment import assess_tag
from kit.assessment.results import ProbableCause
from kit.views.report.front import document_number, foot, head
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
    told = dict(head(records, assess_tag(records)).fields)
    assert told["Valve"].replace("\u00a0", " ") == "modulating, rotary, 90°"
    assert told["Command"] == (
        "4-20 mA, reverse, equal percentage, R = 30, 3.33 % of travel asked for at 100 % command, not shut"
    )
    assert told["Feedback"] == "none in the register"
    assert told["Fail action"] == "not stated on loss of signal, open on loss of supply"
    assert told["Nominal strokes"].replace("\u00a0", " ") == "open 15 s"
    assert (told["Limit set"], told["Line"], told["Date of readings"]) == ("modulating", "100-A", "2026-03-02")
    assert (told["Technician"], told["Checked by"], told["Unit"]) == ("Technician 1", "Checker A", "Invented unit")


def test_the_head_tells_verdicts_of_both_stages_and_the_coverage() -> None:
    records = made.records()
    shown = head(records, assess_tag(records))
    assert [(name, mark.word, date) for name, mark, date in shown.stages] == [
        ("As left", "Incomplete", "2026-03-02"),
        ("As found", "Fail", "2026-03-02"),
    ]
    assert shown.no_as_found == ""
    assert shown.rule.endswith("for a coverage probability of 95.45 %.")
    left = made.records({"readings": made.readings(made.HEALTHY), "settings": []})
    assert head(left, assess_tag(left)).no_as_found == "As found: not recorded."


def test_a_probable_cause_is_a_remark_of_page_one() -> None:
    stage = made.stage(causes=(ProbableCause("gain error", "errors rise by -2 %", "", "Look."),))
    remarks = head(made.records(), made.assessment(stage, remarks=("A remark.",))).remarks
    assert remarks == ("A remark.", "Probable cause, to be confirmed on site: gain error. errors rise by −2 %")


def test_the_foot_tells_who_signs_and_what_was_counted() -> None:
    records = made.records()
    shown = foot(records, assess_tag(records))
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
    nobody = foot(made.records(visits=(), problems=()), made.assessment())
    assert [name for _, name in nobody.signatures] == ["", "", ""]
    assert (nobody.fail_actions, nobody.instruments) == (None, None)
    assert nobody.data_quality.endswith("Nothing was corrected.")
