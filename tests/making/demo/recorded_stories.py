"""The tags of the demo unit that a data logger recorded: nobody typed a reading of them."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta, timezone
from typing import Final

from kit.basis.registers import Tag
from tests.making.demo.invented_valve import CLOSED_STOP_PCT, OPEN_STOP_PCT, Behaviour
from tests.making.demo.starting_tags import MODULATING, SET_UP, SWITCHES_SET, tag_of
from tests.making.demo.story import Equipment, Plan, Story
from tests.making.demo.table_files import Dialect
from tests.making.demo.walk import Walk
from tests.making.valves import (
    BadSpot,
    Controller,
    Feedback,
    Logger,
    Mechanics,
    Motor,
    SignalLoss,
    Supply,
    VirtualValve,
)

LOGGER_TABLES: Final = ("visits", "prechecks", "settings", "electrical", "adjustments")

_TEAM_3: Final = Equipment("Technician 3", "DL-01", "RE-01", "DL-01", "MT-01", supply="DL-01")
_TWO_CHANNELS: Final = Equipment("Technician 3", "DL-02", "", "DL-02", "MT-01")
_HAND_TIMED: Final = replace(_TEAM_3, time="SW-01")

_MOTOR: Final = Motor(open_speed_pct_s=3.35, close_speed_pct_s=3.4, start_delay_s=0.25, coast_pct=0.15)
_HEALTHY: Final = VirtualValve(
    motor=_MOTOR,
    controller=Controller(dead_band_pct=0.8, closed_cut_off_pct=0.5, open_cut_off_pct=99.5),
    mechanics=Mechanics(
        closed_stop_pct=CLOSED_STOP_PCT,
        open_stop_pct=OPEN_STOP_PCT,
        closed_switch_pct=1.8,
        open_switch_pct=98.0,
        switch_differential_pct=0.8,
        switches_stop_motor=False,
    ),
    feedback=Feedback(zero_error_pct=0.1, span_error_pct=-0.15),
    supply=Supply(idle_v=231.0, running_v=228.4),
)
_TEN_HERTZ: Final = Logger(rate_hz=10.0)
_FIVE_HERTZ: Final = Logger(rate_hz=5.0)


def _logged(tag: str, service: str, **differs: object) -> Tag:
    return tag_of(MODULATING, tag, service, limits="logged", **differs)


def _plan(start: str, walk: Walk, equipment: Equipment = _TEAM_3, **differs: object) -> Plan:
    plan = Plan(start, "hydrator", equipment, adjustments=SET_UP + SWITCHES_SET, tables=LOGGER_TABLES, walk=walk)
    return replace(plan, **differs)  # type: ignore[arg-type]


LOGGED: Final = (
    Story(
        _logged("FV-125", "Hydrator water flow"),
        "Healthy, from one recording",
        "Holds, strokes, steps, ramps, rest and loss of signal in 24 minutes, 10 samples a second: nothing to find.",
        "pass",
        "",
        (_plan("2026-03-23T07:30", Walk(_HEALTHY, _TEN_HERTZ, 125)),),
    ),
    Story(
        _logged("PV-126", "Hydrator draught damper"),
        "Hunts",
        "A dead band of 0.4 % is set while the motor coasts 1 %: it swings by 1.7 % with the command at rest.",
        "fail",
        "hunting_amplitude",
        (
            _plan(
                "2026-03-23T12:30",
                Walk(
                    replace(
                        _HEALTHY,
                        motor=replace(_MOTOR, coast_pct=1.0),
                        controller=replace(_HEALTHY.controller, dead_band_pct=0.4),
                    ),
                    _TEN_HERTZ,
                    126,
                    small_step_pct=0.2,
                    small_steps_pct=1.0,
                    ramp_pct_s=0.5,
                ),
            ),
        ),
    ),
    Story(
        _logged("LV-127", "Hydrator sump level"),
        "Bad spot on the feedback track",
        "At 37 % of travel the feedback drops by 5 % and at 62 % it is open, both ways; no test point lies there.",
        "fail",
        "potentiometer_dropouts",
        (
            _plan(
                "2026-03-24T07:30",
                Walk(
                    replace(
                        _HEALTHY,
                        feedback=replace(
                            _HEALTHY.feedback, bad_spots=(BadSpot(37.0, 1.5), BadSpot(62.0, 0.8, "break"))
                        ),
                    ),
                    _TEN_HERTZ,
                    127,
                ),
            ),
        ),
    ),
    Story(
        _logged("HV-128", "Hydrator wash water", stroke_time_close_s=75.0),
        "Closes in pulses",
        "A speed setting of 40 % against water hammer: closing takes 2.5 times as long, as the register asks.",
        "pass",
        "",
        (
            _plan(
                "2026-03-24T12:30",
                Walk(
                    replace(_HEALTHY, motor=replace(_MOTOR, close_setting_pct=40.0, pulse_period_s=2.0)),
                    Logger(rate_hz=20.0),
                    128,
                    name="closing-at-40",
                    small_steps_pct=1.2,
                ),
            ),
        ),
    ),
    Story(
        _logged("PV-129", "Hydrator steam extraction"),
        "Fails the wrong way",
        "Without its signal it opens; the register asks for closed.",
        "fail",
        "fail_position",
        (_plan("2026-03-25T07:30", Walk(replace(_HEALTHY, signal_loss=SignalLoss("open")), _FIVE_HERTZ, 129)),),
    ),
    Story(
        _logged("TV-130", "Mill air temperature"),
        "Backlash beyond the take-off",
        "2 % of play between feedback and stem: the feedback follows the command, the sensor on the stem does not.",
        "fail",
        "hysteretic_error",
        (
            _plan(
                "2026-03-25T12:30",
                Walk(
                    replace(_HEALTHY, mechanics=replace(_HEALTHY.mechanics, play_after_pct=2.0)),
                    _TEN_HERTZ,
                    130,
                ),
            ),
        ),
    ),
    Story(
        _logged("FV-131", "Mill sweep air"),
        "Typed and recorded",
        "The strokes were timed by hand as well: closing as 36 s, the recording says 30 s. One of them is wrong, and "
        "nobody has said which.",
        "incomplete",
        "stroke_time_close",
        (
            _plan(
                "2026-03-26T07:30",
                Walk(_HEALTHY, _FIVE_HERTZ, 131, dialect=Dialect()),
                _HAND_TIMED,
                as_left=Behaviour(close_time_factor=1.2),
                tables=(*LOGGER_TABLES, "strokes"),
                remarks="Strokes timed by hand as well",
            ),
        ),
    ),
    Story(
        _logged("LV-132", "Lime water tank level"),
        "Two wires only",
        "A logger on command and feedback alone, whose own headings unit.toml explains; 22 s missing, four samples "
        "written twice: what is there is used, what a position sensor and the switches would prove is not tested.",
        "incomplete",
        "resolution",
        (
            _plan(
                "2026-03-26T12:30",
                Walk(
                    _HEALTHY,
                    Logger(
                        rate_hz=5.0,
                        gaps=((20.0, 41.5),),
                        channels=("command", "feedback"),
                        start=datetime(2026, 3, 26, 12, 41, 7, tzinfo=timezone(timedelta(hours=1))),
                    ),
                    132,
                    dialect=Dialect(delimiter=";", decimal=","),
                    name="two-channels",
                    ramp_pct_s=0.5,
                    doubled=((121.0, 121.4), (640.0, 640.0)),
                    own_headings=True,
                ),
                _TWO_CHANNELS,
            ),
        ),
    ),
)
