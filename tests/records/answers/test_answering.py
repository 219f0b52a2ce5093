"""Each decision holds where its conditions do, and is an open record of its own where one does not."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from kit.basis.records import Problem, Scope, UnitRecords

TAGS = (
    "tag,command_range,fail_action,safety_function\n"
    "FV-101,4-20 mA,closed,\nFV-102,4-20 mA,closed,no\nXV-9,4-20 mA,closed,yes\nXV-8,4-20 mA,closed,perhaps\n"
)
VISITS = "tag,visit,date\n" + "".join(
    f"{tag},{visit},2026-03-0{visit}\n" for tag in ("FV-101", "FV-102", "XV-9", "XV-8") for visit in (1, 2)
)
HEAD = "tag,visit,stage,direction,time_s,at\n"
GOOD = "FV-101,1,as_left,open,20,\n"
QUICK = "FV-101,1,as_left,open,quick,\n"
ANSWER = "record,decision,reason,by,on,tag,visit,stage,value,second_person,of_tag,of_table\n"

Answer = Callable[..., UnitRecords]


def strokes(*rows: str) -> dict[str, str]:
    return {"tags.csv": TAGS, "records/visits.csv": VISITS, "records/strokes.csv": HEAD + "".join(rows)}


def line(record: str, decision: str, **cells: str) -> str:
    given = {"reason": "made again", "by": "N. One", "on": "2026-04-01", **cells}
    columns = ANSWER.strip().split(",")
    return ",".join({"record": record, "decision": decision, **given}.get(each, "") for each in columns) + "\n"


@pytest.fixture
def answer(read_files) -> Answer:
    """Read files, answer the record of a row, and read them again."""

    def give(
        files: dict[str, Any], row: int | None, decision: str, table: str = "strokes", **cells: str
    ) -> UnitRecords:
        before = read_files(files)
        keys = [each.record for each in before.problems if each.row == row and each.table == table]
        return read_files({**files, "records/dispositions.csv": ANSWER + line(keys[0], decision, **cells)})

    return give


def status(unit: UnitRecords, row: int) -> set[str]:
    return {each.status for each in unit.problems if each.row == row and each.table == "strokes"}


def refusals(unit: UnitRecords) -> list[Problem]:
    found = [each for each in unit.problems if each.table == "dispositions"]
    assert all(each.status == "open" and each.set_aside for each in found)
    return found


def holds(unit: UnitRecords, row: int) -> bool:
    assert bool(refusals(unit)) == (status(unit, row) != {"answered"})
    return status(unit, row) == {"answered"}


def why(unit: UnitRecords) -> str:
    (refusal,) = refusals(unit)
    return refusal.problem


def test_an_answer_that_holds_is_told_with_the_record_and_counted_as_used(answer: Answer) -> None:
    unit = answer(strokes(QUICK, GOOD), 2, "repeated")
    (problem,) = [each for each in unit.problems if each.status == "answered"]
    assert problem.answer is not None
    assert (problem.answer.by, problem.answer.on, problem.answer.reason) == ("N. One", "2026-04-01", "made again")
    (count,) = [each for each in unit.counts if each.table == "dispositions"]
    assert (count.read, count.used, count.set_aside) == (1, 1, 0)


def test_an_answer_that_does_not_hold_is_an_open_record_of_the_scope_of_the_one_it_answers(answer: Answer) -> None:
    unit = answer(strokes(GOOD, QUICK), 3, "repeated")
    (refusal,) = refusals(unit)
    assert (refusal.file, refusal.row, refusal.column) == ("records/dispositions.csv", 2, "record")
    assert refusal.scope == Scope(("FV-101",), "1", "as_left", "strokes")
    assert status(unit, 3) == {"open"}
    (count,) = [each for each in unit.counts if each.table == "dispositions"]
    assert (count.read, count.used, count.set_aside) == (1, 0, 1)


@pytest.mark.parametrize(
    ("rows", "row", "repeats"),
    [
        pytest.param((QUICK, GOOD), 2, True, id="lower in its file"),
        pytest.param((GOOD, QUICK), 3, False, id="only one before it"),
        pytest.param((QUICK, "FV-101,1,as_left,close,20,\n"), 2, False, id="the other way"),
        pytest.param((QUICK, "FV-102,1,as_left,open,20,\n"), 2, False, id="another tag"),
        pytest.param((QUICK, "FV-101,2,as_left,open,20,\n"), 2, False, id="another visit"),
        pytest.param((QUICK, "FV-101,1,as_found,open,20,\n"), 2, False, id="another stage"),
        pytest.param((QUICK, "FV-101,1,as_left,open,slow,\n"), 2, False, id="one that cannot be read either"),
        pytest.param(
            ("FV-101,1,as_left,open,20,2026-03-01T10:00\n", "FV-101,1,as_left,open,quick,2026-03-01T09:00\n"),
            3,
            True,
            id="later by its time",
        ),
        pytest.param(
            ("FV-101,1,as_left,open,quick,2026-03-01T10:00\n", "FV-101,1,as_left,open,20,2026-03-01T09:00\n"),
            2,
            False,
            id="earlier by its time",
        ),
        pytest.param(("FV-101,1,as_left,sideways,20,\n", GOOD), 2, True, id="of a way that cannot be read"),
    ],
)
def test_repeated_asks_for_a_used_row_of_the_same_test_made_after_it(answer, rows, row: int, repeats: bool) -> None:
    assert holds(answer(strokes(*rows), row, "repeated"), row) == repeats


def test_a_used_row_answers_one_record_alone(read_files) -> None:
    files = strokes(QUICK, "FV-101,1,as_left,open,slow,\n", GOOD)
    keys = [each.record for each in read_files(files).problems if each.status == "open" and each.table == "strokes"]
    lines = ANSWER + "".join(line(key, "repeated") for key in keys)
    unit = read_files({**files, "records/dispositions.csv": lines})
    assert [len(status(unit, row) & {"answered"}) for row in (2, 3)] in ([1, 0], [0, 1])
    assert "does not answer another record" in why(unit)


def test_repeated_asks_what_a_row_is_of_where_nobody_can_read_it(answer: Answer) -> None:
    files = strokes("FV-10,1,as_left,open,20,\n", GOOD, "FV-102,1,as_left,open,20,\n")
    assert "Enter tag" in why(answer(files, 2, "repeated"))
    assert "Enter tag" in why(answer(files, 2, "repeated", tag="XV-9"))
    assert holds(answer(files, 2, "repeated", tag="FV-101"), 2)
    files = strokes("FV-101,7,as_left,open,20,\n", GOOD)
    assert "Enter visit" in why(answer(files, 2, "repeated"))
    assert holds(answer(files, 2, "repeated", visit="1"), 2)
    assert not holds(answer(files, 2, "repeated", visit="2"), 2)


def test_repeated_asks_for_all_that_the_row_held(answer: Answer) -> None:
    head = "tag,visit,insulation_mohm,earth_ohm\n"
    files = {"tags.csv": TAGS, "records/visits.csv": VISITS}
    electrical = {**files, "records/electrical.csv": head + "FV-101,1,poor,1\nFV-101,1,,1.1\n"}
    assert refusals(answer(electrical, 2, "repeated", "electrical"))
    electrical = {**files, "records/electrical.csv": head + "FV-101,1,poor,1\nFV-101,1,200,1.1\n"}
    assert not refusals(answer(electrical, 2, "repeated", "electrical"))


@pytest.mark.parametrize(
    ("row", "given", "holds_"),
    [
        ("FV-1O1,1,as_left,close,21,\n", {"tag": "FV-101"}, True),
        ("FV-1O1,1,as_left,close,21,\n", {"tag": "FV-102"}, False),
        ("FV-1O1,1,as_left,close,21,\n", {"tag": "FV-999"}, False),
        ("FV-1O1,1,as_left,close,21,\n", {}, False),
        ("FV-1O1,1,as_left,close,quick,\n", {"tag": "FV-101"}, False),
        ("FV-101,7,as_left,close,21,\n", {"visit": "2"}, True),
        ("FV-101,7,as_left,close,21,\n", {"visit": "8"}, False),
        ("FV-101,1,as_lost,close,21,\n", {"stage": "as_found"}, True),
        ("FV-101,1,as_left,close,quick,\n", {"stage": "as_found"}, False),
        ("FV-101,1,as_left,close,quick,\n", {"visit": "2"}, False),
    ],
)
def test_belongs_to_reads_the_row_with_what_is_given(answer, row: str, given: dict[str, str], holds_: bool) -> None:
    unit = answer(strokes(GOOD, row), 3, "belongs_to", **given)
    assert holds(unit, 3) == holds_
    used = unit.tables["strokes"].where(unit.tables["strokes"]["row"] == 3)
    assert len(used) == holds_
    for name, value in given.items() if holds_ else ():
        assert used[name].tolist() == [value]
    (count,) = [each for each in unit.counts if each.file == "records/strokes.csv"]
    assert (count.read, count.used) == (2, 1 + holds_)


@pytest.mark.parametrize(
    ("tag", "holds_"), [("PV-77", True), ("", False), ("FV-102", False), ("fv 1o2", False), ("FW-103", False)]
)
def test_elsewhere_names_a_tag_that_is_neither_registered_nor_what_the_row_reads(answer, tag, holds_) -> None:
    assert holds(answer(strokes(GOOD, "FW-103,1,as_left,open,20,\n"), 3, "elsewhere", tag=tag), 3) == holds_


@pytest.mark.parametrize(
    ("value", "second", "holds_"),
    [
        ("21.5", "N. Two", True),
        ("21.5", "", False),
        ("21.5", "n. one", False),
        ("fast", "N. Two", False),
        ("", "N. Two", False),  # a stroke without a time
    ],
)
def test_misread_gives_the_cell_its_value_where_two_persons_say_so(answer, value, second, holds_) -> None:
    unit = answer(strokes(GOOD, QUICK), 3, "misread", value=value, second_person=second)
    assert holds(unit, 3) == holds_
    assert unit.tables["strokes"]["time_s"].tolist() == ([20, 21.5] if holds_ else [20])
    assert unit.as_typed == ()  # what cannot be read cannot be judged beside it


def test_misread_says_nothing_of_what_a_row_is_of(answer: Answer) -> None:
    unit = answer(strokes("FV-1O1,1,as_left,open,20,\n"), 2, "misread", value="FV-102", second_person="N. Two")
    assert "use belongs_to" in why(unit)


def test_what_was_typed_in_a_used_cell_is_kept_to_be_judged_beside(answer: Answer) -> None:
    settings = "tag,visit,stage,setting,value\nFV-101,1,as_found,dead band,1 %\nFV-101,1,as_left,dead band,1 %\n"
    adjusted = "tag,visit,at,what\nFV-101,1,2026-03-01,dead_band\n"
    files = {**strokes(GOOD), "records/settings.csv": settings, "records/adjustments.csv": adjusted}
    unit = answer(files, 3, "misread", "settings", value="2 %", second_person="N. Two")
    (typed,) = unit.as_typed
    assert (typed.tag, typed.table, typed.row, typed.column, typed.value) == ("FV-101", "settings", 3, "value", "1 %")
    assert unit.tables["settings"]["value"].tolist() == ["1 %", "2 %"]
    assert not refusals(unit)


def test_a_flag_is_answered_by_misread_alone(answer: Answer) -> None:
    settings = "tag,visit,stage,setting,value\nFV-101,1,as_found,dead band,1 %\nFV-101,1,as_left,dead band,1 %\n"
    adjusted = "tag,visit,at,what\nFV-101,1,2026-03-01,dead_band\n"
    files = {**strokes(GOOD), "records/settings.csv": settings, "records/adjustments.csv": adjusted}
    assert "only misread answers it" in why(answer(files, 3, "no_measurement", "settings"))


@pytest.mark.parametrize(
    ("row", "holds_"),
    [
        ("FV-101,1,as_left,open,,\n", True),
        ("tag,visit,stage,direction,time_s,at\n", True),
        ("FV-1O1,1,as_left,open,20,\n", True),  # as the used row above it
        ("FV-1O1,1,as_left,open,21,\n", False),
        (QUICK, False),
        ("FV-101,1,as_left,open,,,20\n", False),
    ],
)
def test_no_measurement_asks_for_blank_cells_a_heading_or_a_used_row(answer, row: str, holds_: bool) -> None:
    assert holds(answer(strokes(GOOD, row), 3, "no_measurement"), 3) == holds_


def test_no_record_answers_no_row(answer: Answer) -> None:
    assert "and this is a row" in why(answer(strokes(GOOD, QUICK), 3, "no_record"))


@pytest.mark.parametrize(
    ("cells", "words"),
    [
        ({"by": ""}, "by is blank"),
        ({"reason": ""}, "reason is blank"),
        ({"on": ""}, "on is blank"),
        ({"on": "soon"}, "'soon' is not a date"),
    ],
)
def test_an_answer_says_who_when_and_why(answer: Answer, cells: dict[str, str], words: str) -> None:
    unit = answer(strokes(QUICK, GOOD), 2, "repeated", **cells)
    assert words in why(unit)
    assert not holds(unit, 2)


@pytest.mark.parametrize(
    ("tag", "second", "holds_"),
    [
        ("XV-9", "", False),
        ("XV-9", "N. One", False),
        ("XV-9", "N. Two", True),
        ("XV-8", "", False),
        ("FV-102", "", True),
    ],
)
def test_a_safety_function_asks_for_a_second_person(answer: Answer, tag: str, second: str, holds_: bool) -> None:
    files = strokes(f"{tag},1,as_left,open,quick,\n", f"{tag},1,as_left,open,20,\n")
    assert holds(answer(files, 2, "repeated", second_person=second), 2) == holds_


def test_of_two_answers_that_differ_neither_counts_and_the_same_twice_counts_once(read_files) -> None:
    files = strokes(QUICK, GOOD)
    (key,) = {each.record for each in read_files(files).problems if each.status == "open" and each.table == "strokes"}
    twice = ANSWER + line(key, "repeated") * 2
    assert holds(read_files({**files, "records/dispositions.csv": twice}), 2)
    both = ANSWER + line(key, "repeated") + line(key, "repeated", reason="another")
    unit = read_files({**files, "records/dispositions.csv": both})
    assert status(unit, 2) == {"open"}
    assert [each.row for each in refusals(unit)] == [2, 3]


def test_a_changed_row_asks_again(read_files) -> None:
    files = strokes(QUICK, GOOD)
    (key,) = {each.record for each in read_files(files).problems if each.status == "open" and each.table == "strokes"}
    given = {"records/dispositions.csv": ANSWER + line(key, "repeated")}
    unit = read_files({**strokes(QUICK.replace("quick", "slow"), GOOD), **given})
    assert status(unit, 2) == {"open"}
    (refusal,) = refusals(unit)
    assert "No record has this key" in refusal.problem
    assert refusal.scope == Scope()


def test_an_answer_to_what_only_a_report_knows_goes_with_the_tag_that_it_names(read_files) -> None:
    answers = {"records/dispositions.csv": ANSWER + line("r0123456789abcde", "misread", of_tag="FV-102")}
    unit = read_files({**strokes(GOOD), **answers})
    assert [(each.of_tag, each.record) for each in unit.answers] == [("FV-102", "r0123456789abcde")]
    assert not refusals(unit)


def test_an_answer_lifts_its_own_record_and_nothing_else(answer: Answer) -> None:
    rows = (QUICK, GOOD, "FV-101,1,as_left,close,slow,\n", "FV-1O1,1,as_left,close,20,\n")
    unit = answer(strokes(*rows), 2, "repeated")
    assert [status(unit, row) for row in (2, 4, 5)] == [{"answered"}, {"open"}, {"open"}]
    unit = answer(strokes(*rows), 5, "belongs_to", tag="FV-101")
    assert [status(unit, row) for row in (2, 4, 5)] == [{"open"}, {"open"}, {"answered"}]


def test_no_record_answers_a_file_that_cannot_be_read(answer: Answer) -> None:
    files = {**strokes(GOOD), "records/strokes-more.xlsx": b"PK garbage"}
    unit = answer(files, None, "no_record", table="", second_person="N. Two")
    assert {each.status for each in unit.problems if each.file == "records/strokes-more.xlsx"} == {"answered"}
    assert not refusals(unit)


@pytest.mark.parametrize("heading", ["", "tme_s"])
def test_no_record_answers_no_column_of_a_file_that_is_read(answer: Answer, heading: str) -> None:
    table = f"tag,visit,stage,direction,time_s,{heading},at\nFV-101,1,as_left,open,20,77,2026-03-01\n"
    files = {**strokes(), "records/strokes.csv": table}
    unit = answer(files, None, "no_record", second_person="N. Two")
    assert "this one is read" in why(unit)


def test_no_record_answers_a_file_without_a_row(answer: Answer) -> None:
    files = {**strokes(GOOD), "records/strokes-more.csv": HEAD}
    assert not refusals(answer(files, None, "no_record", second_person="N. Two"))


@pytest.mark.parametrize("name", ["dispositions", "open_records"])
def test_a_list_of_nothing_to_answer_leaves_nothing_open(read_files, name: str) -> None:
    unit = read_files({**strokes(GOOD), f"records/{name}.csv": ANSWER})
    assert not [each for each in unit.problems if each.status == "open" and each.table != "tags"]
    assert read_files({**strokes(QUICK), f"records/{name}.csv": ANSWER + "r1" + "," * 11 + "\n"}).answers == ()
