"""The settings of a visit as found and as left, one beside the other."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from kit.basis.records import TagRecords
from kit.basis.retest import plain_value, setting_key
from kit.basis.rows import Rows
from kit.basis.verdicts import Stage

Comparison = Literal["same", "changed", "not_found", "not_left"]


@dataclass(frozen=True, slots=True)
class ComparedSetting:
    """One setting of a visit; several values of one stage stand beside each other."""

    setting: str  # as it was written first
    found: str
    left: str
    comparison: Comparison  # not_found, not_left: it was recorded at the other stage alone


def compared_settings(records: TagRecords, visit: str) -> tuple[ComparedSetting, ...]:
    """Every setting of a visit, in the order in which it was recorded.

    Notes
    -----
    House definition: values are the same where they differ in spaces, letter case or the decimal sign alone. A setting
    with two values at one stage has changed: nobody can say that it was left as it was found.
    """
    rows = records.tables["settings"].only("visit", visit)
    names: dict[str, str] = {}
    for name in rows["setting"]:
        names.setdefault(setting_key(str(name)), str(name))
    found, left = (values_of(rows, stage) for stage in ("as_found", "as_left"))
    return tuple(_compared(name, found.get(key, {}), left.get(key, {})) for key, name in names.items())


def values_of(rows: Rows, stage: Stage) -> dict[str, dict[str, str]]:
    """By setting, its values at a stage as they were written, each by what it comes to."""
    values: dict[str, dict[str, str]] = {}
    own = rows.only("stage", stage)
    for name, value in zip(own["setting"], own["value"], strict=True):
        values.setdefault(setting_key(str(name)), {}).setdefault(plain_value(str(value)), str(value))
    return values


def _compared(name: str, found: Mapping[str, str], left: Mapping[str, str]) -> ComparedSetting:
    comparison: Comparison
    if not found or not left:
        comparison = "not_left" if found else "not_found"
    else:
        comparison = "same" if len(found) == 1 and found.keys() == left.keys() else "changed"
    return ComparedSetting(name, " and ".join(found.values()), " and ".join(left.values()), comparison)
