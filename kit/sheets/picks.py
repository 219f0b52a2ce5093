"""Instruments to pick from, by what they are used for, as far as they hold on the day."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from kit.assessment.instruments import role_scales
from kit.assessment.subjects import feed_of, subject_of
from kit.basis.checks import CheckName
from kit.basis.registers import ROLES, Instrument, Role, Tag
from kit.sheets.form import Pick

_ALWAYS: Final[frozenset[Role]] = frozenset({"position"})


def picks_for(tag: Tag, checks: Iterable[CheckName], instruments: Iterable[Instrument], on: str) -> tuple[Pick, ...]:
    """Each instrument that may be named for a role that the checks rest on, once a role.

    Parameters
    ----------
    on : str
        Day of the visit, ISO 8601: those are left out whose calibration does not hold then. "": none is.
    """
    named = tuple(instruments)
    roles = _roles(checks)
    found: dict[tuple[Role, str], Pick] = {}
    for role in (each for each in ROLES if each in roles):
        units = [scale.unit for scale in role_scales(role, tag)]
        for each in named:
            if each.measures in units and _holds(each, on):
                pick = Pick(role, each.instrument, each.description, each.measures, each.due_on)
                found.setdefault((role, each.instrument), pick)
    return tuple(found.values())


def _roles(checks: Iterable[CheckName]) -> set[Role]:
    roles: set[Role] = set(_ALWAYS)
    for check in checks:
        roles |= {*feed_of(check).roles, *subject_of(check).asks}
    return roles


def _holds(instrument: Instrument, on: str) -> bool:
    """Whether nothing in the register says that it does not hold on a day."""
    if not on or instrument.unreadable:
        return not instrument.unreadable
    return instrument.calibrated_on <= on and (not instrument.due_on or on <= instrument.due_on)
