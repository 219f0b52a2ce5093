"""Values beside the readings that one slip, or another unit, would explain: strokes, potentiometer, supply."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

import numpy as np
import pandas as pd

from kit.basis.arrays import BoolArray, FloatArray
from kit.basis.records import Problem
from kit.basis.rows import BOUNDS, Rows
from kit.records.suspicions.sightings import Seen, lines, problem_at
from kit.records.suspicions.slips import meant_by

# House definitions.
_OFF: Final = 0.25  # of a time: further off the other strokes and the register it is looked at
_BACK: Final = 0.04  # a slip must bring it back within this share
_FEWEST_OTHERS: Final = 2
_FULL_SPEED_PCT: Final = 100.0
_FACTORS: Final = (
    (60.0, "minutes typed as s"),
    (10.0, "the decimal point slipped"),
    (0.1, "the decimal point slipped"),
    (100.0, "the decimal point slipped"),
)
_WIPER_OFF: Final = 0.06  # of the track
_WIPER_BACK: Final = 0.015
_FEWEST: Final = 4
_THOUSANDTH: Final = (0.0005, 0.0015)  # of the track, where kΩ were typed as Ω
_SUPPLY_TIMES: Final = (8.0, 12.5)  # or the inverse


def find_odd_values(seen: Seen) -> list[Problem]:
    """Suspect stroke times, wiper resistances and supply voltages."""
    return [*_strokes(seen), *_wipers(seen), *_supplies(seen)]


def _frame(rows: Rows, *columns: str) -> pd.DataFrame:
    names = ("tag", "visit", "file", "row", *(("stage",) if "stage" in rows.columns else ()), *columns)
    frame = pd.DataFrame({name: rows[name] for name in names})
    if BOUNDS in rows.columns:
        frame = frame[np.asarray(rows[BOUNDS] == "", dtype=bool)]
    return frame if "stage" in rows.columns else frame.assign(stage="")


def _strokes(seen: Seen) -> Iterator[Problem]:
    """Whole strokes against the others of their stage and speed, and against the register's time."""
    frame = _frame(seen.tables["strokes"], "direction", "time_s", "speed_setting_pct", "from_pct", "to_pct")
    frame = frame[frame["time_s"].notna() & frame["from_pct"].isna() & frame["to_pct"].isna()]
    full_speed = frame["speed_setting_pct"].isna() | (frame["speed_setting_pct"] == _FULL_SPEED_PCT)
    frame = frame.assign(nominal=_nominal(frame, seen).where(full_speed))
    keys = ["tag", "visit", "stage", "speed_setting_pct"]
    for _, own in frame[_is_apart(frame, keys)].groupby(keys, sort=False, dropna=False):
        times, ways = own["time_s"].to_numpy(), own["direction"].to_numpy()
        for place, row in enumerate(lines(own)):
            yield from _odd_stroke(row, np.delete(times, place), ways == row.direction, place)


def _is_apart(frame: pd.DataFrame, keys: list[str]) -> pd.Series[bool]:
    """Rows of stages in which some time is far from another, or from the register's."""
    known = frame[["time_s", "nominal"]]
    groups = [frame[key] for key in keys]
    low = known.min(axis=1).groupby(groups, sort=False, dropna=False).transform("min")
    high = known.max(axis=1).groupby(groups, sort=False, dropna=False).transform("max")
    apart: pd.Series[bool] = high > (1 + _OFF) * low
    return apart


def _odd_stroke(row: Any, others: FloatArray, same_way: BoolArray, place: int) -> Iterator[Problem]:
    """A stroke far from what the others and the register say together, brought back by one slip or another unit."""
    usual = float(np.nanmedian([*others, row.nominal])) if others.size or not np.isnan(row.nominal) else np.nan
    if not abs(row.time_s - usual) > _OFF * usual:
        return
    twins = others[np.delete(same_way, place)]
    wanted = float(np.median(twins)) if twins.size else usual
    found = _other_unit(row.time_s, usual)
    if found is None and others.size >= _FEWEST_OTHERS:
        found = meant_by(row.time_s, wanted * (1 - _BACK), wanted * (1 + _BACK))
    if found is not None:
        about = f"The other strokes, or the register, say about {usual:.4g} s."
        yield problem_at(row, "time_s", row.time_s, f"Was {found[0]:.4g} meant ({found[1]})? {about}", "strokes")


