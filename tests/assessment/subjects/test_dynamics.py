"""How a recorded valve moves."""

from __future__ import annotations

import dataclasses

from kit.assessment import assess_tag
from tests.assessment.builders import check, limit
from tests.assessment.with_recordings import TAG, recorded, with_recordings
from tests.making.valves import Controller, Motor, VirtualValve


def test_a_hunting_valve_fails_its_amplitude_and_has_no_dead_band() -> None:
    valve = VirtualValve(motor=Motor(coast_pct=1.5), controller=Controller(dead_band_pct=1.0))
    found = assess_tag(with_recordings(recorded(valve), limits=(limit("hunting_amplitude", maximum=0.5),)))
    assert check(found, "hunting_amplitude").verdict == "fail"
    assert "hunting" in check(found, "hunting_amplitude").at
    assert not [each for each in found.deciding.checks if each.check == "dead_band" and each.value is not None]


def test_too_many_starts_are_held_against_the_register(healthy: bytes) -> None:
    few = dataclasses.replace(TAG, starts_per_hour_max=10.0)
    found = assess_tag(
        dataclasses.replace(with_recordings(healthy, limits=(limit("starts_per_hour", of_nominal_pct=0),)), tag=few)
    )
    assert check(found, "starts_per_hour").verdict == "fail"
    assert check(found, "starts_per_hour").upper_limit == 10.0
    assert check(found, "starts_per_hour").lower_limit is None
