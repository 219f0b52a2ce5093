"""Whole runs that stand in the wrong column: another quantity typed as %, up and down or two signals exchanged."""

from __future__ import annotations

from collections.abc import Collection
from typing import Final

import numpy as np
import pandas as pd

from kit.basis.arrays import BoolArray, FloatArray
from kit.basis.records import Problem
from kit.records.suspicions.by_run import all_in
from kit.records.suspicions.sightings import problem_at

# House definitions, in shares of the range.
_FULL: Final = (0.05, 0.95)  # a run that covers this much tells a scale
_FEWEST: Final = 4
_FIT: Final = 0.02
_FIT_TRAVEL: Final = 0.005
_FIT_CONFIRMED: Final = 0.05  # where the feedback says the same
_LEAST_LAG: Final = 0.003
_MEAN_LAG: Final = 0.008
_RAGGED_PCT: Final = 0.5
_SIGNALS: Final = (("4-20 mA", 4.0, 16.0), ("0-10 V", 0.0, 10.0), ("2-10 V", 2.0, 8.0))
_FRACTION_OFF: Final = 0.02  # of a share from 0 to 1
_LARGE: Final = 0.2  # shares of the range that no fraction of 1 is near
_NEAR: Final = 0.1

_FRACTIONS: Final = "These look like fractions of 1 typed as %. If so, enter them times 100."


def find_wrong_columns(frame: pd.DataFrame) -> list[Problem]:
    """Suspect runs, each told once at its first row."""
    if frame.empty:
        return []
    return [*_other_units(frame), *_mixed_fractions(frame), *_up_for_down(frame), *_exchanged(frame)]


def _other_units(frame: pd.DataFrame) -> list[Problem]:
    """Readings that fit another scale than their column's over the whole travel."""
    found: list[Problem] = []
    command = frame["command_share"].where(~frame["reverse"], 1 - frame["command_share"]).to_numpy()
    in_pct = frame["linear"].to_numpy() & ~np.isnan(command) & (frame["position_column"] == "position_pct").to_numpy()
    for what, low, span in _SIGNALS:
        fits = _fits(frame, in_pct, command, "position", low, span, _FIT * span)
        found += _tell(frame, fits, "position", f"These look like a signal of {what} typed as %.")
    fits = _fits(frame, in_pct, command, "position", 0.0, 1.0, _FRACTION_OFF)
    found += _tell(frame, fits, "position", _FRACTIONS)
    for unit, word in (("deg", "degrees"), ("mm", "millimetres")):
        travel = frame[f"travel_{unit}"]
        own = in_pct & travel.notna().to_numpy() & (travel != 100).to_numpy()
        if own.any():
            own &= ~_feedback_agrees(frame).to_numpy()
            tolerance = (travel * _FIT_TRAVEL).where(~_feedback_confirms(frame, travel), travel * _FIT_CONFIRMED)
            fits = _fits(frame, own, command, "position", 0.0, travel.to_numpy(), tolerance.to_numpy())
            found += _tell(frame, fits, "position", f"These look like {word} typed as %. If so, enter position_{unit}.")
    return [*found, *_other_command_units(frame), *_other_feedback_units(frame)]


def _other_feedback_units(frame: pd.DataFrame) -> list[Problem]:
    """Feedback in % that is the signal itself."""
    found: list[Problem] = []
    position = frame["position_share"].to_numpy()
    rows = ~np.isnan(position) & (frame["feedback_column"] == "feedback_pct").to_numpy()
    for what, low, span in _SIGNALS:
        fits = _fits(frame, rows, position, "feedback", low, span, _FIT * span)
        found += _tell(frame, fits, "feedback", f"These look like a feedback of {what} typed as %.")
    fits = _fits(frame, rows, position, "feedback", 0.0, 1.0, _FRACTION_OFF)
    return found + _tell(frame, fits, "feedback", _FRACTIONS)


def _mixed_fractions(frame: pd.DataFrame) -> list[Problem]:
    """Some readings of a run a hundredth of what the command asks for, the others in %."""
    command = frame["command_share"].where(~frame["reverse"], 1 - frame["command_share"])
    rows = frame[frame["linear"] & (frame["position_column"] == "position_pct") & (command >= _LARGE)]
    if rows.empty:
        return []
    wanted, read = command[rows.index], rows["position"]
    in_parts = (read - wanted).abs() <= _NEAR * wanted
    in_pct = (read / 100 - wanted).abs() <= _NEAR
    parts, whole = in_parts.groupby(rows["run"]).sum(), in_pct.groupby(rows["run"]).sum()
    mixed = (parts >= 2) & (whole >= 2)
    text = "Some readings of this run look like fractions of 1 and some like %. Was one column typed two ways?"
    return _tell(rows[in_parts], _marked(mixed), "position", text)


