"""The unit's page: every tag, what is worst, what is missing, what an instrument touched."""

from __future__ import annotations

import csv
import dataclasses
import json
import re
from pathlib import Path
from typing import Any

import pytest

from kit.assessment import assess_tag
from kit.assessment.shown.unit_results import UnitResults
from kit.basis.records import Problem, RowCount, UnitRecords
from kit.basis.registers import Instrument
from kit.runs.outputs.collected import OutputsError, unit_results
from kit.views.pieces.parts import Figure, Page, Section
from kit.views.pieces.rounding import share_text
from kit.views.report.result_json import result_content
from kit.views.unit_pages import unit_page
from tests.views import made

VERDICTS = {"FV-1": "incomplete", "FV-2": "fail", "FV-3": ""}


def unit(tags: list[str], **changes: Any) -> UnitRecords:
    given: dict[str, Any] = {
        "settings": made.settings(),
        "tags": {name: made.tag(tag=name, service="Wash <water>") for name in tags},
        "instruments": (*made.INSTRUMENTS, Instrument("X-9", "V", "Volt meter")),
        "tables": {},
        "problems": (Problem("records/a.csv", 3, "tag", "FV-I", "Unknown tag; nearest: FV-1.", "", set_aside=True),),
        "counts": (RowCount("records/a.csv", "readings", 20, 19, 1),),
        "input_hashes": {"tags.csv": "ab" * 32},
        **changes,
    }
    return UnitRecords(**given)


def write_outputs(folder: Path, verdicts: dict[str, str]) -> None:
    """What a batch leaves, as far as the unit's page reads it; a blank verdict is a failed report."""
    with (folder / "tags.csv").open("w", newline="", encoding="utf-8") as file:
        table = csv.writer(file)
        table.writerow(["tag", "verdict", "visit", "stage", "worst_check", "report"])
        for tag, verdict in verdicts.items():
            table.writerow([tag, verdict, "1", "as_left", "", f"tags/{tag}/report.html"])
    records = made.records()
    content = result_content(records, assess_tag(records))
    for tag, verdict in verdicts.items():
        place = folder / "tags" / tag
        place.mkdir(parents=True)
        if verdict:
            own = {**content, "tag": tag, "verdict": verdict}
            (place / "result.json").write_text(json.dumps(own), encoding="utf-8")


@pytest.fixture
def results(tmp_path: Path) -> UnitResults:
    write_outputs(tmp_path, VERDICTS)
    return unit_results(unit(list(VERDICTS)), tmp_path)


def html(part: list[Any]) -> str:
    return "\n".join(each.html for each in part if isinstance(each, Section)).replace("\u00a0", " ")


def text_of(part: list[Any]) -> str:
    return " ".join(re.sub(r"<[^>]*>", " ", html(part)).split())


def test_counts_by_verdict_and_rows_are_said_first(results: UnitResults) -> None:
    parts = unit_page.front(results)
    assert isinstance(parts[0], Page)
    text = text_of(parts)
    assert "1 Fail" in text
    assert "1 Incomplete" in text
    assert "1 No verdict" in text
    assert "20 rows read: 19 used and 1 set aside" in text


def test_every_tag_has_a_row_that_leads_to_its_report(results: UnitResults) -> None:
    table = html(unit_page.tags(results))
    assert [tag for tag in VERDICTS if f'<a href="tags/{tag}/report.html">{tag}</a>' in table] == list(VERDICTS)
    assert 'data-verdict="fail"' in table
    assert "Wash &lt;water&gt;" in table


def test_the_matrix_has_a_cell_for_each_test_of_each_tag(results: UnitResults) -> None:
    rows = re.findall(r"<tr><td>.*?</tr>", html(unit_page.completeness(results)))
    assert len(rows) == len(VERDICTS)
    assert [row.count("<td") for row in rows] == [9, 9, 9]
    assert '<td class="not-assessable">not assess.</td>' in rows[0]
    assert rows[2].count('<td class="none">–</td>') == 8


def test_worst_actors_are_drawn_and_listed(results: UnitResults) -> None:
    parts = unit_page.worst_actors(results)
    assert len([each for each in parts if isinstance(each, Figure)]) == 1
    assert "FV-2" in text_of(parts)


def test_instruments_say_what_they_touched_and_which_are_idle(results: UnitResults) -> None:
    text = text_of(unit_page.instruments(results))
    assert "D-1 Inclinometer C-2 2027-01-01 position 2" in text
    assert "X-9 Volt meter – – – 0 not used" in text
    assert "none named" in text


def test_problems_name_file_row_and_reason(results: UnitResults) -> None:
    text = text_of(unit_page.problems(results))
    assert "records/a.csv 3 tag FV-I Unknown tag; nearest: FV-1. yes" in text
    assert "records/a.csv readings 20 19 1" in text


def test_a_long_list_is_cut_and_says_where_the_rest_is(tmp_path: Path) -> None:
    write_outputs(tmp_path, {"FV-1": "pass"})
    many = tuple(Problem("records/a.csv", row, "tag", "", "Blank.", "", set_aside=True) for row in range(501))
    results = unit_results(unit(["FV-1"], problems=many), tmp_path)
    assert "The first 500 of 501 are listed; problems.csv has them all." in text_of(unit_page.problems(results))


def test_outputs_without_tags_are_refused(tmp_path: Path) -> None:
    with pytest.raises(OutputsError, match=r"tags\.csv: not there.*Run the batch"):
        unit_results(unit(["FV-1"]), tmp_path)


def test_a_tag_that_a_spreadsheet_would_run_is_found_again(tmp_path: Path) -> None:
    write_outputs(tmp_path, {"FV-1": "pass"})
    protected = (tmp_path / "tags.csv").read_text(encoding="utf-8").replace("FV-1,pass", "'-FV1,pass")
    (tmp_path / "tags.csv").write_text(protected, encoding="utf-8")
    results = unit_results(unit(["-FV1"]), tmp_path)
    assert results.tags[0].report == "tags/FV-1/report.html"


def test_ten_thousand_tags_stay_one_page_of_a_few_megabytes(tmp_path: Path) -> None:
    write_outputs(tmp_path, {"FV-1": "pass"})
    one = unit_results(unit(["FV-1"]), tmp_path)
    results = dataclasses.replace(one, tags=one.tags * 10_000)
    size = sum(len(html(part(results))) for part in (unit_page.tags, unit_page.completeness))
    assert size < 8_000_000


def test_a_share_just_above_the_limit_never_reads_as_on_it() -> None:
    assert share_text(1.00004) == "100.004 %"
    assert share_text(float("inf")) == "beyond"
