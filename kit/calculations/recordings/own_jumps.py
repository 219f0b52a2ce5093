"""What a valve's own jumps leave open of dead band and resolution by small steps."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from kit.calculations.recordings.trials import Trial

_UNEVEN: Final = 0.2  # House definition: of a step; answers that scatter by more are jumps
_JUMPS: Final = 1.5  # House definition: a valve that usually goes that many steps at once moves in jumps
_ONE_STEP: Final = 1.5  # House definition: steps, by which what parts two answers may differ where each is as the last
_EITHER_END: Final = 0.5**0.5  # House definition: two starts by chance, each half one to either side, as squares


@dataclass(frozen=True, slots=True)
class _Usual:
    """How a valve answers small steps one way [% of command range]."""

    moved_pct: float
    spacing_pct: float  # command from answer to answer: its motor starts that often, or more often
    step_pct: float
    least_pct: float  # the least motion of all: a stem that sticks jumps by no more
    noise_pct: float
    in_jumps: bool
    regular: bool  # each answer came after as much as the others
    farthest_back_pct: float  # the greatest first motion back; one that follows is less than what parts two answers
    farthest_apart_pct: float

    @property
    def may_stick(self) -> bool:
        """Whether the stem may break away: no motion is small, and some are no more regular than that."""
        open_pct = self.step_pct + self.noise_pct
        is_odd = not self.regular or self.farthest_back_pct > self.farthest_apart_pct + self.noise_pct
        return self.in_jumps and is_odd and self.least_pct > self.spacing_pct - open_pct


def with_own_jumps(trials: Sequence[Trial], noise_pct: float) -> list[Trial]:
    """The trials, with what the valve's own jumps leave open.

    Parameters
    ----------
    trials : sequence of Trial
        By small steps.
    noise_pct : float
        What the difference of two means of the travel is known to within [% of command range].

    Notes
    -----
    **House definition**. A motor starts where the error has grown by its own step r, and the stem follows at the first
    start that takes up the play: where it has gone m since, the play was taken up at m less than the command of the
    answer, and steps of another size, or none, would bring the answer up to r after that. Each start is up to a step
    of the command late, and what is left of a step adds to the next. Where no motion was smaller than r may be, and a
    first one back greater, or answers one way irregular, the stem breaks away, nobody knows how far beyond: a dead
    band may differ by a start at either end, and a stem that just broke away may need two starts where the command
    creeps. Nothing of it is more than the usual
    answers one way show; without any, starts are taken to be no farther apart than the dead band itself.
    """
    usual = _usual(trials, noise_pct)
    return [
        _dead_band(each, usual, noise_pct) if each.what == "dead_band" else _resolution(each, usual) for each in trials
    ]


def _usual(trials: Sequence[Trial], noise_pct: float) -> _Usual | None:
    own = [each for each in trials if each.what == "resolution" and each.moved_pct is not None]
    if not own:
        return None
    moved, spacing = np.array([each.moved_pct for each in own]), np.array([_apart(each) for each in own])
    step = float(np.median([each.step_pct for each in trials]))
    least = min(each.moved_pct for each in trials if each.moved_pct is not None)
    in_jumps = float(np.median(moved)) > _JUMPS * step or float(moved.std()) > _UNEVEN * step + noise_pct
    return _Usual(
        float(np.median(moved)),
        float(np.median(spacing)),
        step,
        least,
        noise_pct,
        in_jumps,
        bool(np.ptp(spacing) <= _ONE_STEP * step),
        max((each.moved_pct or 0.0 for each in trials if each.what == "dead_band"), default=0.0),
        float(spacing.max()),
    )


def _apart(trial: Trial) -> float:
    """From command to command."""
    return trial.high_pct if trial.from_command_pct is None else abs(trial.command_pct - trial.from_command_pct)


def _resolution(trial: Trial, usual: _Usual | None) -> Trial:
    if usual is None or not usual.in_jumps:
        return trial
    twice = usual.spacing_pct if usual.may_stick and usual.regular else 0.0
    return replace(trial, high_pct=trial.high_pct + 0.5 * min(trial.step_pct, usual.moved_pct), jump_pct=twice)


def _dead_band(trial: Trial, usual: _Usual | None, noise_pct: float) -> Trial:
    moved, asked = trial.moved_pct or 0.0, _apart(trial)
    taken_up = asked - moved - noise_pct - max(trial.high_pct - asked, 0.0)
    if usual is None or not usual.in_jumps:
        again = asked if usual is None else usual.spacing_pct
        low = max(trial.low_pct, taken_up) if trial.low_pct > 0.0 else 0.0
        return replace(trial, low_pct=low, high_pct=trial.high_pct + max(again - moved, 0.0))
    starts = max(asked // usual.spacing_pct, 1.0)
    late = (starts - 1.0) * usual.step_pct + min(trial.step_pct, usual.moved_pct)
    low = max(trial.low_pct - late, min(trial.low_pct, taken_up), 0.0)
    if usual.may_stick:
        return replace(trial, low_pct=low, jump_pct=_EITHER_END * usual.spacing_pct)
    return replace(trial, low_pct=low, high_pct=trial.high_pct + max(usual.spacing_pct - moved, 0.0))
