"""The columns of a continuous recording, one file a recording, under logs/."""

from __future__ import annotations

from typing import Final

from kit.basis.tables.columns import Table, number, table, time
from kit.basis.tables.measurements import COMMAND_PCT, POSITION_PCT, TRAVEL_UNITS

# A loop that is open reads a little below 0, and a converter a little beyond its range.
_CURRENT_MA: Final = (-1.0, 25.0)
_VOLTAGE_V: Final = (-1.0, 15.0)
_COMMAND_PCT: Final = (-200.0, COMMAND_PCT[1])  # 0 mA on 12-20 mA is -150 %
_FEEDBACK_PCT: Final = (-30.0, 130.0)

LOGS: Final[Table] = table(
    "logs",
    "A continuous recording of one stage of one visit: logs/<tag>/<visit>.<stage>[.anything].csv or .parquet, with "
    "these columns, or any logger's file as [[recordings]] of unit.toml says.",
    {
        "time_s": number("s", "Time of the sample.", -1e9, 1e9, one_of="time"),
        "timestamp": time("Time of the sample, ISO 8601, with its zone where there is one.", one_of="time"),
        "command_mA": number("mA", "Command measured at the valve.", *_CURRENT_MA, one_of="command"),
        "command_V": number("V", "Command measured at the valve.", *_VOLTAGE_V, one_of="command"),
        "command_pct": number("% of command range", "Command at the valve.", *_COMMAND_PCT, one_of="command"),
        "feedback_mA": number("mA", "Feedback signal.", *_CURRENT_MA, one_of="travel"),
        "feedback_V": number("V", "Feedback signal.", *_VOLTAGE_V, one_of="travel"),
        "feedback_pct": number(
            "% of feedback range",
            "Feedback signal; without a feedback range and with a track resistance, the wiper in % of its track.",
            *_FEEDBACK_PCT,
            one_of="travel",
        ),
        "position_pct": number("% of travel", "Measured position, 0 is closed.", *POSITION_PCT, one_of="travel"),
        "position_deg": number("deg", "Measured position from closed.", *TRAVEL_UNITS, one_of="travel"),
        "position_mm": number("mm", "Measured position from closed.", *TRAVEL_UNITS, one_of="travel"),
        "closed_switch": number("0 or 1", "Closed-end switch: 1 is made.", 0, 1),
        "open_switch": number("0 or 1", "Open-end switch: 1 is made.", 0, 1),
        "supply_v": number("V", "Supply at the terminals.", -1, 1000),
    },
    place="logs",
    is_test=True,
)
