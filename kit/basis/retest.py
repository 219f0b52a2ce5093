"""The re-test map: which checks a change leaves without a result; and by which rule a tag is due again."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Final

from kit.basis.checks import CheckName

DUE_RULE: Final = (
    "House definition, a proposal: of each check the fastest drift that one of its intervals does not rule out (the "
    "drift plus its uncertainty, over the days) is taken to go on from the value as left; the tag is due on the "
    "first day on which a check could reach its limit so, and no later than retest_days of unit.toml after the visit "
    "that left it. A check with fewer than two intervals has no such day. It says nothing of the time until then."
)
_SWITCHES: Final[frozenset[CheckName]] = frozenset(
    {"closed_switch_position", "open_switch_position", "closed_switch_lead", "open_switch_lead"}
)
_TRACK: Final[frozenset[CheckName]] = frozenset(
    {
        "potentiometer_low_margin",
        "potentiometer_high_margin",
        "potentiometer_linearity",
        "potentiometer_dropouts",
    }
)
_FEEDBACK: Final[frozenset[CheckName]] = frozenset(
    {
        "feedback_zero_error",
        "feedback_span_error",
        "feedback_inaccuracy",
        "feedback_linearity",
        "feedback_hysteretic_error",
    }
)
_SMALL_MOVES: Final[frozenset[CheckName]] = frozenset({"dead_band", "resolution"})
_SPEED: Final[frozenset[CheckName]] = frozenset({"stroke_time_open", "stroke_time_close"})
_DYNAMICS: Final[frozenset[CheckName]] = frozenset(
    {
        "dead_time",
        "t63",
        "t86",
        "overshoot",
        "settling_time",
        "travel_gain",
        "hunting_amplitude",
        "hunting_period",
        "starts_per_hour",
        "hysteresis",  # made of the hysteretic error too
    }
)
_STROKE_CHECK: Final[frozenset[CheckName]] = frozenset(
    {
        "zero_error",
        "span_error",
        "inaccuracy",
        "independent_linearity",
        "terminal_linearity",
        "zero_based_linearity",
        "hysteretic_error",
        "repeatability",
    }
)
_FAIL_ACTION: Final[frozenset[CheckName]] = frozenset({"fail_position", "fail_time", "restored_position"})
_LOOP: Final[frozenset[CheckName]] = frozenset({"loop_command_error", "loop_feedback_error"})
_ELECTRICAL: Final[frozenset[CheckName]] = frozenset(
    {"supply_deviation", "supply_dip", "loop_margin", "insulation_resistance", "earth_resistance"}
)
_MOVED: Final = _STROKE_CHECK | _DYNAMICS

RETEST: Final[Mapping[str, frozenset[CheckName]]] = {
    "travel_stop": _SWITCHES | _TRACK | _FEEDBACK | _SPEED | _MOVED | _FAIL_ACTION | _LOOP,
    "limit_switch": _SWITCHES | _SPEED | _MOVED | _FAIL_ACTION | _LOOP,
    "feedback_coupling": _TRACK | _FEEDBACK | _SMALL_MOVES | _MOVED | _FAIL_ACTION | _LOOP,
    "end_points": _TRACK | _FEEDBACK | _MOVED | _FAIL_ACTION | _LOOP,
    "command_range": _MOVED | _FAIL_ACTION | _LOOP,
    "dead_band": _SMALL_MOVES | _MOVED,
    "speed": _SMALL_MOVES | _SPEED | _MOVED | _FAIL_ACTION,
    "signal_path": _FEEDBACK | _MOVED | _FAIL_ACTION | _LOOP | frozenset({"loop_margin"}),
    "part_replaced": (
        _SWITCHES
        | _TRACK
        | _FEEDBACK
        | _SMALL_MOVES
        | _SPEED
        | _MOVED
        | _FAIL_ACTION
        | _LOOP
        | _ELECTRICAL
        | frozenset({"prechecks"})
    ),
    "packing": _SWITCHES | _SMALL_MOVES | _SPEED | _MOVED | _FAIL_ACTION,
    "control_system_range": _LOOP,
}
"""Common practice, no source; where practice asks for a spot check or a part only, the whole test is asked for."""

CHANGES: Final = tuple(RETEST)
_UNKNOWN: Final = "part_replaced"  # touches every check
_BY_SETTING: Final[Mapping[str, str]] = {"speed": "speed", "dead_band": "dead_band", "deadband": "dead_band"}


def change_of_setting(setting: str) -> str:
    """What was changed where a setting differs; one that is not known counts as a part replaced.

    Notes
    -----
    House definition: by how the setting's name begins.

    Examples
    --------
    >>> change_of_setting("Speed, opening"), change_of_setting("dead_band_pct"), change_of_setting("mode")
    ('speed', 'dead_band', 'part_replaced')
    """
    name = setting_key(setting)
    known = {**_BY_SETTING, **{change: change for change in CHANGES}}
    return next((change for start, change in known.items() if name.startswith(start)), _UNKNOWN)


def setting_key(setting: str) -> str:
    """A setting's name without what makes no difference.

    Examples
    --------
    >>> setting_key("Dead band, %") == setting_key("dead_band")
    True
    """
    return re.sub(r"[^a-z0-9]+", "_", setting.casefold()).strip("_")


def plain_value(value: str) -> str:
    """A setting's value without what makes no difference: spaces, letter case, the decimal sign.

    Examples
    --------
    >>> plain_value("0.50") == plain_value("0,5"), plain_value("4-20 mA") == plain_value("4-20ma")
    (True, True)
    """
    text = "".join(value.split()).casefold()
    try:
        return repr(float(text.replace(",", ".")))
    except ValueError:
        return text


def touched_by(what: str) -> frozenset[CheckName]:
    """The checks that a change touches; a change that is not known touches every one."""
    return RETEST.get(what, RETEST[_UNKNOWN])
