"""What an adjustment leaves without a result."""

from __future__ import annotations

import dataclasses
from datetime import datetime, timedelta

import pytest
from hypothesis import given
from hypothesis.strategies import integers, sampled_from

from kit.assessment import assess_tag
from kit.basis.records import Problem, Scope
from kit.basis.registers import Visit
from kit.basis.retest import CHANGES, RETEST
from tests.assessment.builders import GOOD, check, limit, records, stroke, visit
from tests.assessment.with_recordings import with_recordings

DAY = "2026-03-10"


def tag(*adjustments, at="", as_left_from="", errors=(0, 0, 0.1, 0, 0), opening_s=30.0, **further):
    """A good tag with readings and strokes as left of visit 1, and these adjustments."""
    strokes = [{"direction": way, "time_s": opening_s, "at": at} for way in ("open", "open", "close", "close")]
    tables = {
        "readings": [each | {"at": at} for each in stroke(*errors)],
        "strokes": strokes,
        "prechecks": [{"item": "tight", "result": "yes", "at": at}],
        "adjustments": adjustments,
    }
    limits = (
        limit("inaccuracy", plus_minus=1),
        limit("stroke_time_open", maximum=40),
        limit("prechecks", maximum=0),
    )
    seen = dataclasses.replace(visit(), as_left_from=as_left_from)
    made = records(tables | further.pop("tables", {}), *limits, instruments=GOOD, visits=(seen,), rule="simple")
    return dataclasses.replace(made, **further)


def adjusted(what="travel_stop", at=f"{DAY}T10:00", of_visit="1"):
    return {"what": what, "at": at, "visit": of_visit}


def verdicts(made):
    found = assess_tag(made)
    return [check(found, name).verdict for name in ("inaccuracy", "stroke_time_open", "prechecks")]


def test_a_travel_stop_moved_after_all_readings_leaves_nothing_that_it_touches():
    made = tag(adjusted(at=f"{DAY}T15:00"), at=f"{DAY}T09:00")
    found = assess_tag(made)
    assert found.verdict == "incomplete"
    assert verdicts(made) == ["stale", "stale", "pass"]
    assert check(found, "inaccuracy").reason == (
        f"made before a change, travel stop (adjustment of {DAY}T15:00, visit 1): repeat it"
    )
    assert check(found, "inaccuracy").value == pytest.approx(0.1)
    (item,) = found.punch_list
    assert (item.check, item.what) == ("inaccuracy, stroke_time_open", "2 checks have to be repeated")
    assert "strokebook sheet --missing T makes a sheet" in item.suggested_action


def test_the_command_that_prints_what_is_stale_takes_a_tag_with_a_blank_as_one_word():
    made = tag(adjusted(at=f"{DAY}T15:00"), at=f"{DAY}T09:00")
    found = assess_tag(dataclasses.replace(made, tag=dataclasses.replace(made.tag, tag="FV 101")))
    assert "strokebook sheet --missing 'FV 101' makes" in check(found, "inaccuracy").suggested_action


def test_one_row_before_the_adjustment_is_enough():
    rows = stroke(0, 0, 0.1, 0, 0)
    rows = [each | {"at": f"{DAY}T{'09' if place == 3 else '11'}:00"} for place, each in enumerate(rows)]
    assert verdicts(tag(adjusted(), at=f"{DAY}T11:00", tables={"readings": rows})) == ["stale", "pass", "pass"]


