"""What becomes of a verdict: stands, becomes marginal, flips."""

from __future__ import annotations

from typing import Final, Literal

from kit.basis.verdicts import CheckVerdict, TagVerdict

Outcome = Literal["flips", "not_assessable", "becomes_marginal", "no_longer_marginal", "can_be_judged", "stands"]

OUTCOME_WORDS: Final[dict[Outcome, str]] = {  # the gravest first
    "flips": "flips",
    "not_assessable": "can no longer be judged",
    "becomes_marginal": "becomes marginal",
    "no_longer_marginal": "is no longer marginal",
    "can_be_judged": "can be judged",
    "stands": "stands",
}
COUNTED_WORDS: Final[dict[Outcome, tuple[str, str]]] = {  # of one, and of several
    "flips": ("flips", "flip"),
    "not_assessable": ("can no longer be judged", "can no longer be judged"),
    "becomes_marginal": ("becomes marginal", "become marginal"),
    "no_longer_marginal": ("is no longer marginal", "are no longer marginal"),
    "can_be_judged": ("can be judged", "can be judged"),
    "stands": ("stands", "stand"),
}
_SIDE: Final[dict[str, str]] = {
    "pass": "pass",
    "conditional_pass": "pass",
    "fail": "fail",
    "conditional_fail": "fail",
}


def outcome_of(before: CheckVerdict | TagVerdict | None, after: CheckVerdict | TagVerdict | None) -> Outcome:
    """What becomes of a verdict, of a check or of a tag; None: there is none.

    Notes
    -----
    House definition: it flips where it goes from a pass to a failure or back, a conditional one counting with its side;
    it is marginal where it is conditional.

    Examples
    --------
    >>> outcome_of("pass", "conditional_fail"), outcome_of("pass", "conditional_pass"), outcome_of("fail", "stale")
    ('flips', 'becomes_marginal', 'not_assessable')
    """
    one, other = _SIDE.get(before or ""), _SIDE.get(after or "")
    if one is None and other is None:
        return "stands"
    if other is None:
        return "not_assessable"
    if one is None:
        return "can_be_judged"
    if one != other:
        return "flips"
    if before == after:
        return "stands"
    return "no_longer_marginal" if after in ("pass", "fail") else "becomes_marginal"
