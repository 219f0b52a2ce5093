"""Where things stand on a tag's page: stable, plain anchors, and the ways from a check to what it is made of."""

from __future__ import annotations

from typing import Final

from kit.assessment.results import CheckResult
from kit.assessment.subjects import table_of
from kit.basis.checks import CheckName
from kit.views.pieces.slugs import slug

_SECTIONS: Final = {  # the section that shows what a table's rows, or the logs, came to
    "readings": "calibration",
    "strokes": "stroke-times",
    "fail_tests": "fail-action",
    "switches": "limit-switches",
    "potentiometer": "potentiometer",
    "electrical": "supply-loop-and-insulation",
    "loop_checks": "loop-checks",
    "prechecks": "prechecks",
    "logs": "recordings",
}
_OF_THEIR_OWN: Final[dict[CheckName, str]] = {"hysteretic_error": "hysteresis"}
_WORDS: Final = {"supply-loop-and-insulation": "Supply"}  # for a section whose title is long
_FEEDBACK: Final = "feedback_"
LIMITS: Final = "sources-of-limits"  # where the limits come from, below the checks held against them
PROBLEMS: Final = "problems-in-the-records"


def check_anchor(result: CheckResult) -> str:
    """The row of a check, where its method stands: "check-inaccuracy"."""
    return slug(f"check {result.check} {result.detail}")


def budget_anchor(result: CheckResult) -> str:
    """The uncertainty budget of a check: "budget-inaccuracy"."""
    return slug(f"budget {result.check} {result.detail}")


def section_of(check: CheckName) -> str:
    """The section that shows a check's test: its figure, and what was recorded."""
    if check.startswith(_FEEDBACK):
        return "feedback"
    return _OF_THEIR_OWN.get(check) or _SECTIONS[table_of(check)]


def readings_of(check: CheckName) -> str:
    """The section with the readings that a check is made of, as they were typed or recorded."""
    table = table_of(check)
    return table if table == "readings" else section_of(check)


def way_to_test(check: CheckName) -> tuple[str, str]:
    """The way from a check to its test, by the name of the section."""
    section = section_of(check)
    return _WORDS.get(section, section.replace("-", " ").capitalize()), f"#{section}"


def ways_of(result: CheckResult) -> tuple[tuple[str, str], ...]:
    """From a check to its test, its readings and its uncertainty budget: a word and an address each."""
    test, readings = section_of(result.check), readings_of(result.check)
    ways = {"Test": test} if test == readings else {"Figure": test, "Readings": readings}
    if result.budget is not None and result.verdict != "information":
        ways["Budget"] = budget_anchor(result)
    return tuple((word, f"#{anchor}") for word, anchor in ways.items())
