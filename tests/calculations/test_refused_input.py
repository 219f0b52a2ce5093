"""What every calculation refuses, and how it says so."""

from __future__ import annotations

import pytest

from kit.basis.arrays import CalculationInputError
from kit.calculations.fail_action import farthest, longest
from kit.calculations.linearity import minimax_line
from kit.calculations.lines import least_squares_line
from kit.calculations.loop import loop_command_error, loop_feedback_error
from kit.calculations.points import group_commands
from kit.calculations.position import reduce_runs
from kit.calculations.potentiometer import reduce_sweep
from kit.calculations.repeats import greatest, mean
from kit.calculations.scatter import pooled_deviation
from kit.calculations.strokes import stroke_time
from kit.calculations.switches import switch_lead, switch_position
from kit.calculations.uncertainty import spread_of_accuracy, spread_of_resolution

TABLE = [[1.0, 2.0], [3.0, 4.0]]
PAIR = [1.0, 2.0]


@pytest.mark.parametrize(
    ("name", "call"),
    [
        ("error_pct", lambda: greatest(TABLE)),
        ("values", lambda: mean(TABLE, "")),
        ("value_pct", lambda: farthest(TABLE, 0.0)),
        ("target_pct", lambda: farthest(PAIR, TABLE)),
        ("time_s", lambda: longest(TABLE)),
        ("values", lambda: stroke_time(TABLE)),
        ("values", lambda: switch_position(TABLE)),
        ("makes_at_pct", lambda: switch_lead(TABLE, PAIR, end="closed")),
        ("stop_at_pct", lambda: switch_lead(PAIR, TABLE, end="closed")),
        ("position_pct", lambda: loop_command_error(TABLE, PAIR)),
        ("ideal_pct", lambda: loop_command_error(PAIR, TABLE)),
        ("station_feedback_pct", lambda: loop_feedback_error(TABLE, PAIR)),
        ("position_pct", lambda: loop_feedback_error(PAIR, TABLE)),
        ("command_pct", lambda: group_commands(TABLE)),
        ("command_pct", lambda: reduce_runs(TABLE, PAIR, PAIR, PAIR)),
        ("error_pct", lambda: reduce_runs(PAIR, TABLE, PAIR, PAIR)),
        ("cycle", lambda: reduce_runs(PAIR, PAIR, PAIR, TABLE)),
        ("input_pct", lambda: reduce_runs(PAIR, PAIR, PAIR, PAIR, input_pct=TABLE)),
        ("position_pct", lambda: reduce_sweep(TABLE, PAIR, 1.0)),
        ("wiper_ohm", lambda: reduce_sweep(PAIR, TABLE, 1.0)),
        ("track_ohm", lambda: reduce_sweep(PAIR, PAIR, TABLE)),
        ("x", lambda: minimax_line(TABLE, PAIR)),
        ("y", lambda: minimax_line(PAIR, TABLE)),
        ("x", lambda: least_squares_line(TABLE, PAIR)),
        ("y", lambda: least_squares_line(PAIR, TABLE)),
        ("weights", lambda: spread_of_accuracy(TABLE, [0, 0], 1.0)),
        ("weights", lambda: spread_of_resolution(TABLE, [0, 0])),
        ("error", lambda: pooled_deviation(TABLE, [0, 0])),
    ],
)
def test_a_table_in_the_place_of_a_column_is_refused_by_name(name, call):
    with pytest.raises(CalculationInputError, match=rf"^{name} has 2 dimensions; give one value a reading\.$"):
        call()


def test_a_single_value_is_a_column_of_one():
    assert greatest(0.5).value == 0.5
    assert stroke_time(30).value == 30.0
    assert group_commands(50).tolist() == [0]
    runs = reduce_runs(50, 0.5, True, 1)
    assert (runs.rising.tolist(), runs.point_command_pct.tolist()) == ([True], [50.0])
    assert spread_of_accuracy(1.0, 0, 0.2) == pytest.approx(0.2)
    assert spread_of_resolution(1.0, 0) == 1.0
