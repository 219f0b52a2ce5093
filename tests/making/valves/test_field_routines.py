"""Routines as people walk them, and losses by every cause."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.making.valves import (
    FIELD_ROUTINES,
    Routine,
    SignalLoss,
    Supply,
    VirtualValve,
    field_routine,
    run_motion,
    simulate_seen,
)
from tests.making.valves.command_programme import SHORT_PCT
from tests.making.valves.plain_valves import FAITHFUL, PLAIN

VALVE = replace(PLAIN, signal_loss=SignalLoss("closed", delay_s=0.5), supply=Supply(24.0, 23.0, 0.5))


def seen(routine: Routine, valve: VirtualValve = VALVE):
    return simulate_seen(valve, routine, FAITHFUL, generator=np.random.default_rng(1))


@pytest.mark.parametrize("kind", FIELD_ROUTINES)
def test_every_routine_ends_and_moves_the_valve(kind: str) -> None:
    routine = field_routine(kind, VALVE, np.random.default_rng(3))
    assert 200.0 < routine.duration_s < 3000.0
    assert np.ptp(run_motion(VALVE, routine, step_s=0.01).stem_pct) > 5.0


def test_steps_are_called_back_before_the_valve_is_there() -> None:
    pieces = field_routine("called back", VALVE, np.random.default_rng(3)).pieces
    beyond = [each for each in pieces if each.kind == "step"]
    assert beyond
    assert all(each.to_s - each.from_s < 100.0 / 4.0 for each in beyond)


def test_a_loop_that_sinks_is_followed_until_it_is_lost() -> None:
    """From 50 % (12 mA) to 3.6 mA with 1 s: lost after ln(12 / 3.6) = 1.2 s, and until then a falling command."""
    routine = Routine(50.0).rest(20.0).lose_signal(40.0, decay_s=1.0)
    motion, recorded, _ = seen(routine)
    time, command = recorded.time_s, recorded.column("command")
    assert command[(time > 20.9) & (time < 21.1)] == pytest.approx(12.0 * np.exp(-1.0), rel=0.12)
    lost_s = float(motion.time_s[int(motion.lost.argmax())])
    assert lost_s == pytest.approx(20.0 + np.log(12.0 / 3.6), abs=0.01)
    assert motion.stem_pct[-1] == pytest.approx(VALVE.mechanics.closed_switch_pct, abs=0.1)


def test_a_short_circuit_reads_22_milliampere_and_is_a_loss() -> None:
    motion, recorded, _ = seen(Routine(50.0).rest(20.0).lose_signal(40.0, reads_pct=SHORT_PCT))
    assert recorded.column("command")[-1] == pytest.approx(22.0)
    assert motion.stem_pct[-1] < 1.0


def test_a_contact_that_bounces_leaves_the_valve_where_it_is() -> None:
    """Shorter than the delay of the loss."""
    motion, recorded, _ = seen(Routine(50.0).rest(20.0).bounce([0.1, 0.1, 0.2, 0.1, 0.1]).restore_signal(20.0))
    assert np.count_nonzero(np.diff((recorded.column("command") < 3.0).astype(int)) == 1) == 3
    assert np.ptp(motion.stem_pct[motion.time_s > 19.0]) == 0.0


def test_a_valve_without_supply_stands_and_its_supply_reads_what_is_left() -> None:
    routine = Routine(50.0).rest(20.0).step(80.0, 2.0).lose_supply(20.0, loses_signal=True).restore_supply(30.0)
    motion, recorded, truth = seen(routine)
    without = (motion.time_s > 22.5) & (motion.time_s < 42.0)
    assert np.ptp(motion.stem_pct[without]) == 0.0
    dead = (recorded.time_s > 22.5) & (recorded.time_s < 41.9)
    assert recorded.column("supply_v")[dead] == pytest.approx(0.5)
    assert recorded.column("command")[dead] == pytest.approx(0.0)
    assert motion.stem_pct[-1] == pytest.approx(79.75, abs=0.05)
    assert [each.segment.what for each in truth.responses[-2:]] == ["supply_lost", "supply_restored"]


def test_stored_energy_drives_a_valve_without_supply() -> None:
    valve = replace(VALVE, supply_loss=SignalLoss("open", delay_s=0.2))
    motion, _, _ = seen(Routine(50.0).rest(20.0).lose_supply(40.0), valve)
    assert motion.stem_pct[-1] > 99.0
