"""The budget of every check made of typed rows, beside one put together anew.

Sensitivities are found by moving each cell a little and working the check out again; errors of instruments are
variables of the uncertainties package, shared where readings share them; scatter is pooled by hand. The whole is
drawn as JCGM 101:2008 says and held against U and p_conformity.
"""

from __future__ import annotations

import copy
import math
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from uncertainties import ufloat

from kit.assessment.judge import judge
from kit.assessment.subjects import SUBJECTS
from kit.basis.checks import CHECKS
from kit.basis.settings import Limit
from tests.making.study.measured_valves import INSTRUMENTS, MeasuredValve, measured_valve

pytestmark = pytest.mark.second_opinion

CYCLES = 2
DRAWS = 100_000
BY_NAME = {each.instrument: each for each in INSTRUMENTS}
INSTRUMENT_OF = {
    "command_pct": "C",
    "command_restored_pct": "C",
    "position_pct": "P",
    "position_before_pct": "P",
    "position_after_pct": "P",
    "position_restored_pct": "P",
    "makes_at_pct": "P",
    "stop_at_pct": "P",
    "feedback_pct": "F",
    "time_s": "S",
    "wiper_ohm": "R",
    "track_ohm": "R",
    "loop_ohm": "R",
    "earth_ohm": "R",
    "insulation_mohm": "R",
    "supply_idle_v": "V",
    "supply_running_v": "V",
    "loop_supply_v": "V",
}
CHECKED = [
    (each, detail)
    for each in CHECKS
    for detail in (("signal_open", "supply_off") if CHECKS[each].details != ("",) else ("",))
    if not CHECKS[each].is_count and each not in ("hysteresis", "dead_band", "resolution")
]


@cache
def valve() -> MeasuredValve:
    return measured_valve(4, CYCLES)


def worked_out(tables, subject):
    """Value less target of each check of one subject, which is what its limits are held against."""
    records = MeasuredValve({"typed": tables}, {}).records("typed", with_class=False)
    return {
        (each.check, each.detail): each.value - (each.target or 0.0)
        for each in subject.typed(records)
        if each.value is not None
    }


def is_shared(column, table):
    """Passes of a potentiometer read at one position stay at one position."""
    return table == "potentiometer" and column == "position_pct"


@cache
def slopes():
    """d(check)/d(cell), by check and then by table, row and column."""
    found = defaultdict(dict)
    for subject in SUBJECTS:
        cells = valve().tables["typed"].get(subject.table, [])
        plain = worked_out(valve().tables["typed"], subject)
        for row, each in enumerate(cells):
            for column in each.keys() & {*INSTRUMENT_OF, "station_feedback_pct"}:
                moved = copy.deepcopy(valve().tables["typed"])
                step = 1e-5 * max(1.0, abs(each[column]))
                for other in moved[subject.table] if is_shared(column, subject.table) else [moved[subject.table][row]]:
                    other[column] += step * (other[column] == each[column])
                for check, value in worked_out(moved, subject).items():
                    if value != plain[check]:
                        found[check][subject.table, row, column] = (value - plain[check]) / step
    return found


def point_of(table, row, column, check):
    """What shares one accuracy error of an instrument."""
    cell = valve().tables["typed"][table][row]
    if table == "readings":
        return round(cell["command_pct"] / 25.0)
    if table == "potentiometer":
        return "track" if column == "track_ohm" else cell["position_pct"]
    if table == "switches":
        return "stop" if column == "stop_at_pct" else "makes"
    if table == "fail_tests":
        return "restored" if "restored" in check else "loss"
    return "all" if table == "strokes" else (row, column)


def errors_of_instruments(check):
    """What the value carries, by instrument: slope, point, half width of accuracy and resolution of each cell."""
    by_instrument = defaultdict(list)
    seen = set()
    for (table, row, column), slope in slopes()[check].items():
        shared = (column, point_of(table, row, column, check[0])) if is_shared(column, table) else (column, row)
        if shared in seen:
            continue
        seen.add(shared)
        cell = valve().tables["typed"][table][row][column]
        if column == "station_feedback_pct":
            by_instrument[""].append((slope, (row, column), 0.0, 0.1))
            continue
        instrument = BY_NAME[INSTRUMENT_OF[column]]
        unit = 1e6 if column == "insulation_mohm" else 1.0
        width = (instrument.accuracy_fixed or 0.0) + (instrument.accuracy_pct_reading or 0.0) / 100 * cell * unit
        by_instrument[instrument.instrument].append(
            (slope, point_of(table, row, column, check[0]), width / unit, instrument.resolution / unit)
        )
    return by_instrument


def rectangles(check):
    """Half widths of the independent rectangles behind a check, through the uncertainties package."""
    found = []
    for terms in errors_of_instruments(check).values():
        accuracy, added, taken = (defaultdict(lambda: ufloat(0.0, 1.0)) for _ in range(3))
        common = ufloat(0.0, 1.0)
        apart = sum(slope * width * accuracy[point] for slope, point, width, _ in terms)
        together = sum(slope * width * common for slope, _, width, _ in terms)
        rounded = sum(slope * step / 2 * (added if slope > 0 else taken)[point] for slope, point, _, step in terms)
        found += [max(apart.std_dev, together.std_dev), rounded.std_dev]
    return [each for each in found if each > 0.0]


