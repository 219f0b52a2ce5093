"""Tags, instruments and visits."""

from __future__ import annotations

from kit.basis.registers import ROLES, Tag, Visit
from kit.basis.tables import TABLES


def test_a_visit_names_an_instrument_for_each_role():
    named = Visit("1", "2026-03-10", **{f"{role}_instrument": role.upper() for role in ROLES})
    assert {role: named.instrument_of(role) for role in ROLES} == {role: role.upper() for role in ROLES}
    assert {Visit("1", "2026-03-10").instrument_of(role) for role in ROLES} == {""}
    assert {f"{role}_instrument" for role in ROLES} <= set(TABLES["visits"].columns)


def test_a_blank_register_is_direct_and_linear_and_knows_no_fail_action():
    bare = Tag("T")
    assert (bare.action, bare.characteristic, bare.rangeability) == ("direct", "linear", 50.0)
    assert (bare.fail_action, bare.fail_action_supply, bare.safety_function) == (None, None, False)
