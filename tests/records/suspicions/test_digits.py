"""Last digits: finer than the instrument reads, and read by eye."""

from __future__ import annotations

import pytest

from kit.basis.registers import Instrument
from kit.records.suspicions.digits import find_odd_digits
from tests.records.suspicions.frames import run, seen

VISIT = {"position_instrument": "P"}


def told(positions, resolution: float | None = 0.1) -> list[tuple[int | None, str]]:
    commands = [round(each / 5) * 5.0 for each in positions]
    instruments = [Instrument("P", "pct", resolution=resolution)]
    found = find_odd_digits(seen(instruments, visits=[VISIT], readings=run(commands, positions)))
    return [(each.row, each.problem.partition(" ")[0]) for each in found]


@pytest.mark.parametrize(
    ("position", "resolution", "asked"),
    [(50.12, 0.1, True), (50.1, 0.1, False), (50.12, 0.01, False), (50.1, 0.2, True), (50.12, None, False)],
)
def test_a_reading_has_no_more_digits_than_its_instrument(position, resolution, asked) -> None:
    assert told([20.0, position], resolution) == ([(3, "It")] if asked else [])


def test_readings_by_eye_end_in_zero_or_five() -> None:
    by_eye = [7.5 + 1.5 * place + 0.5 * (place % 3) for place in range(60)]
    assert told(by_eye) == [(2, "Of")]
    assert told([each + 0.1 * (place % 7) for place, each in enumerate(by_eye)]) == []


def test_few_readings_and_nominal_ones_tell_nothing() -> None:
    assert told([7.5 + 2.5 * place + 0.5 * (place % 3) for place in range(20)]) == []
    assert told([5.0 * (place % 20) for place in range(60)]) == []
    assert find_odd_digits(seen()) == []
