"""Every plain fault that typed records can show, with the sizes that are drawn, and the cause that is right."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Final, NamedTuple

import numpy as np

from kit.assessment.causes import loop, loss, potentiometer, strokes, switches, up_and_down
from kit.assessment.causes.shape import TRUSTED
from tests.making.study.typed_faults import (
    NOMINAL_S,
    Draw,
    FaultyValve,
    sized,
    stopped_at,
    with_feedback,
    with_position,
)

HEALTHY: Final = "none: a sound valve"
HEALTHY_ON_OFF: Final = "none: a sound on-off valve"


class Kind(NamedTuple):
    """A fault, what of it is drawn, and the pattern that names it; "": no cause is right."""

    name: str
    drawn: str
    make: Callable[[Draw], FaultyValve]
    right: str


def _gain(draw: Draw, low: float, high: float) -> float:
    return 1.0 + sized(draw, low, high)


def _shift(draw: Draw) -> FaultyValve:
    by = sized(draw, 2.0, 8.0)
    return with_position(lambda asked: asked + by)


def _span_closed(draw: Draw) -> FaultyValve:
    gain = _gain(draw, 0.03, 0.12)
    return with_position(lambda asked: gain * asked)


def _span_open(draw: Draw) -> FaultyValve:
    gain = _gain(draw, 0.03, 0.12)
    return with_position(lambda asked: 100.0 - gain * (100.0 - asked))


def _both(draw: Draw) -> FaultyValve:
    """The line turns between 35 and 65 % command: far from the ends, where one of the two alone would turn it."""
    turns, gain = float(draw.uniform(35.0, 65.0)), 1.0 - float(draw.uniform(0.06, 0.14))
    return with_position(lambda asked: turns + gain * (asked - turns))


def _ahead(draw: Draw) -> FaultyValve:
    gain = _gain(draw, 0.04, 0.15)
    return with_position(lambda asked: gain * (asked + 25.0) - 25.0)


def _bow(draw: Draw) -> FaultyValve:
    rise = sized(draw, 2.5, 8.0)
    return with_position(lambda asked: asked + rise * asked * (100.0 - asked) / 2500.0)


def _s_shape(draw: Draw) -> FaultyValve:
    rise = sized(draw, 2.0, 8.0)
    return with_position(lambda asked: asked + rise * float(np.sin(asked * np.pi / 50.0)))


def _stuck(draw: Draw) -> FaultyValve:
    level = 100.0 if draw.random() < 0.5 else 0.0
    return with_position(lambda asked: level)


def _switch_early(draw: Draw) -> FaultyValve:
    top = float(draw.uniform(80.0, 96.0))
    return replace(stopped_at(FaultyValve(), opened=top), open_switch_pct=top)


def _stop_early(draw: Draw) -> FaultyValve:
    top = float(draw.uniform(80.0, 96.0))
    made = stopped_at(FaultyValve(), opened=top)
    return replace(made, stops_pct=(made.stops_pct[0], round(top, 1)))


def _closed_stop(draw: Draw) -> FaultyValve:
    foot = float(draw.uniform(4.0, 20.0))
    made = stopped_at(FaultyValve(), closed=foot)
    return replace(made, stops_pct=(round(foot, 1), made.stops_pct[1]))


def _signal(draw: Draw) -> FaultyValve:
    top = float(draw.uniform(78.0, 97.0))
    return FaultyValve(signal=lambda asked: min(asked, top))


def _trusted(draw: Draw) -> FaultyValve:
    by = sized(draw, 2.5, 8.0)
    return replace(with_position(lambda asked: asked + by), follows_command=True)


def _feedback_zero(draw: Draw) -> FaultyValve:
    by = sized(draw, 2.0, 6.0)
    return with_feedback(lambda stands: stands + by)


def _feedback_span(draw: Draw) -> FaultyValve:
    gain = _gain(draw, 0.03, 0.12)
    return with_feedback(lambda stands: gain * stands)


def _feedback_both(draw: Draw) -> FaultyValve:
    turns, gain = float(draw.uniform(35.0, 65.0)), 1.0 - float(draw.uniform(0.06, 0.14))
    return with_feedback(lambda stands: turns + gain * (stands - turns))


def _loaded(draw: Draw) -> FaultyValve:
    load = float(draw.uniform(0.2, 0.8))
    return with_feedback(lambda at: at / (1.0 + load * at / 100.0 * (1.0 - at / 100.0)))


def _feedback_bow(draw: Draw) -> FaultyValve:
    rise = sized(draw, 2.5, 8.0)
    return with_feedback(lambda at: at + rise * at * (100.0 - at) / 2500.0)


def _feedback_stands(draw: Draw) -> FaultyValve:
    top = float(draw.uniform(85.0, 95.0))
    return with_feedback(lambda stands: min(stands, top))


def _feedback_foot(draw: Draw) -> FaultyValve:
    foot = float(draw.uniform(5.0, 15.0))
    return with_feedback(lambda stands: max(stands, foot))


def _closed_switch_early(draw: Draw) -> FaultyValve:
    foot = float(draw.uniform(4.0, 20.0))
    return replace(stopped_at(FaultyValve(), closed=foot), closed_switch_pct=foot)


def _display_zero(draw: Draw) -> FaultyValve:
    by = sized(draw, 3.5, 8.0)
    return FaultyValve(display=lambda told: told + by)


def _display_span(draw: Draw) -> FaultyValve:
    gain = _gain(draw, 0.05, 0.15)
    return FaultyValve(display=lambda told: gain * told)


def _output_zero(draw: Draw) -> FaultyValve:
    by = sized(draw, 3.5, 8.0)
    return FaultyValve(card_pct=lambda output: output + by)


def _output_span(draw: Draw) -> FaultyValve:
    gain = 1.0 - float(draw.uniform(0.05, 0.15))
    return FaultyValve(card_pct=lambda output: gain * output)


def _leak(draw: Draw) -> FaultyValve:
    return FaultyValve(lost_pct=float(draw.uniform(3.5, 8.0)))


def _losing(cause: str, rest: float, time_s: float) -> Callable[[Draw], FaultyValve]:
    sound = dict(FaultyValve().losses)
    return lambda draw: FaultyValve(losses={**sound, cause: (rest, time_s)})


def _off_middle(draw: Draw) -> FaultyValve:
    low = float(draw.uniform(0.5, 4.0))
    return FaultyValve(wiper_pct=lambda stands: low + 0.76 * stands)


def _too_far(draw: Draw) -> FaultyValve:
    used = float(draw.uniform(0.92, 0.98))
    return FaultyValve(wiper_pct=lambda stands: 50.0 + used * (stands - 50.0))


def _worn(draw: Draw) -> FaultyValve:
    at = float(draw.integers(4, 16) * 5)
    return FaultyValve(wiper_pct=lambda stands: 12.0 + 0.76 * stands - (6.0 if stands == at else 0.0))


def _loose_lead(draw: Draw) -> FaultyValve:
    at = float(draw.integers(4, 16) * 5)
    return FaultyValve(wiper_pct=lambda stands: 200.0 if stands == at else 12.0 + 0.76 * stands)


def _slow(draw: Draw) -> FaultyValve:
    share = float(draw.uniform(1.25, 2.0))
    return FaultyValve(times_s=(share * NOMINAL_S, share * NOMINAL_S * float(draw.uniform(0.95, 1.05))))


def _slow_one_way(draw: Draw) -> FaultyValve:
    return FaultyValve(times_s=(NOMINAL_S, float(draw.uniform(1.2, 2.0)) * NOMINAL_S))


def _fast(draw: Draw) -> FaultyValve:
    share = float(draw.uniform(0.5, 0.8))
    return FaultyValve(times_s=(share * NOMINAL_S, share * NOMINAL_S))


KINDS: Final = (
    Kind(HEALTHY, "zero, span and bow of 0.1 to 0.15 % (standard deviation), play 0.35 %", lambda _: FaultyValve(), ""),
    Kind(HEALTHY_ON_OFF, "the same, read at its ends", lambda _: FaultyValve(on_off=True), ""),
    Kind("zero shift", "2 to 8 %", _shift, "zero shift"),
    Kind("span about the closed end", "3 to 12 %", _span_closed, "span error about the closed end"),
    Kind("span about the open end", "3 to 12 %", _span_open, "span error about the open end"),
    Kind("zero and span", "slope 0.86 to 0.94 about 35 to 65 %", _both, "zero and span both off"),
    Kind("gain ahead of the live zero", "4 to 15 %", _ahead, "gain error ahead of the live zero"),
    Kind(
        "live zero into a receiver without",
        "",
        lambda _: with_position(lambda c: 20.0 + 0.8 * c),
        "signal with live zero into a receiver ranged without",
    ),
    Kind(
        "no live zero into a receiver with",
        "",
        lambda _: with_position(lambda c: (c - 20.0) / 0.8),
        "signal without live zero into a receiver ranged with",
    ),
    Kind(
        "range twice as wide",
        "",
        lambda _: with_position(lambda c: 0.5 * c),
        "command range set twice as wide as the source's",
    ),
    Kind(
        "full range for the upper half",
        "",
        lambda _: with_position(lambda c: 50.0 + 0.5 * c),
        "full command range set where its upper half is meant",
    ),
    Kind(
        "lower half for the full range",
        "",
        lambda _: with_position(lambda c: 2.0 * c),
        "lower half of the command range set where all of it is meant",
    ),
    Kind(
        "upper half for the full range",
        "",
        lambda _: with_position(lambda c: 2.0 * c - 100.0),
        "upper half of the command range set where all of it is meant",
    ),
    Kind(
        "1 to 5 V into 0 to 10 V",
        "",
        lambda _: with_position(lambda c: 10.0 + 0.4 * c),
        "signal of 1 to 5 V into a receiver of 0 to 10 V",
    ),
    Kind("action reversed", "", lambda _: with_position(lambda c: 100.0 - c), "action reversed"),
    Kind("runs to one end", "", _stuck, "does not follow the command"),
    Kind(
        "equal percentage left on",
        "R = 50",
        lambda _: with_position(lambda c: 100.0 * 50.0 ** (c / 100.0 - 1.0)),
        "characteristic left on: equal percentage",
    ),
    Kind(
        "quick opening left on",
        "",
        lambda _: with_position(lambda c: 10.0 * max(c, 0.0) ** 0.5),
        "characteristic left on: quick opening",
    ),
    Kind(
        "half the resistor",
        "250 ohm for 500",
        lambda _: with_position(lambda c: 0.5 * c - 12.5),
        "gain error ahead of the live zero",
    ),
    Kind("bow", "2.5 to 8 % at mid travel", _bow, "bow"),
    Kind("S-shape", "2 to 8 % at quarter travel", _s_shape, "S-shape"),
    Kind("open switch early", "at 80 to 96 %", _switch_early, "open switch stops the travel early"),
    Kind("closed switch early", "at 4 to 20 %", _closed_switch_early, "closed switch stops the travel early"),
    Kind("open stop early", "at 80 to 96 %", _stop_early, "open stop set early, or an obstruction"),
    Kind("closed stop early", "at 4 to 20 %", _closed_stop, "closed stop set early, or an obstruction"),
    Kind("signal stops rising", "at 78 to 97 %", _signal, "command signal stops rising"),
    Kind("coupling slipped", "2.5 to 8 %", _trusted, TRUSTED),
    Kind(
        "play outside the loop",
        "1.8 to 5 %",
        lambda draw: FaultyValve(play_outside_pct=float(draw.uniform(1.8, 5.0))),
        up_and_down.OUTSIDE,
    ),
    Kind(
        "dead band or friction",
        "1.8 to 5 %",
        lambda draw: FaultyValve(play_inside_pct=float(draw.uniform(1.8, 5.0))),
        up_and_down.INSIDE,
    ),
    Kind(
        "up and down exchanged",
        "play 1.8 to 4 %",
        lambda draw: FaultyValve(play_inside_pct=float(draw.uniform(1.8, 4.0)), exchanged=True),
        up_and_down.EXCHANGED,
    ),
    Kind(
        "loose lever",
        "scatter 2 to 4 %",
        lambda draw: FaultyValve(looseness_pct=float(draw.uniform(2.0, 4.0))),
        up_and_down.LOOSE,
    ),
    Kind("feedback zero", "2 to 6 %", _feedback_zero, "feedback zero off"),
    Kind("feedback span", "3 to 12 %", _feedback_span, "feedback span off"),
    Kind(
        "feedback zero and span",
        "slope 0.86 to 0.94 about 35 to 65 %",
        _feedback_both,
        "feedback zero and span both off",
    ),
    Kind("feedback reversed", "", lambda _: with_feedback(lambda p: 100.0 - p), "feedback reversed"),
    Kind(
        "feedback live zero into a receiver without",
        "",
        lambda _: with_feedback(lambda p: 20.0 + 0.8 * p),
        "feedback with live zero into a receiver ranged without",
    ),
    Kind("loaded potentiometer", "0.2 to 0.8 of its load", _loaded, "feedback potentiometer loaded by its receiver"),
    Kind("feedback bow", "2.5 to 8 % at mid travel", _feedback_bow, "feedback bow"),
    Kind(
        "no live zero of the feedback into a receiver with",
        "",
        lambda _: with_feedback(lambda p: max((p - 20.0) / 0.8, 0.0)),
        "feedback without live zero into a receiver ranged with",
    ),
    Kind("feedback stands still above", "85 to 95 %", _feedback_stands, "feedback stands still above a place"),
    Kind("feedback stands still below", "5 to 15 %", _feedback_foot, "feedback stands still below a place"),
    Kind("display zero", "3.5 to 8 %", _display_zero, loop.PATTERNS["display"].format("zero off")),
    Kind("display span", "5 to 15 %", _display_span, loop.PATTERNS["display"].format("span off")),
    Kind(
        "display of a live zero by a range without",
        "",
        lambda _: FaultyValve(display=lambda told: 20.0 + 0.8 * told),
        loop.PATTERNS["display"].format("live zero read by a range without"),
    ),
    Kind(
        "display of no live zero by a range with",
        "",
        lambda _: FaultyValve(display=lambda told: (told - 20.0) / 0.8),
        loop.PATTERNS["display"].format("no live zero read by a range with"),
    ),
    Kind(
        "display reversed",
        "",
        lambda _: FaultyValve(display=lambda told: 100.0 - told),
        loop.PATTERNS["display"].format("reversed"),
    ),
    Kind("station output zero", "3.5 to 8 %", _output_zero, loop.PATTERNS["output"].format("zero off")),
    Kind("station output span", "5 to 15 % short", _output_span, loop.PATTERNS["output"].format("span off")),
    Kind(
        "station output reversed",
        "",
        lambda _: FaultyValve(card_pct=lambda output: 100.0 - output),
        loop.PATTERNS["output"].format("reversed"),
    ),
    Kind("current lost on the way", "3.5 to 8 % of range", _leak, loop.ON_THE_WAY),
    Kind(
        "stays on an open signal",
        "",
        _losing("signal_open", 60.4, 0.4),
        loss.STAYED.format("command signal open"),
    ),
    Kind(
        "opens on an open signal",
        "",
        _losing("signal_open", 100.2, 14.0),
        loss.WRONG_WAY.format("open", "command signal open", "closed"),
    ),
    Kind("short on an open signal", "", _losing("signal_open", 22.0, 9.0), loss.SHORT.format("command signal open")),
    Kind("late on an open signal", "", _losing("signal_open", 0.1, 60.0), loss.LATE.format("command signal open")),
    Kind(
        "switches exchanged",
        "",
        lambda _: FaultyValve(closed_switch_pct=98.5, open_switch_pct=1.5),
        switches.EXCHANGED,
    ),
    Kind("open switch after its stop", "", lambda _: FaultyValve(open_switch_pct=101.6), switches.AFTER.format("open")),
    Kind(
        "closed switch after its stop",
        "",
        lambda _: FaultyValve(closed_switch_pct=-1.6),
        switches.AFTER.format("closed"),
    ),
    Kind("open switch too near", "", lambda _: FaultyValve(open_switch_pct=100.2), switches.NEAR.format("open")),
    Kind("closed switch too near", "", lambda _: FaultyValve(closed_switch_pct=-0.2), switches.NEAR.format("closed")),
    Kind("slow both ways", "1.25 to 2 times", _slow, strokes.SLOW),
    Kind("slow closing", "1.2 to 2 times", _slow_one_way, strokes.ONE_WAY.format("closing")),
    Kind("fast", "0.5 to 0.8 of nominal", _fast, strokes.FAST),
    Kind("potentiometer off the middle", "0.5 to 4 % left", _off_middle, potentiometer.OFF_MIDDLE),
    Kind("potentiometer turned too far", "92 to 98 % of the track", _too_far, potentiometer.TOO_FAR),
    Kind("worn track", "one reversal", _worn, potentiometer.WORN),
    Kind("loose wiper lead", "one break", _loose_lead, potentiometer.LEAD),
)
