"""Repeats that scatter far less than those of the same instruments elsewhere in the unit."""

from __future__ import annotations

from typing import Final

import numpy as np
import pandas as pd

from kit.basis.records import Problem
from kit.records.suspicions.by_run import SLACK, numbered
from kit.records.suspicions.resolutions import Resolutions
from kit.records.suspicions.sightings import Seen, lines, problem_at

# House definitions.
_FEWEST_PEERS: Final = 8
_FEWEST_FREEDOM: Final = 6
_SIGNIFICANCE: Final = 0.001
_FAR_BELOW: Final = 49.0  # in variance: a seventh of the usual scatter
_PLACE: Final = 0.025
_TEXT: Final = (
    "The repeats scatter by {own:.2g} {unit}, and those of other records in this unit by {usual:.2g} {unit} as a rule. "
    "It happens where a logger averages, or where one valve is far better. Was each cycle read?"
)


def find_calm_repeats(seen: Seen) -> list[Problem]:
    """Suspect runs whose pooled scatter lies far below the usual one of their column (variance ratio, F test)."""
    frame = seen.readings
    rows = frame[frame["position"].notna() & frame["command_share"].between(0.02, 0.98)]
    if not _may_be_calm(rows):
        return []
    place = (rows["command_share"] / _PLACE).round()
    by_place = rows["position_share"].groupby([rows["run"], place, rows["direction"]])
    off = rows["position_share"] - by_place.transform("mean")
    groups = pd.DataFrame({"run": rows["run"], "squares": off**2, "count": by_place.transform("size")})
    own = groups[groups["count"] > 1].groupby("run").agg(squares=("squares", "sum"), rows=("squares", "size"))
    freedom = own["rows"] - groups[groups["count"] > 1].assign(lost=1.0 / groups["count"]).groupby("run")["lost"].sum()
    known = Resolutions(seen.tables["visits"], seen.instruments)
    step = pd.Series(known.of_readings(rows, "position") / rows["position_span"], index=rows.index)
    first = rows.assign(step=step).drop_duplicates("run").set_index("run", drop=False)
    table = pd.DataFrame({"variance": own["squares"] / freedom, "freedom": freedom, "column": first["position_column"]})
    table = table[table["freedom"] >= _FEWEST_FREEDOM].join(first[["step", "position_span"]])
    return [problem for _, peers in table.groupby("column") for problem in _below(peers, first)]


def _may_be_calm(rows: pd.DataFrame) -> bool:
    """Whether some run's pooled variance may lie so far below the usual one of its column: asked before the rest is."""
    places = np.round(rows["command_share"].to_numpy() / _PLACE)
    runs, shares = rows["run"].to_numpy(), rows["position_share"].to_numpy()
    groups = numbered(runs, places, (rows["direction"] == "up").to_numpy())
    count = np.bincount(groups)
    mean = np.bincount(groups, weights=shares) / np.maximum(count, 1)
    repeated = count[groups] > 1
    squares = np.bincount(runs[repeated], weights=((shares - mean[groups]) ** 2)[repeated])
    freedom = np.bincount(runs[repeated], weights=1.0 - 1.0 / count[groups][repeated])
    enough = np.flatnonzero(freedom >= _FEWEST_FREEDOM - SLACK)
    variances = squares[enough] / freedom[enough]
    columns = rows["position_column"].to_numpy()[np.unique(runs, return_index=True)[1]]
    column_of = dict(zip(np.unique(runs).tolist(), columns.tolist(), strict=True))
    for column in dict.fromkeys(columns.tolist()):
        own = variances[[column_of[run] == column for run in enough.tolist()]]
        if len(own) > _FEWEST_PEERS and own.min() * _FAR_BELOW < float(np.median(own)) * (1 + SLACK):
            return True
    return False


def _below(peers: pd.DataFrame, first: pd.DataFrame) -> list[Problem]:
    from scipy.stats import f  # dear to a driver that finds nothing to ask about

    if len(peers) <= _FEWEST_PEERS:
        return []
    usual = float(peers["variance"].median())
    freedom = float(peers["freedom"].sum())
    least = peers["step"].fillna(np.inf) ** 2 / 12.0  # what rounding alone can hide
    odd = peers[(peers["variance"] * _FAR_BELOW < usual) & (least * _FAR_BELOW < usual)]
    found = []
    for run, each in odd.iterrows():
        if float(f.cdf(float(each["variance"]) / usual, float(each["freedom"]), freedom)) >= _SIGNIFICANCE:
            continue
        row = lines(first.loc[[run]])[0]
        span, unit = float(each["position_span"]), str(row.position_column).rpartition("_")[2]
        deviations = {"own": float(np.sqrt(each["variance"])) * span, "usual": float(np.sqrt(usual)) * span}
        text = _TEXT.format(**deviations, unit=unit.replace("pct", "%"))
        found.append(problem_at(row, str(row.position_column), float(row.position), text))
    return found
