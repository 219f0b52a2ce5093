"""The rows of every test but the stroke check, each with what to do, what is allowed and the sheet's own rule."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from kit.assessment.conformity import Tolerance
from kit.assessment.wording import CAUSE_WORDS
from kit.basis.checks import CAUSES, Cause, CheckName
from kit.basis.registers import Tag
from kit.basis.verdicts import Stage
from kit.sheets import rules
from kit.sheets.allowed import Allowed, band_words
from kit.sheets.form import FormRow

_RUNS: Final = 2  # House definition: strokes each way, makings of a switch: the fewest that show the scatter
_FREE_ROWS: Final = 2
_POSITIONS_PCT: Final = range(0, 101, 10)  # eleven, as many as dropouts ask for
_OUTPUTS_PCT: Final = range(0, 101, 25)
_BLANK_ITEMS: Final = 4
_START_PCT: Final = {"closed": (100, 50), "open": (0, 50), "hold": (50, 100, 0), None: (50, 100, 0)}
_MOST_OHM_PART_PCT: Final = 100.0
_DROP_PER_OHM_V: Final = 0.02  # over the loop at 20 mA


@dataclass(frozen=True, slots=True)
class Wanted:
    """What rows are made of: the limits of the tag, the parts asked for, the stage, the items of prechecks."""

    allowed: Allowed
    parts: Sequence[str]
    stage: Stage
    items: Sequence[str] = ()


def stroke_rows(wanted: Wanted) -> list[FormRow]:
    """Strokes, each way twice."""
    return [_stroke(wanted, way) for way in wanted.parts for _ in range(_RUNS)] + _free(wanted)


def _stroke(wanted: Wanted, way: str) -> FormRow:
    tag = wanted.allowed.tag
    check: CheckName = "stroke_time_open" if way == "open" else "stroke_time_close"
    nominal = tag.stroke_time_open_s if way == "open" else tag.stroke_time_close_s
    tolerance = wanted.allowed.tolerance(check, nominal)
    aim = "0 to 100 % command" if (way == "open") == (tag.action == "direct") else "100 to 0 % command"
    if nominal is not None:
        aim += f", nominal {nominal:g} s"
    now = rules.formula([rules.told("{time_s}", ("time_s",), tolerance, "s")])
    return FormRow({"stage": wanted.stage, "direction": way}, aim, band_words(tolerance, "s"), now)


def loss_rows(wanted: Wanted) -> list[FormRow]:
    """Losses, each from where the possible actions can be told apart."""
    causes = [cause for cause in CAUSES if cause in wanted.parts]
    tag = wanted.allowed.tag
    starts = [(cause, start) for cause in causes for start in _START_PCT[tag.fail_action_on(cause)]]
    return [_loss(wanted, cause, start) for cause, start in starts] + _free(wanted)


def _loss(wanted: Wanted, cause: Cause, start: int) -> FormRow:
    allowed, tag = wanted.allowed, wanted.allowed.tag
    action = tag.fail_action_on(cause)
    target = None if action is None else {"closed": 0.0, "open": 100.0, "hold": float(start)}[action]
    where, time = allowed.rest_on_loss(target), allowed.tolerance("fail_time")
    words = [f"{action or 'fail action not known'}", band_words(where, "%"), band_words(time, "s")]
    before = "{position_before_pct}"
    off = f"({{position_after_pct}}-{before})" if action == "hold" else "{position_after_pct}"
    needed = ("position_before_pct", "position_after_pct") if action == "hold" else ("position_after_pct",)
    beyond = allowed.rest_on_loss(0.0) if action == "hold" else where
    restored = rules.ideal("{command_restored_pct}", tag)
    texts = [
        rules.told(off, needed, beyond, "%"),
        rules.told("{time_s}", ("time_s",), None if action == "hold" else time, "s"),
        rules.told(
            f"({{position_restored_pct}}-{restored})",
            ("position_restored_pct", "command_restored_pct"),
            allowed.tolerance("restored_position", 0.0),
            "%",
            "restored",
        ),
    ]
    aim = f"start at {start} %, {CAUSE_WORDS[cause]}"
    return FormRow({"stage": wanted.stage, "cause": cause}, aim, ", ".join(filter(None, words)), rules.formula(texts))


def switch_rows(wanted: Wanted) -> list[FormRow]:
    """Each switch twice, with its travel stop."""
    return [_switch(wanted, end) for end in wanted.parts for _ in range(_RUNS)] + _free(wanted)


def _switch(wanted: Wanted, end: str) -> FormRow:
    allowed = wanted.allowed
    if end == "closed":
        lead, where = allowed.tolerance("closed_switch_lead"), allowed.tolerance("closed_switch_position", 0.0)
        value = "({makes_at_pct}-{stop_at_pct})"
    else:
        lead, where = allowed.tolerance("open_switch_lead"), allowed.tolerance("open_switch_position", 100.0)
        value = "({stop_at_pct}-{makes_at_pct})"
    words = [f"lead {each}" for each in [band_words(lead, "%")] if each]
    words += [f"makes at {each}" for each in [band_words(where, "%")] if each]
    texts = [
        rules.told(value, ("makes_at_pct", "stop_at_pct"), lead, "%", "lead"),
        rules.told("{makes_at_pct}", ("makes_at_pct",), where, "%", "makes at") if where else '""',
    ]
    aim = f"drive on to the {end} stop"
    return FormRow({"stage": wanted.stage, "switch": end}, aim, ", ".join(words), rules.formula(texts))


def potentiometer_rows(wanted: Wanted) -> list[FormRow]:
    """The wiper over the whole travel."""
    allowed = wanted.allowed
    low, high = allowed.tolerance("potentiometer_low_margin"), allowed.tolerance("potentiometer_high_margin")
    edges = Tolerance(
        None if low is None else low.lower,
        None if high is None or high.lower is None else _MOST_OHM_PART_PCT - high.lower,
    )
    value = "({wiper_ohm}/{track_ohm}*100)"
    now = rules.formula([rules.told(value, ("wiper_ohm", "track_ohm"), edges, "% of track")])
    words = band_words(edges, "% of track")
    return [
        *(FormRow({"stage": wanted.stage}, f"valve at {pct} %", words, now) for pct in _POSITIONS_PCT),
        *_free(wanted, now),
    ]


def electrical_rows(wanted: Wanted) -> list[FormRow]:
    """One row, and one for a second measurement."""
    allowed = wanted.allowed
    running, nominal, idle = "{supply_running_v}", "{supply_nominal_v}", "{supply_idle_v}"
    left = f"({{loop_supply_v}}-{_DROP_PER_OHM_V:g}*{{loop_ohm}}-{{device_min_v}})"
    every: tuple[tuple[str, tuple[str, ...], CheckName, str], ...] = (
        (f"(({running}-{nominal})/{nominal}*100)", ("supply_running_v", "supply_nominal_v"), "supply_deviation", "%"),
        (f"(({idle}-{running})/{idle}*100)", ("supply_idle_v", "supply_running_v"), "supply_dip", "%"),
        (left, ("loop_supply_v", "loop_ohm", "device_min_v"), "loop_margin", "V"),
        ("{insulation_mohm}", ("insulation_mohm",), "insulation_resistance", "MOhm"),
        ("{earth_ohm}", ("earth_ohm",), "earth_resistance", "Ohm"),
    )
    shown = [each for each in every if set(each[1]) <= set(wanted.parts)]
    names = {
        "supply_deviation": "deviation",
        "supply_dip": "dip",
        "loop_margin": "margin",
        "insulation_resistance": "insulation",
        "earth_resistance": "earth",
    }
    texts = [
        rules.told(value, columns, allowed.tolerance(check, 0.0), unit, names[check])
        for value, columns, check, unit in shown
    ]
    now = rules.formula(texts)
    return [FormRow(now=now), FormRow(now=now, spare=True)]


def loop_rows(wanted: Wanted) -> list[FormRow]:
    """From the station's output to the valve and back."""
    return [_loop(wanted, output) for output in _OUTPUTS_PCT]