def _other_command_units(frame: pd.DataFrame) -> list[Problem]:
    found: list[Problem] = []
    position = frame["position_share"].where(~frame["reverse"], 1 - frame["position_share"]).to_numpy()
    linear = frame["linear"].to_numpy() & ~np.isnan(position)
    in_pct = linear & (frame["command_column"] == "command_pct").to_numpy()
    fits = _fits(frame, in_pct, position, "command", 0.0, 1.0, _FRACTION_OFF)
    found += _tell(frame, fits, "command", _FRACTIONS)
    for column, signals in (("command_pct", _SIGNALS), ("command_mA", _SIGNALS[1:])):
        rows = linear & (frame["command_column"] == column).to_numpy()
        for what, low, span in signals:
            fits = _fits(frame, rows, position, "command", low, span, _FIT * span)
            as_what = "%" if column == "command_pct" else "mA"
            found += _tell(frame, fits, "command", f"These look like a command of {what} typed as {as_what}.")
    return found


def _fits(
    frame: pd.DataFrame,
    rows: BoolArray,
    share: FloatArray,
    signal: str,
    low: float,
    span: float | FloatArray,
    tolerance: float | FloatArray,
) -> list[int]:
    """Which runs fit ``low + span * share`` in every reading of ``rows``, over the whole range and not by chance."""
    off = (np.abs(frame[signal].to_numpy() - (low + span * share)) / tolerance)[rows]
    runs = frame["run"].to_numpy()[rows]
    is_known = ~np.isnan(off)
    fitting = all_in(off[is_known] <= 1, runs[is_known])
    own = {int(run): share[rows][runs == run] for run in fitting}
    return [run for run, shares in own.items() if _covers(shares)]


def _covers(shares: FloatArray) -> bool:
    """Whether a run's readings tell a scale."""
    return bool(
        np.nanmin(shares) <= _FULL[0]
        and np.nanmax(shares) >= _FULL[1]
        and len(np.unique(np.round(shares[~np.isnan(shares)], 1))) >= _FEWEST
    )


def _feedback_agrees(frame: pd.DataFrame) -> pd.Series[bool]:
    """Where a run's feedback confirms its positions throughout, they were not mistyped."""
    apart = (frame["feedback_share"] - frame["position_share"]).abs()
    return apart.groupby(frame["run"]).transform("max") < 2 * _FIT


def _feedback_confirms(frame: pd.DataFrame, travel: pd.Series[float]) -> pd.Series[bool]:
    """Where a run's feedback says throughout what the positions would say in the travel's own unit."""
    apart = (frame["feedback_share"] - frame["position"] / travel).abs()
    return apart.groupby(frame["run"]).transform("max") < 2 * _FIT


def _up_for_down(frame: pd.DataFrame) -> list[Problem]:
    """Up readings above down readings at every place between the ends: a lag the wrong way round."""
    between = frame["command_share"].between(*_FULL) & frame["position_share"].notna() & ~frame["reverse"]
    rows = frame[between]
    if not {"up", "down"} <= set(rows["direction"]):
        return []
    place = (rows["command_share"] / 0.025).round().rename("place")
    means = rows.groupby(["run", place, "direction"])["position_share"].mean().unstack()
    lag = (means["down"] - means["up"]).dropna().groupby(level="run")
    odd = (lag.size() >= 3) & (lag.max() <= -_LEAST_LAG) & (lag.mean() <= -_MEAN_LAG)
    text = (
        "Down readings lie below up readings throughout. Were up and down exchanged, or was it read before it settled?"
    )
    return _tell(frame, _marked(odd), "direction", text)


def _exchanged(frame: pd.DataFrame) -> list[Problem]:
    """Round positions at ragged commands: both in %, they may stand in each other's column."""
    rows = frame[(frame["command_column"] == "command_pct") & (frame["position_column"] == "position_pct")]
    if rows.empty:
        return []
    keys = rows["run"]
    round_positions = (rows["position"] % 5 == 0).groupby(keys).all() & (rows["position"].groupby(keys).nunique() >= 5)
    ragged = (rows["command"] - (rows["command"] / 5).round() * 5).abs().groupby(keys).median() >= _RAGGED_PCT
    near = (rows["command"] - rows["position"]).abs().groupby(keys).max() <= 10
    text = "The positions are round and the commands are not. Were the two columns exchanged?"
    return _tell(frame, _marked(round_positions & ragged & near), "command", text)


def _marked(runs: pd.Series[bool]) -> list[int]:
    return [int(run) for run in runs.index[np.asarray(runs, dtype=bool)]]


def _tell(frame: pd.DataFrame, runs: Collection[int], signal: str, text: str) -> list[Problem]:
    """Tell a suspicion at the first row of each run."""
    if not runs:
        return []
    first = frame[frame["run"].isin(list(runs))].drop_duplicates("run")
    column = signal if signal == "direction" else f"{signal}_column"
    return [
        problem_at(row, "direction" if column == "direction" else str(getattr(row, column)), getattr(row, signal), text)
        for row in first.itertuples()
    ]
