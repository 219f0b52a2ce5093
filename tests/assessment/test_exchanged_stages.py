"""A visit after which the valve is worse than before is asked about, and keeps its verdict."""

from __future__ import annotations

import pytest

from kit.assessment import assess_tag
from tests.assessment.builders import GOOD, limit, records

POINTS = (0.0, 25.0, 50.0, 75.0, 100.0, 75.0, 50.0, 25.0, 0.0)


def readings(stage: str, error_pct: float) -> list[dict[str, object]]:
    return [
        {
            "stage": stage,
            "direction": "up" if number < 5 else "down",
            "command_pct": point,
            "position_pct": point + error_pct,
        }
        for number, point in enumerate(POINTS)
    ]


def assessed(found_pct: float, left_pct: float):
    rows = [*readings("as_found", found_pct), *readings("as_left", left_pct)]
    return assess_tag(records({"readings": rows}, limit("inaccuracy", plus_minus=1.0), instruments=GOOD, rule="simple"))


@pytest.mark.parametrize(
    ("found_pct", "left_pct", "told"),
    [(0.2, 2.4, True), (2.4, 0.2, False), (1.5, 2.4, False), (0.2, 0.3, False), (-0.2, -2.4, True)],
)
def test_only_a_failure_after_a_pass_is_told(found_pct, left_pct, told) -> None:
    made = assessed(found_pct, left_pct)
    asked = [each for each in made.problems if "exchanged" in each.problem]
    assert bool(asked) == told
    for each in asked:
        assert (each.row, each.column, each.status, each.set_aside) == (11, "stage", "flag", False)
        assert each.record.startswith("r")


def test_both_stages_say_that_they_are_flagged_and_the_verdict_stands() -> None:
    made = assessed(0.2, 2.4)
    assert made.verdict == "fail"
    marked = {stage.stage: [each.check for each in stage.checks if each.flagged] for stage in made.stages}
    assert marked == {"as_left": ["inaccuracy"], "as_found": ["inaccuracy"]}
