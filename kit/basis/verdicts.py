"""Verdicts of a check and of a tag, worst first."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final, Literal, get_args

CheckVerdict = Literal[
    "fail",
    "conditional_fail",
    "not_tested",
    "not_assessable",
    "stale",
    "conditional_pass",
    "pass",
    "information",
]
TagVerdict = Literal["fail", "conditional_fail", "incomplete", "conditional_pass", "pass", "not_tested"]
Stage = Literal["as_found", "as_left"]

CHECK_VERDICTS: Final[tuple[CheckVerdict, ...]] = get_args(CheckVerdict)  # worst first
FAILING: Final = frozenset({"fail", "conditional_fail"})
MARGINAL: Final = frozenset({"conditional_pass", "conditional_fail"})  # nearer to the limit than the uncertainty
GAPS: Final = frozenset({"not_tested", "not_assessable", "stale"})
TAG_VERDICTS: Final[tuple[TagVerdict, ...]] = (
    "fail",
    "conditional_fail",
    "incomplete",
    "not_tested",
    "conditional_pass",
    "pass",
)
VERDICT_WORDS: Final[dict[str, str]] = {
    "fail": "Fail",
    "conditional_fail": "Conditional fail",
    "incomplete": "Incomplete",
    "not_tested": "Not tested",
    "not_assessable": "Not assessable",
    "stale": "Stale",
    "conditional_pass": "Conditional pass",
    "pass": "Pass",
    "information": "Information",
}
_WORST_FIRST: Final[tuple[TagVerdict, ...]] = (
    "fail",
    "conditional_fail",
    "incomplete",
    "conditional_pass",
    "pass",
)


def worst_verdict(checks: Iterable[CheckVerdict]) -> TagVerdict:
    """Verdict of a tag or a stage: the worst of its checks.

    A gap (not tested, not assessable, stale) makes it ``incomplete``. A stage in which nothing
    was held against a limit proves nothing either, and is ``incomplete`` as well.

    Notes
    -----
    House definition: the order fail, conditional fail, incomplete, conditional pass, pass.

    Examples
    --------
    >>> worst_verdict(["pass", "not_tested", "information"])
    'incomplete'
    >>> worst_verdict(["information"])
    'incomplete'
    """
    judged = {"incomplete" if verdict in GAPS else verdict for verdict in checks} - {"information"}
    return next((verdict for verdict in _WORST_FIRST if verdict in judged), "incomplete")
