"""The step of a recorder: codes of converters, written with few decimals, and converted."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis.strategies import floats, integers, sampled_from

from kit.calculations.recordings.codes import Code, code_of
from tests.calculations.recordings.made import Array


def written(values_pct: Array, bits: int, decimals: int | None, span_ma: float = 16.0) -> Array:
    """4 to 20 mA through a converter of so many bits over its span, written in mA, brought back to %."""
    code = span_ma / 2**bits
    signal = code * np.round((4.0 + 0.16 * values_pct) / code)
    signal = signal if decimals is None else np.round(signal, decimals)
    back: Array = (signal - 4.0) / 0.16
    return back


def travelled(noise_pct: float, start_number: int = 1) -> Array:
    """Ten holds with strokes of 3.17 % a second between them, 10 samples a second."""
    levels = np.random.default_rng(start_number).uniform(0.0, 100.0, 10)
    travel = np.concatenate(
        [
            np.concatenate((np.arange(low, high, np.sign(high - low) * 0.317), np.full(150, high)))
            for low, high in pairwise(levels.tolist())
        ]
    )
    return travel + np.random.default_rng(start_number).normal(0.0, noise_pct, travel.size)


@given(
    bits=integers(11, 14),
    decimals=sampled_from([3, 4]),
    span_ma=sampled_from([16.0, 20.0, 24.0]),
    noise_pct=sampled_from([0.0, 0.002, 0.01, 0.05]),
    start_number=integers(0, 30),
)
def test_a_code_written_with_few_decimals_is_found(
    bits: int, decimals: int, span_ma: float, noise_pct: float, start_number: int
) -> None:
    """The step is the code or what was written, whichever is greater, to within what was written."""
    code_pct, written_pct = span_ma / 2**bits / 0.16, 10.0**-decimals / 0.16
    found = code_of(written(travelled(noise_pct, start_number), bits, decimals, span_ma)).step
    least = code_pct - 0.2 * written_pct if code_pct > 1.6 * written_pct else written_pct
    assert 0.98 * least <= found <= code_pct + 1.1 * written_pct


@pytest.mark.parametrize("noise_pct", [0.0, 0.002])
@pytest.mark.parametrize(
    ("bits", "decimals", "span", "full"),
    [(16, 4, 100.0, 90.0), (16, 4, 120.0, 90.0), (16, 4, 110.0, 100.0), (14, 3, 100.0, 90.0), (14, 4, 100.0, 90.0)],
    ids=["16 bits on 100 degrees", "16 on 120", "16 on 110 %", "14 with 3 decimals", "14 with 4"],
)
def test_a_fine_code_of_a_position_is_found_without_noise(
    bits: int, decimals: int, span: float, full: float, noise_pct: float
) -> None:
    """As degrees of 90: a code of 0.0017 % of travel written in steps of 0.0001."""
    code, least = span / 2**bits, 10.0**-decimals
    for start_number in range(4):
        read = code * np.round(travelled(noise_pct, start_number) * full / 100.0 / code)
        found = code_of(np.round(read, decimals) * 100.0 / full).step
        assert 0.98 * (code - 0.2 * least) <= found * full / 100.0 <= code + 1.1 * least


@pytest.mark.parametrize("noise_pct", [0.005, 0.02])
def test_a_code_flickers_although_its_lattice_is_irregular(noise_pct: float) -> None:
    """16 mA / 4096 written with 3 decimals: 0.0244 % in places 0.00625 % apart, so that it jumps by 0.025 at most."""
    found = code_of(written(travelled(noise_pct), 12, 3))
    assert found.flickers
    assert found.step == pytest.approx(0.025, rel=1e-3)


def test_typed_positions_have_the_step_of_their_decimals() -> None:
    typed = np.round(travelled(0.0), 1)
    assert code_of(typed).step == pytest.approx(0.1)
    assert code_of(np.repeat(np.round(travelled(0.0)[::150], 1), 60)).step == pytest.approx(0.1)


@given(speed=floats(0.01, 1.0), start_number=integers(0, 5))
def test_the_even_speed_of_a_motor_is_no_step_of_the_recorder(speed: float, start_number: int) -> None:
    level = np.random.default_rng(start_number).uniform(0.0, 50.0)
    assert code_of(level + speed * np.clip(np.arange(400.0) - 100.0, 0.0, 200.0)) == Code(0.0)


@pytest.mark.parametrize(
    "values",
    [
        np.full(50, 3.0),
        np.random.default_rng(1).normal(50.0, 0.03, 2000),
        np.cumsum(np.random.default_rng(1).normal(0.0, 0.03, 2000)),
        100.0 * -np.expm1(-np.arange(200.0) / 40.0),
    ],
    ids=["still", "noise", "wander", "first order"],
)
def test_what_is_written_in_full_has_no_step(values: Array) -> None:
    assert code_of(values) == Code(0.0)


@given(factor=floats(0.5, 2.0), offset=floats(-50.0, 50.0))
def test_a_step_scales_with_its_channel_and_knows_no_offset(factor: float, offset: float) -> None:
    values = written(travelled(0.005), 12, 3)
    assert code_of(offset - factor * values).step == pytest.approx(factor * code_of(values).step, rel=1e-3)