def _nominal(frame: pd.DataFrame, seen: Seen) -> pd.Series[float]:
    times = {
        (name, way): time
        for name, tag in seen.tags.items()
        for way, time in (("open", tag.stroke_time_open_s), ("close", tag.stroke_time_close_s))
    }
    known = [times.get(key) for key in zip(frame["tag"], frame["direction"], strict=True)]
    return pd.Series([np.nan if each is None else each for each in known], index=frame.index, dtype=float)


def _other_unit(time_s: float, usual_s: float) -> tuple[float, str] | None:
    for factor, how in _FACTORS:
        if usual_s * (1 - _OFF / 2) <= time_s * factor <= usual_s * (1 + _OFF / 2):
            return time_s * factor, how
    return None


def _wipers(seen: Seen) -> Iterator[Problem]:
    frame = _frame(seen.tables["potentiometer"], "position_pct", "wiper_ohm", "track_ohm")
    tracks = {name: tag.track_ohm or np.nan for name, tag in seen.tags.items()}
    track = frame["track_ohm"].where(frame["track_ohm"] > 0, frame["tag"].map(tracks))
    frame = frame.assign(track=track, share=frame["wiper_ohm"] / track).dropna(subset=["share", "position_pct"])
    keys = ["tag", "visit", "stage"]
    frame = frame.sort_values([*keys, "position_pct"], kind="stable")
    for _, own in frame[_is_bent(frame, keys)].groupby(keys, sort=False):
        if len(own) < _FEWEST:
            continue
        if _THOUSANDTH[0] <= float(own["share"].max()) <= _THOUSANDTH[1]:
            text = "These look like kΩ typed as Ω. If so, enter them times 1000."
            row = lines(own.sort_values("row"))[0]
            yield problem_at(row, "wiper_ohm", row.wiper_ohm, text, "potentiometer")
        else:
            yield from _odd_wipers(own)


def _is_bent(frame: pd.DataFrame, keys: list[str]) -> pd.Series[bool]:
    """Rows of sweeps with a corner, or in thousandths: only those are looked at one by one."""
    share = frame["share"].groupby([frame[key] for key in keys], sort=False)
    bent = (share.diff().diff().abs() > _WIPER_OFF / 2).groupby([frame[key] for key in keys], sort=False)
    found: pd.Series[bool] = bent.transform("any") | (share.transform("max") <= _THOUSANDTH[1])
    return found


def _odd_wipers(own: pd.DataFrame) -> Iterator[Problem]:
    """The one wiper that lies off the line of the others, where a slip explains it."""
    position, share = own["position_pct"].to_numpy(), own["share"].to_numpy()
    slope, at_zero = _line(position, share)
    off = np.abs(share - (at_zero + slope * position))
    worst = int(np.argmax(off))
    rest = np.delete(off, worst)
    if off[worst] <= _WIPER_OFF or rest.max() > _WIPER_OFF / 2:
        return
    row: Any = lines(own)[worst]
    expected = (at_zero + slope * position[worst]) * row.track
    found = meant_by(float(row.wiper_ohm), expected - _WIPER_BACK * row.track, expected + _WIPER_BACK * row.track)
    if found is not None:
        about = f"The other positions say about {expected:.4g}."
        text = f"Was {found[0]:g} meant ({found[1]})? {about}"
        yield problem_at(row, "wiper_ohm", float(row.wiper_ohm), text, "potentiometer")


def _line(x: Any, y: Any) -> tuple[float, float]:
    """Slope and value at 0 of the line through the medians: one bad reading does not move it (Theil and Sen)."""
    one, other = np.triu_indices(len(x), 1)
    apart = x[other] - x[one]
    slopes = (y[other] - y[one])[apart != 0] / apart[apart != 0]
    slope = float(np.median(slopes)) if slopes.size else 0.0
    return slope, float(np.median(y - slope * x))


def _supplies(seen: Seen) -> Iterator[Problem]:
    frame = _frame(seen.tables["electrical"], "supply_nominal_v", "supply_idle_v", "supply_running_v")
    nominal = frame["supply_nominal_v"]
    for column in ("supply_idle_v", "supply_running_v"):
        times = frame[column].abs() / nominal.abs()
        low, high = _SUPPLY_TIMES
        odd = times.between(low, high) | times.between(1 / high, 1 / low)
        for row in lines(frame[odd]):
            value = float(getattr(row, column))
            meant = value / 10 if value > row.supply_nominal_v else value * 10
            text = f"Was {meant:g} meant (the decimal point slipped)? The nominal supply is {row.supply_nominal_v:g} V."
            yield problem_at(row, column, value, text, "electrical")