@pytest.mark.parametrize(
    ("at", "as_left_from", "adjusted_at", "stale"),
    [
        ("", "", f"{DAY}T10:00", True),  # nobody says when the readings were taken
        ("", f"{DAY}T11:00", f"{DAY}T10:00", False),
        ("", f"{DAY}T10:00", f"{DAY}T10:00", False),  # as left from the adjustment on
        ("", f"{DAY}T10:00", f"{DAY}T10:01", True),
        ("", DAY, f"{DAY}T10:00", True),  # of the same day, nobody knows in which order
        ("", DAY, "2026-03-09", False),
        (f"{DAY}T11:00", "", DAY, True),
        (DAY, "", f"{DAY}T10:00", True),
        (f"{DAY}T10:00", "", f"{DAY}T10:00", True),  # the same minute
        (f"{DAY}T10:01", "", f"{DAY}T10:00", False),
        (f"{DAY}T10:01", f"{DAY}T08:00", f"{DAY}T10:00", False),  # a time of the row's own counts
        (f"{DAY}T09:00", f"{DAY}T11:00", f"{DAY}T10:00", True),
        ("ten o'clock", f"{DAY}T11:00", f"{DAY}T10:00", True),  # cannot be read: as_left_from does not stand for it
        (f"{DAY}T11:00", "", "", True),
        (f"{DAY}T11:00+01:00", "", f"{DAY}T10:30", True),  # one with a zone, one without
        (f"{DAY}T11:00+01:00", "", f"{DAY}T10:30+02:00", False),
        (f"{DAY}T11:00+01:00", "", f"{DAY}T10:30+00:00", True),
        ("2026-03-12T11:00+01:00", "", f"{DAY}T10:30", False),
    ],
)
def test_an_adjustment_touches_what_is_not_known_to_come_after_it(at, as_left_from, adjusted_at, stale):
    found = verdicts(tag(adjusted(at=adjusted_at), at=at, as_left_from=as_left_from))
    assert found == (["stale", "stale", "pass"] if stale else ["pass"] * 3)


def test_the_reason_says_what_would_settle_it():
    found = check(assess_tag(tag(adjusted())), "stroke_time_open")
    assert found.reason == (
        f"nothing says that it was made after a change, travel stop (adjustment of {DAY}T10:00, visit 1): repeat it, "
        "or write at on its rows of strokes, or as_left_from on visit 1"
    )
    found = check(assess_tag(tag(adjusted(at=DAY), as_left_from=f"{DAY}T11:00")), "stroke_time_open")
    assert found.reason.endswith("repeat it, or write date, time and zone of both in the same way")


def test_what_failed_before_an_adjustment_stays_failed_and_says_so():
    found = assess_tag(tag(adjusted(at=f"{DAY}T15:00"), at=f"{DAY}T09:00", errors=(0, 0, 5, 0, 0)))
    assert found.verdict == "fail"
    assert check(found, "inaccuracy").verdict == "fail"
    assert "made before a change, travel stop" in check(found, "inaccuracy").reason


def test_a_part_replaced_touches_the_prechecks_too_and_a_faceplate_nothing_here():
    assert verdicts(tag(adjusted("part_replaced"))) == ["stale"] * 3
    assert verdicts(tag(adjusted("control_system_range"))) == ["pass"] * 3


def test_adjustments_of_an_earlier_visit_do_not_touch_a_later_one():
    earlier, later = visit("0", "2026-03-01"), visit()
    for at, stale in (("2026-03-01T10:00", False), ("", False), ("2026-03-11", True), (f"{DAY}T08:00", True)):
        made = dataclasses.replace(tag(adjusted(at=at, of_visit="0")), visits=(earlier, later))
        assert verdicts(made)[0] == ("stale" if stale else "pass"), at


def test_an_adjustment_of_a_visit_without_a_date_touches_what_is_not_known_to_come_after_it():
    assert verdicts(tag(adjusted(of_visit="who knows")))[0] == "stale"


def test_an_adjustment_that_cannot_be_read_touches_all_of_its_visit_and_of_those_before():
    def unread(of_visit):
        scope = Scope(("T",), visit=of_visit, table="adjustments")
        return Problem("records/adjustments.csv", 5, "at", "noon", "No date.", "T", status="open", scope=scope)

    of_no_table = unread("1")
    of_no_table = dataclasses.replace(of_no_table, table="adjustments", scope=Scope(("T",), visit="1"))
    assert set(verdicts(tag(problems=(of_no_table,)))) <= {"stale", "not_assessable"}
    for name in ("", "1"):
        assert set(verdicts(tag(problems=(unread(name),)))) <= {"stale", "not_assessable"}
    earlier = dataclasses.replace(tag(problems=(unread("0"),)), visits=(visit("0", "2026-03-01"), visit()))
    assert verdicts(earlier) == ["pass"] * 3
    answered = dataclasses.replace(unread(""), status="answered")
    assert verdicts(tag(problems=(answered,))) == ["pass"] * 3


