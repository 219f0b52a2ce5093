"""Verdicts, worst first."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis.strategies import lists, sampled_from

from kit.basis.verdicts import CHECK_VERDICTS, FAILING, GAPS, TAG_VERDICTS, VERDICT_WORDS, worst_verdict


@pytest.mark.parametrize(
    ("verdicts", "worst"),
    [
        ([], "incomplete"),
        (["information"], "incomplete"),
        (["pass", "information"], "pass"),
        (["pass", "conditional_pass"], "conditional_pass"),
        (["conditional_pass", "not_tested"], "incomplete"),
        (["pass", "not_assessable"], "incomplete"),
        (["pass", "stale"], "incomplete"),
        (["not_tested", "conditional_fail"], "conditional_fail"),
        (["conditional_fail", "fail", "pass"], "fail"),
    ],
)
def test_the_worst_check_gives_the_verdict(verdicts, worst):
    assert worst_verdict(verdicts) == worst


@given(lists(sampled_from(CHECK_VERDICTS)), sampled_from(CHECK_VERDICTS))
def test_one_more_check_never_mends_a_failure(verdicts, more):
    order = [each for each in TAG_VERDICTS if each != "not_tested"]
    before, after = worst_verdict(verdicts), worst_verdict([*verdicts, more])
    assert before == "incomplete" or order.index(after) <= order.index(before)


def test_every_verdict_has_its_word():
    assert set(VERDICT_WORDS) == {*CHECK_VERDICTS, *TAG_VERDICTS}
    assert FAILING | GAPS | {"conditional_pass", "pass", "information"} == set(CHECK_VERDICTS)
