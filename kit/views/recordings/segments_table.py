"""The parts of a recording as a table: from when to when, what was found, what came of it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from itertools import groupby
from typing import Final

from kit.assessment.recordings.cause_of_loss import why_unproven
from kit.assessment.shown.calculated import Found, Reduction, Trial
from kit.basis.recording import Segment
from kit.views.figures.rest_figure import rest_words
from kit.views.figures.trace_figure import WHAT_WORDS, found_words
from kit.views.pieces.numbers import number
from kit.views.pieces.text_tables import Table, table

_FEWEST_GROUPED: Final = 4
_TRIED: Final[dict[Found, str]] = {"dead_band": "dead band", "resolution": "resolution"}
_NOTHING: Final = "no figure was drawn from it"
_BEGINS: Final = " (a run begins with it, no repeat)"


def segments_table(reduction: Reduction, *, caption: str) -> Table:
    """Every part of the recording; small steps and the holds between them share a row."""
    told = [(each, _outcome(each, reduction)) for each in reduction.segments]
    rows: list[list[str]] = []
    for plain, run in groupby(told, key=lambda each: not each[1] and each[0].what in ("step", "hold")):
        found = list(run)
        if plain and len(found) >= _FEWEST_GROUPED:
            rows.append(_grouped([segment for segment, _ in found], reduction))
        else:
            rows += [_row(segment, outcome) for segment, outcome in found]
    return table(caption, ["From,\u00a0s:", "To,\u00a0s:", "What", "What came of it"], rows, kind="wide dense")


def _row(segment: Segment, outcome: str) -> list[str]:
    return [number(segment.from_s, 1), number(segment.to_s, 1), WHAT_WORDS[segment.what], outcome or _NOTHING]


def _grouped(segments: Sequence[Segment], reduction: Reduction) -> list[str]:
    start, end = segments[0].from_s, max(each.to_s for each in segments)
    within = [each for each in reduction.trials if each.means == "small_steps" and start <= each.at_s <= end]
    return [number(start, 1), number(end, 1), f"Small steps: {found_words(segments)}", _trials(within) or _NOTHING]


def _trials(trials: Sequence[Trial]) -> str:
    counts = Counter(each.what for each in trials)
    return ", ".join(
        f"{counts[what]} {'trial' if counts[what] == 1 else 'trials'} of {name}"
        for what, name in _TRIED.items()
        if counts[what]
    )


def _outcome(segment: Segment, reduction: Reduction) -> str:
    """What was drawn from one part, in words; "" for nothing."""
    return _OUTCOMES[segment.what](segment, reduction)


def _held(segment: Segment, reduction: Reduction) -> str:
    said = [
        f"reading, {'up' if each.rising else 'down'}{_BEGINS if each.begins_run else ''}, cycle {each.cycle}: "
        f"travel {number(each.travel_pct, 2)} % at {number(each.command_pct, 2)} % command"
        for each in reduction.readings
        if each.at_s == segment.to_s
    ]
    said += [rest_words(each) for each in reduction.rests if each.segment == segment]
    return "; ".join(said)


def _step(segment: Segment, reduction: Reduction) -> str:
    for each in reduction.steps:
        if each.segment == segment:
            asked = f"{number(each.from_command_pct, 1)} → {number(each.to_command_pct, 1)} % command"
            if each.t86.value is None:
                return f"{asked}: {each.t86.why_not}"
            return f"{asked}: T86 {number(each.t86.value, 2)} s"
    return ""


def _stroke(segment: Segment, reduction: Reduction) -> str:
    for each in reduction.strokes:
        if each.response.segment == segment:
            if each.time.value is None:
                return each.time.why_not
            pulsed = "" if each.duty.value is None else f", pulsed, moving {number(each.duty.value, 0)} % of the time"
            return f"{number(each.time.value, 2)} s{pulsed}"
    return ""


def _ramp(segment: Segment, reduction: Reduction) -> str:
    return _trials(
        [each for each in reduction.trials if each.means == "ramp" and segment.from_s <= each.at_s <= segment.to_s]
    )


def _lost(segment: Segment, reduction: Reduction) -> str:
    for each in reduction.losses:
        if each.segment == segment:
            why_not = why_unproven(each) or each.position.why_not
            if why_not:
                return why_not
            after = each.time.why_not if each.time.value is None else f"after {number(each.time.value, 1)} s"
            return f"came to rest at {number(each.position.value, 1)} %, {after}"
    return ""


def _restored(segment: Segment, reduction: Reduction) -> str:
    for each in reduction.losses:
        if each.restored_s == segment.from_s:
            if each.restored_position.value is None:
                return each.restored_position.why_not
            return f"stood at {number(each.restored_position.value, 1)} % afterwards"
    return ""


def _gap(segment: Segment, reduction: Reduction) -> str:
    return f"{number(segment.duration_s, 1)} s without a sample: nothing is read into it"


_OUTCOMES: Final[dict[str, Callable[[Segment, Reduction], str]]] = {
    "hold": _held,
    "rest": _held,
    "step": _step,
    "stroke_open": _stroke,
    "stroke_close": _stroke,
    "ramp_up": _ramp,
    "ramp_down": _ramp,
    "signal_lost": _lost,
    "signal_restored": _restored,
    "supply_lost": _lost,
    "supply_restored": _restored,
    "gap": _gap,
}
