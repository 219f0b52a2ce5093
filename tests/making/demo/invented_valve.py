"""What an invented valve answers: the arithmetic behind the demo unit's readings."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, field
from typing import Literal

from kit.basis.registers import FailAction, Tag
from kit.calculations.signal import ideal_position_pct

CLOSED_STOP_PCT = -0.4
OPEN_STOP_PCT = 100.4
Cause = Literal["signal_open", "signal_short", "supply_off", "both_off"]


@dataclass(frozen=True, slots=True)
class Behaviour:
    """What one valve does in one stage. The defaults are a healthy valve."""

    zero_pct: float = 0.1
    span_pct: float = -0.2
    bow_pct: float = 0.2  # error at mid travel; 0 at the ends
    play_pct: float = 0.4  # up readings this much below down readings, away from the stops
    reversed_at_site: bool = False
    feedback_zero_pct: float = 0.1
    feedback_span_pct: float = -0.15
    open_time_factor: float = 1.01  # of the register's stroke time
    close_time_factor: float = 0.98
    spring_time_s: float | None = None  # full stroke on the spring; None: the motor drives
    fails_to: dict[Cause, FailAction] = field(default_factory=dict)  # where it differs from the register
    closed_switch_pct: float = 1.8
    open_switch_pct: float = 98.0
    wiper_low_pct: float = 12.0  # of track, at the closed end
    wiper_high_pct: float = 88.0
    worn_at_pct: float | None = None  # the wiper drops back here and opens 5 % further on
    supply_idle_v: float = 231.0
    supply_running_v: float = 228.4
    insulation_mohm: float = 180.0
    display_zero_pct: float = 0.0  # what the station shows for a feedback of 0 %
    display_gain: float = 1.0
    open_items: tuple[str, ...] = ()  # prechecks answered no


def scatter(*place: object) -> float:
    """A number between -1 and 1 that depends on ``place`` alone: the same on every machine.

    Examples
    --------
    >>> scatter("FV-101", 1, 50) == scatter("FV-101", 1, 50)
    True
    """
    digest = hashlib.blake2b("|".join(map(str, place)).encode(), digest_size=6).digest()
    return int.from_bytes(digest, "big") / (2**47) - 1.0


def ideal_pct(tag: Tag, command_pct: float) -> float:
    """Where the valve ought to stand."""
    rangeability = tag.rangeability if tag.characteristic == "equal_percentage" else None
    return float(ideal_position_pct(command_pct, reverse=tag.action == "reverse", rangeability=rangeability))


def position_pct(tag: Tag, behaviour: Behaviour, command_pct: float, *, rising: bool) -> float:
    """Where the valve does stand, after an approach with rising or falling command."""
    wanted = ideal_pct(tag, command_pct)
    opening = rising == (tag.action == "direct")
    if behaviour.reversed_at_site:
        wanted, opening = 100.0 - wanted, not opening
    share = wanted / 100.0
    inside = min(1.0, 8.0 * share * (1.0 - share))  # no play to be seen on a stop
    play = behaviour.play_pct * inside * (-0.5 if opening else 0.5)
    bow = behaviour.bow_pct * 4.0 * share * (1.0 - share)
    stands = wanted + behaviour.zero_pct + behaviour.span_pct * share + bow + play
    return min(max(stands, CLOSED_STOP_PCT), OPEN_STOP_PCT)


def feedback_pct(behaviour: Behaviour, stands_pct: float) -> float:
    """What the feedback signal says of a position."""
    return stands_pct + behaviour.feedback_zero_pct + behaviour.feedback_span_pct * stands_pct / 100.0


def wiper_pct(behaviour: Behaviour, stands_pct: float) -> float | None:
    """Where the wiper stands on its track; None: it has no contact."""
    share = stands_pct / 100.0
    used = behaviour.wiper_high_pct - behaviour.wiper_low_pct
    track = behaviour.wiper_low_pct + used * (share + 0.004 * share * (1.0 - share))
    if behaviour.worn_at_pct is None:
        return track
    if abs(stands_pct - behaviour.worn_at_pct - 5.0) < 1.0:
        return None
    return track - 4.4 if abs(stands_pct - behaviour.worn_at_pct) < 1.0 else track


def fail_action(tag: Tag, behaviour: Behaviour, cause: Cause) -> FailAction:
    """What the valve does on a loss, whatever the register says."""
    by_register = tag.fail_action if cause.startswith("signal") else tag.fail_action_supply
    return behaviour.fails_to.get(cause, by_register or "hold")
