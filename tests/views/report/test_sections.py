"""Sections: what a reviewer reads, undetermined cases, text that looks like HTML."""

from __future__ import annotations

import inspect
import re

import pytest

from kit.basis.records import TagRecords
from kit.basis.signals import SignalRange
from kit.views.pieces.parts import Section, render
from kit.views.pieces.sheets import Sheet
from kit.views.pieces.text_tables import table, verdict_cell
from kit.views.report import sections
from tests.views import made
from tests.views.reader import NASTY, html_of, shown, text_of


def html_part(name: str, records: TagRecords) -> str:
    """All HTML of one part."""
    return html_of(shown(name, records))


def test_every_section_stands_once_on_the_page_under_a_heading_and_a_sentence(page: str) -> None:
    names = [
        name for name, made_by in inspect.getmembers(sections, inspect.isfunction) if hasattr(made_by, "__wrapped__")
    ]
    assert len(names) == 21
    for name in names:
        heading = shown(name, made.records())[0]
        assert isinstance(heading, Section)
        expected = r'<div class="strokebook words">\n<h3 id="[a-z-]+">[^<]+</h3>\n<p>[^<]+\.</p>\n</div>'
        assert re.fullmatch(expected, heading.html), name
        assert page.count(heading.html) == 1, name


def test_a_table_is_placed_as_it_stands() -> None:
    content = table("Caption", ["Check", "Value:"], [["Zero error", "0.1 %"], [verdict_cell("fail"), ""]], "A note.")
    assert render("sheet.html.j2", Sheet("made", tables=(content,))).html == (
        '<div class="strokebook made">\n'
        '<div aria-label="Caption" class="scroll" role="group" tabindex="0">\n'
        '<table class="n2">\n'
        "<caption><span>Caption</span></caption>\n"
        '<thead><tr><th scope="col">Check</th><th class="n" scope="col">Value</th></tr></thead>\n'
        "<tbody>\n"
        '<tr><th scope="row">Zero error</th><td>0.1\u00a0%</td></tr>\n'
        '<tr><th scope="row"><span class="verdict fail">Fail</span></th><td>–</td></tr>\n'
        "</tbody>\n"
        "</table>\n"
        "</div>\n"
        '<p class="notes">A note.</p></div>'
    )


def test_page_one_says_verdict_rule_worst_value_and_place() -> None:
    text = text_of(html_part("front_page", made.records()))
    assert "DOC-FV-1" in text
    assert "2026-03-02" in text
    assert "Position 2 of 2 Inaccuracy +0.60 % 50.0 % command, down ±1.5 % Pass" in text
    assert "simple acceptance where half the tolerance is at least 4 times" in text
    assert "As left (2026-03-02): Incomplete" in text
    assert "As found (2026-03-02): Fail" in text
    assert "A typed name is not a signature" in text
    assert "1 set aside" in text


def test_every_check_stands_against_its_limit_as_found_beside_as_left() -> None:
    text = text_of(html_part("checks", made.records()))
    assert re.search(r"Inaccuracy Error .* ±1\.5 % \[1\] \+2\.40 % Fail \+0\.60 % .*50\.0 % command, down", text)
    assert "Limits: [1] Invented specification, table 1." in text
    assert "3.8 below 4" in text


def test_exceptions_name_the_gap_and_its_reason() -> None:
    text = text_of(html_part("front_page", made.records()))
    assert "2 checks: Potentiometer margin, low end ; Potentiometer margin, high end : the value lies" in text
    assert "no resistance instrument named for visit 1" in text


def test_an_information_check_stays_behind_page_one() -> None:
    front, behind = html_part("front_page", made.records()), html_part("checks", made.records())
    assert front.count("Terminal-based linearity") == 1
    assert "Recorded and not judged, for want of a limit:" in front
    assert "Terminal-based linearity" in behind


def test_fail_action_is_expected_against_proven() -> None:
    text = text_of(html_part("fail_actions", made.records()))
    assert (
        "Command signal open records/fail_tests.csv row 2 closed (0 %) 60.0 % 0.4 % 9.5 s yes 60.0 % 59.8 % Pass"
        in text
    )


def test_a_range_without_live_zero_is_remarked_on() -> None:
    tag = made.tag(command_range=SignalRange(0, 10, "V", "0-10 V"))
    assert "cannot tell an open or shorted signal from 0 %" in text_of(html_part("front_page", made.records(tag=tag)))


def test_a_safety_function_is_said_on_page_one() -> None:
    html = html_part("front_page", made.records(tag=made.tag(safety_function=True)))
    assert "This valve is part of a safety function." in html


def test_no_page_says_that_a_valve_is_safe(page: str) -> None:
    assert "does not say that the valve is safe" in page
    assert len(re.findall(r"\bis safe\b", page)) == 1


@pytest.mark.parametrize(
    ("part", "said"),
    [
        ("front_page", "The register has this tag, and no record of it was found."),
        ("checks", "There is no check."),
        ("calibration", "No stroke reading was recorded."),
        ("hysteresis", "No stroke reading was recorded."),
        ("feedback", "No feedback was recorded"),
        ("potentiometer", "No sweep of the potentiometer was recorded."),
        ("switches", "No limit switch was tested."),
        ("strokes", "No stroke was timed."),
        ("fail_actions", "the fail action is not proven"),
        ("electrical", "No electrical reading was recorded."),
        ("loop_checks", "No loop check was recorded."),
        ("prechecks", "No precheck was recorded."),
        ("settings_and_adjustments", "No setting and no adjustment was recorded."),
        ("readings", "No stroke reading was recorded."),
        ("uncertainty_budgets", "There is no check with a limit and an uncertainty."),
        ("history", "no history"),
        ("problems", "No problem was found"),
    ],
)
def test_a_tag_without_records_says_so_in_every_part(part: str, said: str) -> None:
    empty = {name: [] for name in made.records().tables}
    assert said in html_part(part, made.records(empty, visits=(), problems=()))


def test_only_one_direction_has_a_stated_answer_for_hysteresis() -> None:
    up = made.readings({"up": (0.1, 0.2, 0.3, 0.2, 0.1)})
    assert "No test point was read both up and down" in html_part("hysteresis", made.records({"readings": up}))


def test_what_a_user_typed_never_becomes_markup() -> None:
    tag = made.tag(service=NASTY, further={NASTY: NASTY})
    records = made.records(
        {
            "settings": [{"setting": NASTY, "value": NASTY}],
            "prechecks": [{"item": NASTY, "result": "no", "remark": NASTY}],
        },
        tag=tag,
        settings=made.settings(title=NASTY, notice=NASTY),
    )
    for part in ("front_page", "settings_and_adjustments", "prechecks"):
        html = html_part(part, records)
        assert "<script>" not in html
        assert "&lt;b&gt;\"A\" &amp; 'B'&lt;/b&gt;" in html


def test_budgets_show_each_component_with_its_distribution() -> None:
    text = text_of(html_part("uncertainty_budgets", made.records()))
    assert "Inaccuracy +0.60 %" in text
    assert "rectangular" in text
    assert "D-1" in text
    assert "no resistance instrument named for visit 1" in text
