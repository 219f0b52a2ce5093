"""Readings better than instruments read: asked about, with what usually explains it; nobody is accused."""

from __future__ import annotations

from typing import Final

import numpy as np
import pandas as pd

from kit.basis.records import Problem
from kit.records.suspicions.by_run import all_in
from kit.records.suspicions.resolutions import Resolutions
from kit.records.suspicions.sightings import Seen, lines, problem_at

# House definitions. An instrument is fine where it reads this share of the range or less.
_FINE: Final = 0.0015
_FINE_BOTH_WAYS: Final = 0.0005
_ENDS: Final = (0.02, 0.98)  # a valve on its stop reads its stop
_NOMINAL: Final = 0.05  # commands are asked for in steps of this share
_MOSTLY: Final = 0.9
_FEWEST: Final = 8
_FEWEST_PLACES: Final = 3
_SAME: Final = 1e-6
_PLACE: Final = 0.025
_AT_NOMINAL: Final = (
    "{share:.0%} of the positions are exactly what was asked for, though the instrument reads finer. It happens where "
    "a display rounds, or where set points were typed for readings. Were they read?"
)
_NO_LAG: Final = (
    "Up and down agree to the last digit at every place. It happens with a very small dead band, or a coarse display. "
    "Was each way read?"
)
_FROM_FEEDBACK: Final = (
    "Every position equals the feedback to the last digit. It happens where the position was worked out from the "
    "feedback, which then proves nothing of itself. Was the position measured?"
)
_COMMAND_AS_SET: Final = (
    "Every measured command equals what was asked for to the last digit. It happens where the calibrator is the "
    "source, or where the display was typed. Was it measured at the valve?"
)


def find_too_good(seen: Seen) -> list[Problem]:
    """Suspect runs, each told once for each reason at its first row."""
    frame = seen.readings
    if frame.empty:
        return []
    known = Resolutions(seen.tables["visits"], seen.instruments)
    step = known.of_readings(frame, "position") / frame["position_span"]
    if not (step <= _FINE).any():
        return _commands_as_set(frame, known)
    fine = frame.assign(step=step)
    between = fine[fine["position_share"].between(*_ENDS) & fine["command_share"].notna()]
    return [
        *_at_nominal(between[between["step"] <= _FINE]),
        *_no_lag(between[between["step"] <= _FINE_BOTH_WAYS]),
        *_from_feedback(between[between["step"] <= _FINE]),
        *_commands_as_set(frame, known),
    ]


def _at_nominal(rows: pd.DataFrame) -> list[Problem]:
    """Positions that stand on the round command that was asked for."""
    if rows.empty:
        return []
    wanted = rows["command_share"].where(~rows["reverse"], 1 - rows["command_share"])
    nominal = (wanted / _NOMINAL).round() * _NOMINAL
    exact = (rows["position_share"] - nominal).abs() < _SAME
    exact &= (wanted - nominal).abs() < _NOMINAL / 4
    shares = exact[rows["linear"]].groupby(rows["run"]).agg(mean="mean", size="size")
    odd = shares[(shares["mean"] >= _MOSTLY) & (shares["size"] >= _FEWEST)]
    texts = {row.Index: _AT_NOMINAL.format(share=row.mean) for row in lines(odd)}
    return _tell(rows, texts, "position")


def _no_lag(rows: pd.DataFrame) -> list[Problem]:
    if not {"up", "down"} <= set(rows["direction"]):
        return []
    place = (rows["command_share"] / _PLACE).round().rename("place")
    means = rows.groupby(["run", place, "direction"])["position"].mean().unstack()
    lag = ((means["up"] - means["down"]).dropna().abs() < _SAME).groupby(level="run")
    odd = lag.all() & (lag.size() >= _FEWEST_PLACES)
    return _tell(rows, dict.fromkeys(odd.index[odd], _NO_LAG), "position")


def _from_feedback(rows: pd.DataFrame) -> list[Problem]:
    """Typed as far as its own digits go, the feedback is the position."""
    both = rows[rows["feedback_share"].notna()]
    same = (both["feedback_share"] - both["position_share"]).abs() <= both["step"] / 2 + _SAME
    if not all_in(same.to_numpy(), both["run"].to_numpy()).size:
        return []
    runs = same.groupby(both["run"])
    positions = both["position"].groupby(both["run"]).nunique()
    odd = runs.all() & (runs.size() >= _FEWEST) & (positions >= _FEWEST_PLACES) & _ragged(both)
    return _tell(both, dict.fromkeys(odd.index[odd], _FROM_FEEDBACK), "position")


def _ragged(rows: pd.DataFrame) -> pd.Series[bool]:
    """Runs whose positions are no round numbers: on those, feedback and position may both be the set point."""
    round_ones = (rows["position_share"] / _NOMINAL - (rows["position_share"] / _NOMINAL).round()).abs() < _SAME
    ragged: pd.Series[bool] = round_ones.groupby(rows["run"]).mean() < 1 - _MOSTLY
    return ragged


def _commands_as_set(frame: pd.DataFrame, known: Resolutions) -> list[Problem]:
    if frame["command_set_pct"].isna().all():
        return []
    step = known.of_readings(frame, "command") / frame["command_span"]
    rows = frame[frame["command_set_pct"].notna() & (step <= _FINE) & frame["command_share"].between(*_ENDS)]
    same = (rows["command_share"] - rows["command_set_pct"] / 100).abs() < _SAME
    runs = same.groupby(rows["run"])
    odd = runs.all() & (runs.size() >= _FEWEST)
    return _tell(rows, dict.fromkeys(odd.index[odd], _COMMAND_AS_SET), "command")


def _tell(rows: pd.DataFrame, texts: dict[int, str], signal: str) -> list[Problem]:
    """One problem a run, at its first row."""
    if not texts:
        return []
    first = rows[rows["run"].isin(list(texts))].drop_duplicates("run")
    return [
        problem_at(row, str(getattr(row, f"{signal}_column")), float(np.float64(getattr(row, signal))), texts[row.run])
        for row in lines(first)
    ]
