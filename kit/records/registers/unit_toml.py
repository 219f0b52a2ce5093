"""unit.toml: titles, decision rule, tests, limit sets, evidence, scatter and loggers."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final

from kit.basis.checks import CHECKS, Check, CheckName, is_check
from kit.basis.evidence import NEEDS, Need
from kit.basis.settings import (
    PLACES_OF_A_DOCUMENT_NUMBER,
    SCATTERS,
    ClassScatter,
    Limit,
    LimitSet,
    UnitSettings,
)
from kit.basis.unit_keys import (
    EVIDENCE_KEYS,
    EVIDENCE_SOURCE,
    LIMIT_KEYS,
    ONE_SIDED,
    SCATTER_KEYS,
    SET_KEYS,
    TWO_SIDED,
    UNIT_KEYS,
    Form,
    Key,
    forms_of,
)
from kit.records.folder.unit_folder import UnitError
from kit.records.registers.recording_tables import read_maps
from kit.records.registers.toml_keys import KeyReader

_MOST_STARTS_OVER_PCT: Final = 50.0
_OF_ALL: Final = tuple(name for name, unit in SCATTERS.items() if unit == SCATTERS["position"])


def read_settings(folder: Path, data: bytes) -> UnitSettings:
    """Read unit.toml; every fault of it is told in one :class:`UnitError`."""
    try:
        content = tomllib.loads(data.decode("utf-8-sig"))
    except (UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise UnitError(f"{folder.name}/unit.toml cannot be read: {error}. Correct it there.") from error
    reader = _Reader()
    settings = reader.unit(folder.name, content)
    if reader.faults:
        faults = "".join(f"\n- {fault}" for fault in reader.faults)
        raise UnitError(f"{folder.name}/unit.toml cannot be used:{faults}")
    return settings


class _Reader(KeyReader):
    def unit(self, name: str, content: Mapping[str, Any]) -> UnitSettings:
        values = {"title": name, **self.read(content, UNIT_KEYS)}
        self._check_document(values.get("document", ""))
        sets = self.table(content.get("limits", {}), "limits")
        tests = values.get("tests", ())
        return UnitSettings(
            unit=name,
            limit_sets={each: self._limit_set(each, checks, tests) for each, checks in sets.items()},
            scatter=self._scatter(self.table(content.get("scatter", {}), "scatter")),
            recordings=read_maps(self, content.get("recordings", [])),
            **values,
        )

    def _check_document(self, pattern: str) -> None:
        if any(brace in re.sub(PLACES_OF_A_DOCUMENT_NUMBER, "", pattern) for brace in "{}"):
            self.faults.append(f"document: {pattern!r} may hold {{tag}} and {{unit}} and no other braces.")

    def _scatter(self, content: Mapping[str, Any]) -> dict[str, ClassScatter]:
        """By what each is of: keys at the top are of all that is in % of travel, a table of its own comes before."""
        found: dict[str, ClassScatter | None] = {}
        parts = {name: self.table(content[name], f"scatter.{name}") for name in SCATTERS if name in content}
        flat = {name: value for name, value in content.items() if name not in SCATTERS}
        if flat:
            self.known(flat, (*SCATTER_KEYS, *SCATTERS), "scatter")
            flat = {name: value for name, value in flat.items() if name in SCATTER_KEYS}
            general = self._class_scatter(flat, "scatter")
            found.update(dict.fromkeys(_OF_ALL, general))
        found.update({name: self._class_scatter(part, f"scatter.{name}") for name, part in parts.items()})
        return {name: scatter for name, scatter in found.items() if scatter is not None}

    def _class_scatter(self, content: Mapping[str, Any], place: str) -> ClassScatter | None:
        values = self.read(content, SCATTER_KEYS, place)
        return ClassScatter(**values) if len(values) == len(SCATTER_KEYS) else None

    def _limit_set(self, name: str, content: Any, tests: tuple[str, ...]) -> LimitSet:
        place = f"limits.{name}"
        content = self.table(content, place)
        own = self.read({key: value for key, value in content.items() if key in SET_KEYS}, SET_KEYS, place)
        checks = {check: limit for check, limit in content.items() if check not in SET_KEYS}
        self.known(checks, (*CHECKS, *SET_KEYS), place)
        limits = {check: self._limit(check, limit, name) for check, limit in checks.items() if is_check(check)}
        needs, sources = self._evidence(content.get("evidence", {}), f"{place}.evidence")
        return LimitSet(
            name,
            {check: limit for check, limit in limits.items() if limit is not None},
            own.get("tests", tests),
            needs,
            sources,
        )

    def _evidence(self, content: Any, place: str) -> tuple[dict[CheckName, dict[Need, float]], dict[CheckName, str]]:
        """How far a limit set departs from NEEDS, and the documents that allow it, by check."""
        content = self.table(content, place)
        self.known(content, NEEDS, place)
        needs: dict[CheckName, dict[Need, float]] = {}
        sources: dict[CheckName, str] = {}
        for check in NEEDS:
            if check not in content:
                continue
            keys: dict[str, Key] = {name: EVIDENCE_KEYS[name] for name in NEEDS[check]}
            of_check = self.table(content[check], f"{place}.{check}")
            values = self.read(of_check, {**keys, "source": EVIDENCE_SOURCE}, f"{place}.{check}")
            sources[check] = values.pop("source", "")
            needs[check] = {name: values[name] for name in NEEDS[check] if name in values}
        return needs, sources

    def _limit(self, check: CheckName, content: Any, limit_set: str) -> Limit | None:
        place = f"limits.{limit_set}.{check}"
        if not isinstance(content, dict):
            self.faults.append(f'{place}: {content!r} is no limit. Write it like {{ max = 1.0, source = "..." }}.')
            return None
        values = self.read(content, LIMIT_KEYS, place)
        self._check_form(CHECKS[check], place, _forms(content), values)
        if "cycles" in values and check != "repeatability":
            self.faults.append(f"{place}.cycles: only a limit of repeatability is stated for a number of cycles.")
        low, high = values.pop("min", None), values.pop("max", None)
        if CHECKS[check].is_magnitude:
            high = values.pop("plus_minus", high)
        waits_in = limit_set if values.pop("placeholder", False) else ""
        return Limit(check, values.pop("source", ""), minimum=low, maximum=high, placeholder_in=waits_in, **values)

    def _check_form(self, check: Check, place: str, given: list[Form], values: Mapping[str, Any]) -> None:
        forms = forms_of(check)
        wanted = ", ".join(forms[:-1]) + f" or {forms[-1]}"
        if len(given) != 1:
            self.faults.append(f"{place}: give exactly one of {wanted}.")
        elif given[0] not in forms:
            self.faults.append(f"{place}: {given[0]} is no limit of {check.name}{_why(given[0])}. Give {wanted}.")
        elif check.target == "starts_allowed" and values.get("of_nominal_pct", 0) > _MOST_STARTS_OVER_PCT:
            self.faults.append(
                f"{place}.of_nominal_pct is by how much the register's starts_per_hour_max may be exceeded. "
                "Give 0 for not at all."
            )
        elif "min" in values and "max" in values and values["min"] > values["max"]:
            self.faults.append(f"{place}: min {values['min']:g} is above max {values['max']:g}.")


def _forms(content: Mapping[str, Any]) -> list[Form]:
    """The forms that a limit is given in; one is right."""
    one_sided = [form for form in ONE_SIDED if form in content]
    forms: list[Form] = [form for form in TWO_SIDED if form in content]
    return [*forms, "min and max"] if len(one_sided) == len(ONE_SIDED) else [*forms, *one_sided]


def _why(form: Form) -> str:
    if form == "plus_minus":
        return ", which has no target to be plus or minus of"
    if form == "of_nominal_pct":
        return ", which has no nominal value in the register"
    return " alone, because it leaves the other side open"
