"""The unit's page: every tag, what is worst, what is missing, what an instrument touched."""

from __future__ import annotations

import dataclasses
import re
from pathlib import Path

import pytest

from kit.assessment.shown.unit_results import UnitResults
from kit.basis.records import Problem
from kit.basis.settings import Limit, LimitSet
from kit.runs.outputs.collected import unit_results
from kit.views.pieces.parts import Figure, Page
from kit.views.unit_pages import unit_page
from tests.views.made_unit import VERDICTS, unit, write_outputs
from tests.views.reader import html_of, said


@pytest.fixture
def results(tmp_path: Path) -> UnitResults:
    write_outputs(tmp_path, VERDICTS)
    return unit_results(unit(list(VERDICTS)), tmp_path)


def test_counts_by_verdict_and_rows_are_said_first(results: UnitResults) -> None:
    parts = unit_page.front(results)
    assert isinstance(parts[0], Page)
    text = said(parts)
    assert "1 Fail" in text
    assert "1 Incomplete" in text
    assert "1 No verdict" in text
    assert "20 rows read: 19 used and 1 set aside" in text


def test_every_tag_has_a_row_that_leads_to_its_report(results: UnitResults) -> None:
    table = html_of(unit_page.tags(results))
    assert [tag for tag in VERDICTS if f'<a href="tags/{tag}/report.html">{tag}</a>' in table] == list(VERDICTS)
    assert table.count('class="verdict fail"') == 1
    assert "Wash &lt;water&gt;" in table


def test_the_matrix_has_a_cell_for_each_test_of_each_tag(results: UnitResults) -> None:
    rows = re.findall(r"<tr data-tests=.*?</tr>", html_of(unit_page.tests_done(results)))
    assert len(rows) == len(VERDICTS)
    assert [row.count("<td") for row in rows] == [8, 8, 8]
    assert '<td class="not-assessable">not assess.</td>' in rows[0]
    assert rows[2].count('<td class="none">–</td>') == 8


def test_the_nearest_to_their_limits_are_drawn_and_listed(results: UnitResults) -> None:
    parts = unit_page.nearest_to_limits(results)
    assert len([each for each in parts if isinstance(each, Figure)]) == 1
    assert "FV-2" in said(parts)


def test_instruments_say_what_they_touched_and_which_are_idle(results: UnitResults) -> None:
    text = said(unit_page.instruments(results))
    assert "D-1 Inclinometer C-2 2027-01-01 position 2" in text
    assert "X-9 Volt meter – – – 0 not used" in text
    assert "none named" in text


def test_a_list_says_which_of_its_columns_hold_numbers(results: UnitResults) -> None:
    table = html_of(unit_page.instruments(results))
    assert re.search('<table class="wide n6"[^>]*>.<caption><span>Instruments<', table, re.DOTALL)
    assert '<td class="fixed">2027-01-01</td>' in table


def test_problems_name_file_row_and_reason(results: UnitResults) -> None:
    text = said(unit_page.problems(results))
    assert "records/a.csv 3 tag FV-I Unknown tag; nearest: FV-1. – flag" in text
    assert "records/a.csv readings 20 19 1" in text


def test_a_long_list_is_cut_and_says_where_the_rest_is(tmp_path: Path) -> None:
    write_outputs(tmp_path, {"FV-1": "pass"})
    many = tuple(Problem("records/a.csv", row, "tag", "", "Blank.", "", set_aside=True) for row in range(2001))
    results = unit_results(unit(["FV-1"], problems=many), tmp_path)
    assert "The first 2000 of 2001 are listed; problems.csv has them all." in said(unit_page.problems(results))


def test_ten_thousand_tags_stay_one_page_of_a_few_megabytes(tmp_path: Path) -> None:
    write_outputs(tmp_path, {"FV-1": "pass"})
    one = unit_results(unit(["FV-1"]), tmp_path)
    results = dataclasses.replace(one, tags=one.tags * 10_000)
    size = sum(len(html_of(part(results))) for part in (unit_page.tags, unit_page.tests_done))
    assert size < 8_000_000


def test_limits_that_nobody_has_confirmed_are_told_in_the_head(results: UnitResults) -> None:
    assert "placeholder" not in said(unit_page.front(results))
    usual = Limit("inaccuracy", "usual", plus_minus=2.0, placeholder_in="modulating")
    sets = {"modulating": LimitSet("modulating", {"inaccuracy": usual}, ())}
    waiting = dataclasses.replace(results, settings=dataclasses.replace(results.settings, limit_sets=sets))
    assert "Limits that are placeholders: 1 of [limits.modulating]. No check passes by one" in said(
        unit_page.front(waiting)
    )
