"""Every check, as it is declared."""

from __future__ import annotations

from typing import get_args

import pytest

from kit.basis.checks import CHECKS, COUNT, LOSS_CAUSES, CheckName, is_check


def test_every_name_is_a_check_in_the_order_of_the_contract():
    assert tuple(CHECKS) == get_args(CheckName)
    assert is_check("inaccuracy")
    assert not is_check("Inaccuracy")


@pytest.mark.parametrize("name", CHECKS)
def test_every_check_is_told_in_full(name):
    check = CHECKS[name]
    assert check.name == name
    assert check.title == check.title[:1].upper() + check.title[1:]
    assert check.method.endswith(".")
    assert check.measure
    assert check.details in (("",), LOSS_CAUSES)


def test_counts_are_those_measured_as_counts():
    assert {name for name, check in CHECKS.items() if check.is_count} == {
        name for name, check in CHECKS.items() if check.measure == COUNT
    }
    assert CHECKS["prechecks"].is_count
    assert not CHECKS["inaccuracy"].is_count


def test_a_signed_check_has_two_directions_and_a_size_has_none():
    assert CHECKS["inaccuracy"].signed
    assert CHECKS["closed_switch_lead"].signed
    assert not CHECKS["hysteretic_error"].signed
