"""A unit of one modulating valve whose limit set asks for several tests, without a record."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.sheets.fill import SWITCHES_THAT_LEAD

UNIT_TOML = """\
title = "Invented test unit"
document = "T-{tag}"
decision_rule = "simple"
prechecks = ["Coupling tight", "Handwheel free"]

[scatter]
value = 0.05
degrees_of_freedom = 40
source = "Invented"

[limits.modulating]
tests = ["readings", "strokes", "fail_tests:signal_open", "switches", "prechecks"]
inaccuracy = { plus_minus = 1.5, source = "Invented list" }
stroke_time_open = { of_nominal_pct = 10, source = "Invented list" }
stroke_time_close = { of_nominal_pct = 10, source = "Invented list" }
fail_position = { plus_minus = 2.0, source = "Invented list" }
closed_switch_lead = { min = 1.0, source = "Invented list" }
open_switch_lead = { min = 1.0, source = "Invented list" }
prechecks = { max = 0, source = "Invented list" }
"""
TAGS = """\
tag,service,motion,travel,travel_unit,duty,command_range,feedback_range,fail_action,stroke_time_open_s,\
stroke_time_close_s,action,characteristic,rangeability,shut_below_pct
FV-1,Invented water,rotary,90,deg,modulating,4-20 mA,4-20 mA,closed,20,20,,,,
1E5,Invented air,rotary,90,deg,modulating,4-20 mA,4-20 mA,closed,20,20,,,,
EQ-1,Invented gas,linear,40,mm,modulating,2-10 V,,open,,,reverse,equal_percentage,30,5
"""
INSTRUMENTS = """\
instrument,description,measures,range_low,range_high,accuracy_fixed,resolution,certificate,calibrated_on,due_on
LC-1,Loop calibrator,mA,0,24,0.005,0.001,C-1,2026-01-05,2027-01-05
IN-1,Inclinometer,deg,-10,120,0.1,0.1,C-2,2026-01-05,2027-01-05
IN-2,Inclinometer,deg,-10,120,0.1,0.1,C-3,2025-01-05,2026-01-05
S-1,Stopwatch,s,0,600,0.1,0.1,C-4,2026-01-05,2027-01-05
"""


@pytest.fixture
def blank_unit(tmp_path: Path) -> Path:
    """Three tags, no records."""
    return lay_down(tmp_path)


def lay_down(place: Path) -> Path:
    """The unit's folder below ``place``."""
    folder = place / "inputs" / "small"
    (folder / "records").mkdir(parents=True)
    for name, text in (("unit.toml", UNIT_TOML), ("tags.csv", TAGS), ("instruments.csv", INSTRUMENTS)):
        (folder / name).write_text(text, encoding="utf-8", newline="\n")
    return folder


VISIT = {
    "date": "2026-03-02",
    "technician": "Technician 1",
    "checked_by": "Checker A",
    "command_instrument": "LC-1",
    "position_instrument": "IN-1",
    "feedback_instrument": "LC-1",
    "time_instrument": "S-1",
}
RUN = (
    *((4.003, 0.1), (8.006, 22.6), (11.995, 45.1), (15.991, 67.4), (19.996, 89.9)),
    *((16.004, 67.6), (12.007, 45.3), (7.996, 22.7), (4.001, 0.0)),
)
READINGS = [
    {"command_mA": ma, "position_deg": round(deg + more, 1), "feedback_mA": round(ma + 0.012, 3)}
    for more in (0.0, 0.1)
    for ma, deg in RUN
]
GOOD = {
    "visits": [VISIT],
    "readings": READINGS,
    "strokes": [{"time_s": 20.1}, {"time_s": 20.3}, {"time_s": 19.8}, {"time_s": 20.0}],
    "fail_tests": [
        {"position_before_pct": 99.8, "position_after_pct": 0.4, "time_s": 18.5},
        {"position_before_pct": 50.1, "position_after_pct": 0.3, "time_s": 9.5},
    ],
    "switches": SWITCHES_THAT_LEAD,
    "prechecks": [{"result": "yes"}, {"result": "na"}],
}
