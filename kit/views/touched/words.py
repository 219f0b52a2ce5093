"""What is said of an instrument, on its page and in the shell."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from kit.assessment.touched.impact import CheckImpact, TagImpact
from kit.assessment.touched.summary import KnownError, Touched
from kit.assessment.what_if.outcomes import OUTCOME_WORDS
from kit.assessment.what_if.with_error import SIGN
from kit.basis.verdicts import VERDICT_WORDS
from kit.views.pieces.check_texts import check_title, check_uncertainty_text, check_value
from kit.views.pieces.numbers import NONE, plain, signed
from kit.views.pieces.text_tables import stage_word

UNITS: Final = {"deg": "°", "ohm": "Ω", "pct": "%"}
OWN_UNCERTAINTY: Final = (
    "Every check is judged once more from corrected readings (indicated minus error, typed and recorded, in every role "
    "that the instrument had) by the assessment of the reports. Uncertainty stays the instrument's own: what is not "
    "known of the error itself is not in it."
)
NO_VERDICT: Final = (
    "None of it is a verdict: nothing is written to the unit, and a failure becomes a pass by a test that is made "
    "again, not by this page."
)
ZEROED: Final = (
    "An instrument that was set to zero at the valve has no constant error there: then give its error as a table, "
    "counted from that zero."
)


def touched_words(found: Touched) -> str:
    """How much it touched: "212 readings of 9 tags on 10 visits, and 2 recordings"."""
    typed = sum(each.value is not None for each in found.readings)
    recorded = len({each.file for each in found.readings if each.value is None})
    more = f", and {_count(recorded, 'recording')}" if recorded else ""
    tags, visits = _count(len(found.tags), "tag"), _count(len(found.visits), "visit")
    return f"{_count(typed, 'reading')} of {tags} on {visits}{more}"


def calibration_words(found: Touched) -> str:
    """Its last calibration, as the register has it, and how much was read since."""
    if not found.functions:
        return "It is not in the instrument register: when it was last calibrated is not known."
    told = "; ".join(
        ", ".join(
            part
            for part in (
                f"calibrated on {on}" if on else "day of calibration not known",
                f"certificate {certificate}" if certificate else "",
                f"due {due}" if due else "",
            )
            if part
        )
        for on, certificate, due in found.calibrated
    )
    after = found.since_calibration
    counted = (
        "" if after is None else f" {after} of the {_count(len(found.visits), 'visit')} were made from that day on."
    )
    return f"Last good calibration by the register: {told}.{counted}"


def since_words(found: Touched) -> str:
    """Which visits are counted."""
    if found.since:
        return f"Visits from {found.since} on; one whose date cannot be read is counted."
    return "All visits that name it; --since DATE takes those from a day on."


def error_words(known: KnownError) -> str:
    """The error: "+0.6°" or "by table drift.csv, 0 to 90°: +0.02° to +0.6°"."""
    error, unit = known.error, UNITS.get(known.error.unit, f" {known.error.unit}")
    if error.is_constant:
        return f"{_signed(error.error[0])}{unit}"
    low, high = (f"{_signed(each)}{unit}" for each in (min(error.error), max(error.error)))
    over = f"{plain(error.indicated[0])} to {plain(error.indicated[-1])}{unit}"
    return f"{low} to {high}, by the table {known.source} over {over}"


def outside_words(known: KnownError) -> str:
    """What happens where the error is not known."""
    if known.error.is_constant:
        return "It is taken to be the same at every reading in that unit."
    return (
        "Between two readings of the table the error is interpolated on a line. Outside the table it is not known and "
        "is never extrapolated: what such a reading could have fed is not assessable."
    )


def sign_words() -> str:
    """The sign convention."""
    return SIGN


def impact_line(each: CheckImpact) -> str:
    """One check before and after, in a line: "inaccuracy: pass −1.31 %, then fail −1.98 % (U 0.20 %)"."""
    sides = []
    for result in (each.change.before, each.change.after):
        if result is None:
            sides.append("not there")
            continue
        value = check_value(result)
        word = VERDICT_WORDS[result.verdict].lower()
        sides.append(word if value == NONE else f"{word} at {value}")
    after = each.change.after
    budget = f" (U {check_uncertainty_text(after)})" if after is not None and after.budget is not None else ""
    where = "" if each.decides else f" (visit {each.visit}, {stage_word(each.stage)})"
    return f"{check_title(each.change.shown)}{where}: {sides[0]}, then {sides[1]}{budget}"


def judged_both(changed: Iterable[CheckImpact]) -> list[CheckImpact]:
    """Those of the checks that have a verdict on both sides, what flips first, what decides before what does not."""
    order = list(OUTCOME_WORDS)
    judged = (each for each in changed if each.outcome != "not_assessable")
    return sorted(judged, key=lambda each: (order.index(each.outcome), not each.decides))


def unjudged(changed: Iterable[CheckImpact]) -> dict[tuple[str, str], tuple[str, ...]]:
    """The tags by check and by the reason why it can no longer be judged."""
    found: dict[tuple[str, str], dict[str, None]] = {}
    for each in changed:
        if each.outcome == "not_assessable":
            reason = "" if each.change.after is None else signed(each.change.after.reason)
            found.setdefault((check_title(each.change.shown), reason), {})[each.tag] = None
    return {key: tuple(tags) for key, tags in found.items()}


def flip_lines(impacts: Iterable[TagImpact], most: int) -> list[str]:
    """The verdicts that flip, of tags and of checks that decide, by name; the first ``most`` of them."""
    found = list(impacts)
    lines = [f"{each.tag}: {tag_line(each)}." for each in found if each.outcome == "flips"]
    checks = (each for impact in found for each in impact.changed if each.decides and each.outcome == "flips")
    lines += [f"{each.tag}, {impact_line(each)}: flips." for each in checks]
    return lines[:most] + ([f"And {len(lines) - most} more, below."] if len(lines) > most else [])


def tag_line(impact: TagImpact) -> str:
    """The verdict of a tag before and after."""
    before, after = (VERDICT_WORDS[each].lower() for each in (impact.verdict_before, impact.verdict_after))
    return f"{before}, then {after}: {OUTCOME_WORDS[impact.outcome]}"


def _count(number: int, word: str) -> str:
    return f"{number} {word}" if number == 1 else f"{number} {word}s"


def _signed(value: float) -> str:
    return f"{'+' if value > 0 else ''}{plain(value)}"