def pooled(groups: Iterable[Iterable[float]]):
    """Standard deviation within groups, and its degrees of freedom."""
    repeated = [np.array(list(each)) for each in groups]
    squares = sum(float(((each - each.mean()) ** 2).sum()) for each in repeated)
    freedom = sum(each.size - 1 for each in repeated)
    return math.sqrt(squares / freedom), freedom


def grouped(rows, value, key):
    groups = defaultdict(list)
    for row in rows:
        groups[key(row)].append(value(row))
    return groups.values()


def scatter_of(check):
    """What the valve's own scatter adds: standard deviation of the figure, and degrees of freedom; None: none."""
    typed, name = valve().tables["typed"], check[0]
    place = lambda row: (round(row["command_pct"] / 25.0), row["direction"])  # noqa: E731
    share = [slope for (*_, column), slope in slopes()[check].items() if column in ("position_pct", "feedback_pct")]
    if name in ("inaccuracy", "feedback_inaccuracy", "repeatability"):
        return None
    if name.startswith("feedback"):
        deviation, freedom = pooled(
            grouped(typed["readings"], lambda row: row["feedback_pct"] - row["position_pct"], place)
        )
        fed = [slope for (*_, column), slope in slopes()[check].items() if column == "feedback_pct"]
        return deviation * float(np.linalg.norm(fed)), freedom
    if name in ("zero_error", "span_error", "hysteretic_error") or ("linearity" in name and "potent" not in name):
        deviation, freedom = pooled(
            grouped(
                typed["readings"],
                lambda row: row["position_pct"] - min(max(row["command_pct"], 0.0), 100.0),
                place,
            )
        )
        return deviation * float(np.linalg.norm(share)), freedom
    if "switch" in name:
        deviation, freedom = pooled(
            grouped(typed["switches"], lambda row: row["makes_at_pct"], lambda row: row["switch"])
        )
        return deviation / (1.0 if name.endswith("lead") else math.sqrt(CYCLES)), freedom
    if name.startswith("stroke"):
        times = grouped(typed["strokes"], lambda row: row["time_s"], lambda row: row["direction"])
        relative, freedom = pooled([np.array(each) / np.mean(each) for each in times])
        own = [row["time_s"] for row in typed["strokes"] if row["direction"] == name.removeprefix("stroke_time_")]
        return relative * float(np.mean(own)) / math.sqrt(CYCLES), freedom
    if name == "potentiometer_linearity":
        ratio = lambda row: 100.0 * row["wiper_ohm"] / row["track_ohm"]  # noqa: E731
        deviation, freedom = pooled(grouped(typed["potentiometer"], ratio, lambda row: row["position_pct"]))
        wiper = [slope * 50.0 for (*_, column), slope in slopes()[check].items() if column == "wiper_ohm"]
        return deviation * float(np.linalg.norm(wiper)), freedom
    return None


@cache
def findings():
    records = valve().records("typed", with_class=False)
    return {(each.check, each.detail): each for subject in SUBJECTS for each in subject.typed(records)}


MADE = [each for each in CHECKED if each in findings() and findings()[each].value is not None]


def test_every_check_of_typed_rows_is_among_them():
    assert len({check for check, _ in MADE}) == 32


@pytest.mark.parametrize("check", MADE, ids="-".join)
def test_the_budget_is_that_of_the_uncertainties_package(check):
    budget, scatter = findings()[check].uncertainty.budget, scatter_of(check)
    instruments = sum(each**2 for each in rectangles(check)) / 3.0
    expected = math.sqrt(instruments + (scatter[0] ** 2 if scatter else 0.0))
    assert budget.standard_uncertainty == pytest.approx(expected, rel=5e-3)
    assert budget.scatter_freedom == (scatter[1] if scatter else math.inf)


@pytest.mark.parametrize("check", MADE, ids="-".join)
def test_u_and_the_probability_of_conformity_are_those_of_drawn_errors(check):
    """100,000 draws; U may be wider than 95.45 %, since the normal factor is cautious of rectangles."""
    generator, finding, scatter = np.random.default_rng(3), findings()[check], scatter_of(check)
    errors = sum(generator.uniform(-each, each, DRAWS) for each in rectangles(check))
    if scatter:
        errors = errors + scatter[0] * generator.standard_t(scatter[1], DRAWS)
    expanded = finding.uncertainty.budget.expanded_uncertainty
    assert float(np.mean(np.abs(errors) <= expanded)) >= 0.9545 - 0.02
    limit = Limit(check[0], "drawn", maximum=finding.value + 0.7 * expanded)
    judged = judge(replace(finding, singly=()), limit, "guarded")
    assert judged.p_conformity == pytest.approx(float(np.mean(errors <= 0.7 * expanded)), abs=0.006)
