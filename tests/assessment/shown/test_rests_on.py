"""What a verdict rests on, in sentences."""

from __future__ import annotations

from dataclasses import replace

from kit.assessment import assess_tag
from kit.assessment.shown.rests_on import answers_words, open_records, problems_of, rests_on
from kit.basis.answers import Answer
from kit.basis.records import Problem, Scope
from tests.assessment.builders import GOOD, limit, records

FILE = "records/strokes.csv"
TABLES = {"strokes": [{"direction": "open", "time_s": 20.0}], "electrical": [{"earth_ohm": 0.2}]}


def assessed(*problems):
    made = records(TABLES, limit("earth_resistance", maximum=1.0), instruments=GOOD, rule="simple")
    made = replace(made, problems=problems)
    return made, assess_tag(made)


def test_what_was_judged_and_what_was_not_for_want_of_a_limit_is_named():
    _, found = assessed()
    judged, unjudged, absent = rests_on(found.deciding, ())
    assert judged == "The verdict rests on 1 check held against limits."
    assert unjudged.startswith("Recorded and not judged, for want of a limit: Stroke time, opening")
    assert absent.startswith("Not recorded, and without a limit: Inaccuracy, ")
    assert "opening" not in absent


def test_an_open_record_that_no_judged_check_rests_on_is_named_all_the_same():
    lost = Problem(FILE, 3, "", "", "", record="r1", status="open", scope=Scope(("T",), "0", table="strokes"))
    made, found = assessed(lost)
    assert open_records(made, found) == (lost,)
    assert rests_on(found.deciding, [lost])[-1] == (
        "1 record unanswered: strokes.csv row 3. What was judged does not rest on it."
    )


def test_a_used_row_that_lacks_a_cell_is_listed_once():
    lacks = Problem(
        FILE, 2, "time_s", "", "", status="blank", scope=Scope(("T",), table="electrical", columns=("earth_ohm",))
    )
    made, found = assessed(lacks)
    assert [each.status for each in problems_of(made, found)] == ["open"]


def test_answers_are_told_by_person_day_and_reason():
    answer = Answer("r1", "no_measurement", "An empty line.", "N. N.", "2026-05-03")
    other = replace(answer, record="r3", by="O. O.", second_person="P. P.", reason="typed twice")
    answered = [
        Problem(FILE, row, "", "", "", record=f"r{row}", status="answered", answer=given)
        for row, given in ((1, answer), (2, answer), (3, other))
    ]
    assert answers_words(answered) == (
        "with 2 records answered by N. N. on 2026-05-03: An empty line; "
        "1 record answered by O. O. on 2026-05-03, confirmed by P. P.: typed twice"
    )
    assert answers_words([replace(answered[0], status="open", answer=None)]) == ""


def test_a_misread_value_is_told_beside_what_is_taken_for_it():
    answer = Answer("r1", "misread", "The photo shows 1.8.", "N. N.", "2026-05-03", value="1.8", second_person="P. P.")
    told = Problem(FILE, 2, "time_s", "l.8", "", record="r1", status="answered", answer=answer)
    assert answers_words([told]).endswith("confirmed by P. P.: The photo shows 1.8 (time_s 'l.8' is taken as 1.8)")
    assert "is taken as not recorded" in answers_words([replace(told, answer=replace(answer, value=""))])


def test_records_that_hold_a_judged_check_back_are_not_said_to_be_beside_it():
    """However many: the reason of the check names the first and counts the rest."""
    scope = Scope(("T",), "1", "as_left", table="electrical")
    held = [
        Problem("records/electrical.csv", row, "", "", "", record=f"r{row}", status="open", scope=scope)
        for row in range(3, 30)
    ]
    made, found = assessed(*held)
    (earth,) = (each for each in found.deciding.checks if each.check == "earth_resistance")
    assert (earth.verdict, earth.reason[:21]) == ("not_assessable", "27 records unanswered")
    assert len(open_records(made, found)) == 27
    assert not any("does not rest" in each for each in rests_on(found.deciding, held))


def test_what_rests_on_flagged_readings_is_named():
    flag = Problem(FILE, 2, "time_s", "", "", "T", scope=Scope(("T",), "1", "as_left", "strokes", ("time_s",)))
    _, found = assessed(flag)
    assert rests_on(found.deciding, ())[-1] == "1 check rests on what is flagged (strokes.csv row 2)."
    checks = tuple(replace(each, verdict="pass") for each in found.deciding.checks)
    assert rests_on(replace(found.deciding, checks=checks), ())[-1] == (
        "1 check rests on what is flagged (strokes.csv row 2): Stroke time, opening."
    )


def test_page_one_says_how_many_checks_wait_for_a_limit_to_be_confirmed():
    waiting = replace(limit("earth_resistance", maximum=1.0), placeholder_in="modulating")
    found = assess_tag(records(TABLES, waiting, instruments=GOOD, rule="simple"))
    assert found.verdict == "incomplete"
    assert rests_on(found.deciding, ())[:2] == (
        "The verdict rests on 0 checks held against limits.",
        "1 check of limits that are placeholders, which no engineer has confirmed: by these nothing passes.",
    )
