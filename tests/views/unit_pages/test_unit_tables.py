"""Tables of the unit's page."""

from __future__ import annotations

from typing import Any

from kit.assessment.shown.unit_results import TagLine, UnitResults
from kit.basis.records import Problem, RowCount
from kit.basis.registers import Instrument
from kit.views.unit_pages.unit_tables import (
    count_table,
    file_table,
    instrument_table,
    nearest_table,
    problem_table,
)
from tests.views import made
from tests.views.reader import rows


def line(tag: str, **result: Any) -> TagLine:
    return TagLine(tag, f"Service {tag}", f"tags/{tag}/report.html", result)


def unit(*lines: TagLine, **changes: Any) -> UnitResults:
    given = {"instruments": (), "problems": (), "counts": (), "input_hashes": {}, **changes}
    return UnitResults(made.settings(), lines, **given)


def near(tag: str, share: float | None, verdict: str = "pass") -> TagLine:
    return line(tag, verdict=verdict, nearest={"title": "Inaccuracy", "value": "+0.5 %", "share": share})


def test_the_tags_that_use_most_come_first():
    table = nearest_table(unit(near("A", 0.5), near("B", None, "fail"), line("C"), near("D", 1.0004, "fail")))
    assert rows(table) == [
        ["B", "Service B", "Inaccuracy", "+0.5 %", "beyond", "Fail"],
        ["D", "Service D", "Inaccuracy", "+0.5 %", "100.04 %", "Fail"],
        ["A", "Service A", "Inaccuracy", "+0.5 %", "50 %", "Pass"],
    ]
    assert table.rows[0][0].href == "tags/B/report.html"
    assert len(nearest_table(unit(*(near(str(count), 0.5) for count in range(25)))).rows) == 20


def test_an_instrument_says_what_it_touched_and_what_was_wrong():
    def use(name: str, role: str, fault: str = "") -> dict[str, str]:
        return {"instrument": name, "role": role, "fault": fault}

    faulty = [use("LATE", "time", f"fault {count}") for count in range(4)]
    uses = [use("GOOD", "position"), use("GOOD", "command"), use("", "time", "none named"), use("GONE", "time")]
    registered = (Instrument("GOOD", "mA", "Calibrator", certificate="C-1", due_on="2027"), Instrument("IDLE", "mA"))
    results = unit(line("A", instruments=[*faulty, *uses]), line("B", instruments=uses[:1]), instruments=registered)
    assert rows(instrument_table(results)) == [
        ["LATE", "not in the register", "–", "–", "time", "1", "fault 0; fault 1; fault 2 and others"],
        ["none named", "–", "–", "–", "time", "1", "none named"],
        ["GONE", "not in the register", "–", "–", "time", "1", "in order"],
        ["GOOD", "Calibrator", "C-1", "2027", "command, position", "2", "in order"],
        ["IDLE", "–", "–", "–", "–", "0", "not used"],
    ]
    counts = [row[5] for row in instrument_table(results).rows]
    assert [(each.href, each.view) for each in counts] == [
        ("#list-of-tags", "instrument=LATE"),
        ("", ""),
        ("#list-of-tags", "instrument=GONE"),
        ("#list-of-tags", "instrument=GOOD"),
        ("", ""),
    ]


def test_rows_of_every_file_and_every_problem_stand_in_their_columns():
    problem = Problem("a.csv", 3, "time_s", "x", "Not a number.", "FV-1", set_aside=True)
    results = unit(counts=(RowCount("a.csv", "strokes", 9, 7, 2),), problems=(problem,))
    assert rows(count_table(results)) == [["a.csv", "strokes", "9", "7", "2"]]
    assert rows(problem_table(results)) == [["FV-1", "a.csv", "3", "time_s", "x", "Not a number.", "–", "flag"]]


def test_a_crowd_inside_a_limit_stands_before_the_problems_of_tags():
    problem = Problem("a.csv", 3, "time_s", "x", "Not a number.", "FV-1", set_aside=True)
    tags = [TagLine(f"FV-{number}", "", "", {"near": [["inaccuracy", "as_left", 99.0]]}) for number in range(12)]
    crowd, own = rows(problem_table(unit(*tags, problems=(problem,))))
    assert (crowd[0], crowd[1]) == ("–", "results.csv")
    assert "of 12 values that use more than 80 % of their tolerance 12 use more than 95 %" in crowd[5]
    assert own[0] == "FV-1"


def test_every_file_beside_the_page_can_be_opened():
    assert [row[0].href for row in file_table().rows][:3] == ["unit.xlsx", "results.csv", "tags.csv"]