def test_a_stage_of_the_history_is_touched_by_the_adjustments_of_its_own_visit():
    rows = [adjusted(), adjusted("speed", of_visit="2", at="2026-04-01")]
    made = dataclasses.replace(tag(*rows), visits=(visit(), Visit("2", "2026-04-01")))
    of_first = next(each for each in assess_tag(made).stages if each.visit == "1")
    assert {each.verdict for each in of_first.checks if each.check == "inaccuracy"} == {"stale"}
    alone = dataclasses.replace(tag(rows[1]), visits=made.visits)
    of_first = next(each for each in assess_tag(alone).stages if each.visit == "1")
    assert {each.verdict for each in of_first.checks if each.check == "inaccuracy"} == {"pass"}


def test_readings_as_found_are_before_any_adjustment():
    rows = [each | {"stage": "as_found"} for each in stroke(0, 0, 0.1, 0, 0)]
    found = assess_tag(tag(adjusted(), tables={"readings": rows}))
    assert {each.verdict for each in found.as_found.checks if each.check == "inaccuracy"} == {"pass"}


@pytest.mark.parametrize(
    ("start", "as_left_from", "stale"),
    [
        (f"{DAY}T11:00:00", "", False),
        (f"{DAY}T09:00:00", "", True),
        (f"{DAY}T09:00:00", f"{DAY}T11:00", True),  # the recording knows better
        ("", "", True),
        ("", f"{DAY}T11:00", False),
    ],
)
def test_a_recording_was_made_when_its_first_time_stamp_says(healthy, start, as_left_from, stale):
    made = with_recordings(
        healthy,
        tables={"adjustments": [adjusted("dead_band")]},
        limits=(limit("dead_band", maximum=50), limit("inaccuracy", plus_minus=50), limit("overshoot", maximum=50)),
    )
    logs = tuple(dataclasses.replace(each, start=start) for each in made.recordings)
    seen = dataclasses.replace(made.visits[0], as_left_from=as_left_from)
    found = assess_tag(dataclasses.replace(made, recordings=logs, visits=(seen,)))
    verdicts = {each.check: each.verdict for each in found.deciding.checks}
    assert {verdicts[name] for name in ("dead_band", "inaccuracy", "overshoot")} == {"stale" if stale else "pass"}


MINUTES = integers(-3000, 3000)
START = datetime(2026, 3, 10, 12, 0)


def text_of(minutes, form):
    moment = START + timedelta(minutes=minutes)
    return {"date": moment.date().isoformat(), "zone": f"{moment.isoformat()}+01:00"}.get(form, moment.isoformat())


@given(
    taken=MINUTES,
    changed=MINUTES,
    what=sampled_from(CHANGES),
    forms=sampled_from([(a, b) for a in ("plain", "date", "zone", "") for b in ("plain", "date", "zone")]),
    from_on=sampled_from([True, False]),
)
def test_an_adjustment_never_leaves_a_pass_of_what_it_touches_unless_the_rows_are_known_to_be_later(
    taken, changed, what, forms, from_on
):
    """And one known to be earlier than every row changes nothing."""
    at = text_of(taken, forms[0]) if forms[0] else ""
    made = tag(adjusted(what, text_of(changed, forms[1])), at="" if from_on else at, as_left_from=at if from_on else "")
    found = dict(zip(("inaccuracy", "stroke_time_open", "prechecks"), verdicts(made), strict=True))
    for name, verdict in found.items():
        if name not in RETEST[what]:
            assert verdict == "pass"
        elif not at or changed > taken:
            assert verdict == "stale"
        elif forms[0] == forms[1] and "date" not in forms and changed < taken:
            assert verdict == "pass"
