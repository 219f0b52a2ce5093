"""The page of thresholds stands for the constants as they are, and for valves of every kind."""

from __future__ import annotations

from collections import Counter

from tests.making.guide.recording_thresholds import PAGE, VALVES, shown
from tests.making.study.altered_constants import named_constants
from tests.making.study.recorded_valves import recorded_valve
from tests.making.valves.closed_forms import limit_cycle, overshoot_pct


def test_the_page_has_a_row_for_every_constant_with_its_value() -> None:
    """Renew it with ``python -m tests.making.guide.recording_thresholds --page``; it takes minutes."""
    text = PAGE.read_text("utf-8")
    sections = {part.partition("\n")[0]: part for part in text.split("\n## ")}
    missing = [
        (each.module, each.name)
        for each in named_constants()
        if f"| `{each.name}` | {shown(each.value)} |" not in sections.get(each.module, "")
    ]
    assert missing == []
    assert sum(line.startswith("| `") for line in text.splitlines()) == len(named_constants())


def test_the_valves_are_of_every_kind() -> None:
    recorded = [recorded_valve(start_number, small_step_pct=1.0, small_steps_pct=1.0) for start_number in VALVES]
    valves = [each.valve for each in recorded]
    assert sum(limit_cycle(valve) is not None for valve in valves) == 1
    assert sum((overshoot_pct(valve, 1) or 0.0) > 0.0 for valve in valves) == 1
    assert sum(min(valve.motor.open_setting_pct, valve.motor.close_setting_pct) < 100.0 for valve in valves) == 1
    assert sum(valve.mechanics.stick_pct > 0.0 for valve in valves) == 1
    assert sum(bool(valve.feedback.bad_spots) for valve in valves) == 2
    assert set(Counter(each.rate_hz for each in recorded)) == {5.0, 10.0, 20.0, 50.0}
