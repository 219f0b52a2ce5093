"""What becomes of a verdict."""

from __future__ import annotations

from itertools import product

import pytest

from kit.assessment.what_if.outcomes import COUNTED_WORDS, OUTCOME_WORDS, outcome_of
from kit.basis.verdicts import CHECK_VERDICTS

PASSES, FAILS = ("pass", "conditional_pass"), ("fail", "conditional_fail")


@pytest.mark.parametrize(("before", "after"), list(product(CHECK_VERDICTS, CHECK_VERDICTS)))
def test_from_a_pass_to_a_failure_or_back_is_always_a_flip(before: str, after: str) -> None:
    crosses = (before in PASSES and after in FAILS) or (before in FAILS and after in PASSES)
    assert (outcome_of(before, after) == "flips") == crosses  # type: ignore[arg-type]


def test_marginal_is_conditional() -> None:
    assert outcome_of("pass", "conditional_pass") == outcome_of("fail", "conditional_fail") == "becomes_marginal"
    assert outcome_of("conditional_pass", "pass") == "no_longer_marginal"
    assert outcome_of(None, "fail") == outcome_of("not_assessable", "pass") == "can_be_judged"
    assert outcome_of("fail", None) == outcome_of("pass", "incomplete") == "not_assessable"
    assert outcome_of("not_tested", "stale") == outcome_of("information", "information") == "stands"


def test_every_outcome_has_its_words() -> None:
    assert list(OUTCOME_WORDS) == list(COUNTED_WORDS)
