"""The drawing of field recordings: by class, the same for one number, read by the real reader."""

from __future__ import annotations

import numpy as np
import pytest

from tests.making.study.field_classes import CLASSES, drawn_classes, drawn_logger
from tests.making.study.field_recordings import field_recording, ideal_pct
from tests.making.valves import VirtualValveError

WHOLE = {"routine": ["commissioning"], "channels": ["all"], "stamps": ["fine"]}
ONLY = {"rate": ["5"], "bits": ["12"], "hum": ["slow"], "hunting": ["none"], **WHOLE}


def test_what_is_drawn_is_of_the_classes_asked_for() -> None:
    for start_number in range(30):
        drawn = drawn_classes(start_number, ONLY)
        assert (drawn.rate, drawn.bits, drawn.hum, drawn.hunting) == ("5", "12", "slow", "none")


def test_every_class_is_drawn() -> None:
    drawn = [drawn_classes(start_number) for start_number in range(400)]
    for what, shares in CLASSES.items():
        assert {getattr(each, what) for each in drawn} == set(shares)


def test_a_class_that_there_is_not_is_refused() -> None:
    with pytest.raises(VirtualValveError, match=r"No class 7 of rate; there are rate: 1, 2, 5"):
        drawn_classes(1, {"rate": ["7"]})


@pytest.mark.parametrize(("hum", "is_slow"), [("slow", True), ("fast", False)])
def test_hum_beats_as_its_class_says(hum: str, is_slow: bool) -> None:
    for start_number in range(60):
        logger = drawn_logger(
            drawn_classes(start_number, {"hum": [hum]}), np.random.default_rng(start_number), duration_s=1000.0
        )
        cycles = logger.disturbance.hum_hz / logger.rate_hz
        assert logger.disturbance.hum_pct >= 0.02
        assert (abs(cycles - round(cycles)) * logger.rate_hz < 0.1) == is_slow


def test_one_number_is_one_recording_and_the_reader_gives_what_was_written() -> None:
    first, again = field_recording(3, ONLY), field_recording(3, ONLY)
    assert first.recording is not None
    assert again.recording is not None
    assert np.array_equal(first.recording.travel_pct, again.recording.travel_pct)
    assert first.recording.travel_pct == pytest.approx(first.recorded.column("position") / 0.9, abs=0.001)
    assert first.logger.converter is not None
    codes = (first.recording.travel_pct - first.logger.converter.low_pct) / first.logger.converter.step_pct
    assert codes == pytest.approx(np.round(codes), abs=0.05)


def test_the_tag_asks_for_what_the_valve_does() -> None:
    field = field_recording(4, ONLY)
    ends = {ideal_pct(field, 0.0), ideal_pct(field, 100.0)}
    assert max(ends) == pytest.approx(100.0)
    assert field.tag.fail_action == field.valve.signal_loss.action
