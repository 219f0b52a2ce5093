"""Dead band and resolution of modelled valves, held against their truth: by small steps and by ramps, by kind."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import pytest

from kit.basis.recording import Recording
from kit.calculations.recordings.reduce import reduce_recording
from kit.calculations.recordings.smallest import smallest_command
from kit.calculations.uncertainty import combine
from tests.calculations.recordings.made import same
from tests.calculations.recordings.small_valves import (
    KINDS,
    SmallValve,
    drawn,
    recorded,
    run,
    staircase,
    triangle,
    truth_of,
)

_VALVES = 12  # of each kind; the long run has 40
_MICRO_PCT = 0.006  # what the truth is known to


class Held(NamedTuple):
    """A figure against its truth."""

    error: float
    expanded: float
    true: float


def by_steps(kind: str, number: int) -> tuple[SmallValve, Recording]:
    generator = np.random.default_rng((KINDS.index(kind), 0, number))
    valve = drawn(kind, generator)
    truth = truth_of(valve)
    step_pct, wait_s = float(generator.choice([0.05, 0.1, 0.2, 0.3, 0.5])), float(generator.choice([1.4, 2.5, 4, 5, 8]))
    steps = int(min((truth.dead_band_pct + 2.0 * truth.resolution_pct + 0.4) / step_pct + generator.integers(3, 7), 40))
    return valve, seen(valve, staircase(step_pct, wait_s, steps, repeats=int(generator.integers(1, 3))), generator)


def by_ramps(kind: str, number: int) -> tuple[SmallValve, Recording]:
    generator = np.random.default_rng((KINDS.index(kind), 1, number))
    valve = drawn(kind, generator)
    truth = truth_of(valve)
    rate_pct_s = float(generator.choice([0.05, 0.1, 0.2, 0.5, 1.0]))
    needed = truth.dead_band_pct + 2.0 * truth.resolution_pct
    height_pct = max(needed * float(generator.uniform(1.3, 4.0)), 2.0)
    return valve, seen(valve, triangle(rate_pct_s, height_pct, repeats=int(generator.integers(1, 3))), generator)


def seen(valve: SmallValve, corners: list[tuple[float, float]], generator: np.random.Generator) -> Recording:
    """At 1 to 100 Hz, with noise of 0.01 to 0.1 %, three in five with 12-bit codes."""
    rate_hz = float(generator.choice([1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0]))
    noise_pct = float(np.exp(generator.uniform(np.log(0.01), np.log(0.1))))
    coded = bool(generator.random() < 0.6)
    return recorded(valve, corners, rate_hz=rate_hz, noise_pct=noise_pct, generator=generator, coded=coded)


def held(kind: str, *, ramps: bool, valves: int) -> dict[str, list[Held]]:
    found: dict[str, list[Held]] = {"dead_band": [], "resolution": []}
    for number in range(valves):
        valve, recording = (by_ramps if ramps else by_steps)(kind, number)
        truth, trials = truth_of(valve), reduce_recording(recording, same).trials
        for what, true in (("dead_band", truth.dead_band_pct), ("resolution", truth.resolution_pct)):
            figure = smallest_command(trials, "dead_band" if what == "dead_band" else "resolution", slope=lambda _: 1.0)
            if figure.value is not None:
                budget = combine(figure.components, coverage_probability=0.9545)
                found[what].append(Held(figure.value - true, budget.expanded_uncertainty, true))
    return found


def covered(pairs: list[Held]) -> float:
    return float(np.mean([abs(each.error) <= each.expanded + _MICRO_PCT for each in pairs]))


@pytest.mark.parametrize("ramps", [False, True])
@pytest.mark.parametrize("kind", KINDS)
def test_what_is_stated_holds_the_truth(kind: str, ramps: bool) -> None:
    found = held(kind, ramps=ramps, valves=_VALVES)
    assert len(found["dead_band"]) >= _VALVES / 6
    for pairs in found.values():
        assert not pairs or sum(abs(each.error) > each.expanded + _MICRO_PCT for each in pairs) <= 1


@pytest.mark.long
@pytest.mark.parametrize("ramps", [False, True])
@pytest.mark.parametrize("kind", KINDS)
def test_what_is_stated_holds_the_truth_in_every_kind(kind: str, ramps: bool) -> None:
    """93 % in each kind; and hardly ever a figure so small that a limit below the truth would pass."""
    found = held(kind, ramps=ramps, valves=60)
    assert covered(found["dead_band"]) >= 0.93 - 0.03  # three in a hundred by chance
    if len(found["resolution"]) >= 10:
        assert covered(found["resolution"]) >= 0.93 - 0.03
    low = [each for pairs in found.values() for each in pairs if each.error < -1.5 * each.expanded - _MICRO_PCT]
    assert len(low) <= 1


def test_a_good_recording_still_tells_closely() -> None:
    """Steps of 0.1 % of 5 s, 20 samples a second, noise of 0.02 %: within 0.15 %; play by a slow ramp within 0.12 %."""
    generator = np.random.default_rng(1)
    positioner = SmallValve(band_pct=1.1, stop_pct=0.2, coast_pct=0.1)
    made = recorded(positioner, staircase(0.1, 5.0, 20), rate_hz=20.0, noise_pct=0.02, generator=generator)
    figure = smallest_command(reduce_recording(made, same).trials, "dead_band")
    assert figure.value == pytest.approx(0.65, abs=0.1)
    assert 2.0 * figure.standard_uncertainty < 0.15
    play = SmallValve(play_pct=0.8)
    made = recorded(play, triangle(0.1, 6.0), rate_hz=20.0, noise_pct=0.02, generator=generator)
    figure = smallest_command(reduce_recording(made, same).trials, "dead_band")
    assert figure.value == pytest.approx(0.8, abs=0.03)
    assert 2.0 * figure.standard_uncertainty < 0.15


def test_the_model_by_hand() -> None:
    """Half of the band and what the rest lies off: 0.5 + 0.2 - 0.1; friction: twice 0.4 less 0.3; play adds."""
    for valve, dead_band, resolution in (
        (SmallValve(band_pct=1.0, stop_pct=0.2, coast_pct=0.1), 0.6, 0.4),
        (SmallValve(stick_pct=0.4, slip_pct=0.3), 0.5, 0.3),
        (SmallValve(play_pct=0.7, stick_pct=0.4, slip_pct=0.3), 1.2, 0.3),
        (SmallValve(play_pct=0.7), 0.7, 0.0),
    ):
        truth = truth_of(valve)
        assert truth.dead_band_pct == pytest.approx(dead_band, abs=0.011)
        assert truth.resolution_pct == pytest.approx(resolution, abs=0.011)
    time, command, stem = run(SmallValve(play_pct=0.7), triangle(0.1, 5.0))
    assert float(np.max((command - stem)[time > 35.0])) == pytest.approx(0.35 + 0.06, abs=0.01)  # late by 0.6 s
