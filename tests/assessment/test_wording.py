"""Sentences about results."""

from __future__ import annotations

from kit.assessment.wording import CAUSE_WORDS, rule_words
from kit.basis.checks import CAUSES
from kit.basis.settings import DECISION_RULES


def test_every_rule_and_every_cause_has_its_words() -> None:
    assert set(CAUSE_WORDS) == set(CAUSES)
    assert len({rule_words(rule) for rule in DECISION_RULES}) == len(DECISION_RULES)
