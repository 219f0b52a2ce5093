"""What was taken away in a recorded loss, and whether the loss proves anything."""

from __future__ import annotations

from collections.abc import Collection
from typing import Final

from kit.basis.checks import UNKNOWN_CAUSE, LossCause
from kit.basis.registers import Tag
from kit.calculations.recordings.loss import LEAST_LOSS_S, Loss

SIGNAL_UNKNOWN: Final = "no command was recorded, so that the signal may have gone too: record it, or type the test"
_BLANK: Final = "the command is blank there, which shows no loss of signal: record it on its way, or type the test"


def cause_of(loss: Loss, tag: Tag, typed: Collection[str] = ()) -> LossCause:
    """The cause of a recorded loss.

    Parameters
    ----------
    loss : Loss
    tag : Tag
    typed : collection of str
        Causes of the typed fail tests of the stage: the one of them that the recording leaves possible is the cause.

    Notes
    -----
    House definition: an open loop and one that is shorted at the valve's terminals leave a valve on a current loop
    alike without current, and count as open unless the typed test says shorted. On a signal in volts the two are not
    alike, and the recording does not tell them apart; without the supply's column it does not tell whether the supply
    went too. Such a cause is unknown, and answers no test that names one. A supply that went is the cause even
    where the signal may have gone with it, since the valve has to do the same; it passes no test.
    """
    named = _named(loss, typed)
    if named is not None:
        return named
    in_volts = tag.command_range is not None and tag.command_range.unit == "V"
    of_signal = loss.causes[0] != "supply_off"
    unknown = loss.is_blank or (of_signal and ("both_off" in loss.causes[1:] or (in_volts and len(loss.causes) > 1)))
    return UNKNOWN_CAUSE if unknown else loss.causes[0]


def _named(loss: Loss, typed: Collection[str]) -> LossCause | None:
    named = [each for each in loss.causes if each in typed]
    return named[0] if len(named) == 1 else None


def may_be_both(loss: Loss, typed: Collection[str] = ()) -> bool:
    """Whether the supply went and nobody knows whether the signal did, so that the loss can fail and never pass."""
    return loss.causes[0] == "supply_off" and len(loss.causes) > 1 and _named(loss, typed) is None


def why_unproven(loss: Loss) -> str:
    """Why a recorded loss proves nothing, in a clause; "": it does."""
    if loss.is_blank:
        return _BLANK
    if loss.is_too_short:
        return (
            f"the loss lasted {loss.lasted_s:.2g} s and moved the valve to no other place, which is too short to prove "
            f"anything: repeat it over {LEAST_LOSS_S:g} s or more"
        )
    return ""
