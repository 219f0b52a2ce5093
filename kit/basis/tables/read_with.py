"""Which columns an instrument of the visit was read for, and in which role."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from kit.basis.registers import Role

_POSITIONS: Final[Mapping[str, Role]] = {"position_pct": "position"}

READ_WITH: Final[Mapping[str, Mapping[str, Role]]] = {  # by table and column
    "readings": {
        **dict.fromkeys(("command_mA", "command_V", "command_pct"), "command"),
        **dict.fromkeys(("position_pct", "position_deg", "position_mm"), "position"),
        **dict.fromkeys(("feedback_mA", "feedback_V", "feedback_pct"), "feedback"),
    },
    "strokes": {"time_s": "time", "from_pct": "position", "to_pct": "position"},
    "fail_tests": {
        **dict.fromkeys(("position_before_pct", "position_after_pct", "position_restored_pct"), "position"),
        "command_restored_pct": "command",
        "time_s": "time",
    },
    "switches": dict.fromkeys(("makes_at_pct", "breaks_at_pct", "stop_at_pct"), "position"),
    "potentiometer": {**_POSITIONS, **dict.fromkeys(("wiper_ohm", "track_ohm"), "resistance")},
    "electrical": {
        **dict.fromkeys(("supply_idle_v", "supply_running_v", "loop_supply_v"), "supply"),
        **dict.fromkeys(("loop_ohm", "insulation_mohm", "earth_ohm"), "resistance"),
    },
    "loop_checks": {**_POSITIONS, **dict.fromkeys(("card_mA", "command_mA"), "command")},
}
NOT_READ: Final[Mapping[str, frozenset[str]]] = {  # numbers that were set, displayed or looked up
    "readings": frozenset({"command_set_pct"}),
    "strokes": frozenset({"speed_setting_pct"}),
    "electrical": frozenset({"supply_nominal_v", "device_min_v", "insulation_test_v"}),
    "loop_checks": frozenset({"station_output_pct", "station_feedback_pct"}),
    "segments": frozenset({"from_s", "to_s"}),
}
RECORDED: Final[Mapping[str, Role]] = {  # by what a recording holds
    "command_pct": "command",
    "position_pct": "position",
    "feedback_pct": "feedback",
    "time_s": "time",
    "supply_v": "supply",
}