def _loop(wanted: Wanted, output: int) -> FormRow:
    allowed, tag = wanted.allowed, wanted.allowed.tag
    error = rules.told(
        f"({{position_pct}}-{rules.ideal('{station_output_pct}', tag)})",
        ("station_output_pct", "position_pct"),
        allowed.tolerance("loop_command_error", 0.0),
        "%",
    )
    display = rules.told(
        "({station_feedback_pct}-{position_pct})",
        ("position_pct", "station_feedback_pct"),
        allowed.tolerance("loop_feedback_error", 0.0),
        "%",
    )
    has_display = tag.feedback_range is not None
    words = allowed.words("loop_command_error").replace("Loop command error ", "")
    return FormRow(
        {"station_output_pct": output},
        "at the station",
        words,
        rules.formula([error]),
        rules.formula([display] if has_display else []),
    )


def precheck_rows(wanted: Wanted) -> list[FormRow]:
    """Every item of unit.toml's prechecks, and rows for others."""
    now = f'=IF({{result}}="no","{rules.OUT}: not in order","")'
    return [
        *(FormRow({"item": item}, now=now, spare=True) for item in wanted.items),  # the report misses an item itself
        *[FormRow(now=now, spare=True)] * _BLANK_ITEMS,
    ]


def setting_rows(wanted: Wanted) -> list[FormRow]:
    """The speeds as left, which tell strokes at it from others, and rows for further settings."""
    speeds = ("speed_open_pct", "speed_close_pct")
    aim = "as left at the end"
    named = [FormRow({"stage": wanted.stage, "setting": name}, aim, spare=True) for name in speeds]
    return [*named, *[FormRow({"stage": wanted.stage}, spare=True)] * _BLANK_ITEMS]


def adjustment_rows(wanted: Wanted) -> list[FormRow]:
    """Rows for what was changed."""
    return [FormRow(spare=True)] * _BLANK_ITEMS


def _free(wanted: Wanted, now: str = "") -> list[FormRow]:
    return [FormRow({"stage": wanted.stage}, now=now, spare=True)] * _FREE_ROWS


def loop_columns(tag: Tag) -> tuple[str, ...]:
    """The columns of a loop check that a tag has."""
    current = ("card_mA", "command_mA") if tag.command_range is not None and tag.command_range.unit == "mA" else ()
    display = ("station_feedback_pct",) if tag.feedback_range is not None else ()
    return ("station_output_pct", *current, "position_pct", *display, "field_person", "station_person", "at")


ROWS: Final[Mapping[str, Callable[[Wanted], list[FormRow]]]] = {
    "strokes": stroke_rows,
    "fail_tests": loss_rows,
    "switches": switch_rows,
    "potentiometer": potentiometer_rows,
    "electrical": electrical_rows,
    "loop_checks": loop_rows,
    "prechecks": precheck_rows,
    "settings": setting_rows,
    "adjustments": adjustment_rows,
}
