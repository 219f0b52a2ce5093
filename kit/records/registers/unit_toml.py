"""unit.toml: titles, decision rule, tests and limit sets."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final

from kit.basis.checks import CHECKS, CheckName, is_check
from kit.basis.settings import (
    DECISION_RULES,
    PLACES_OF_A_DOCUMENT_NUMBER,
    DecisionRule,
    Limit,
    LimitSet,
    UnitSettings,
)
from kit.basis.tables import TESTS
from kit.records.cells.nearest import nearest
from kit.records.folder.unit_folder import UnitError

_TEXT_KEYS: Final = ("title", "site", "document", "revision", "notice")
_KEYS: Final = (*_TEXT_KEYS, "decision_rule", "coverage_probability", "tests", "limits")
_FORMS: Final = ("plus_minus", "of_nominal_pct", "min", "max")
_LIMIT_KEYS: Final = (*_FORMS, "source", "revision")


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


_MOST_STARTS_OVER_PCT: Final = 50.0


class _Reader:
    def __init__(self) -> None:
        self.faults: list[str] = []

    def unit(self, name: str, content: Mapping[str, Any]) -> UnitSettings:
        self._known_keys(content, _KEYS, "")
        texts: dict[str, Any] = {key: self._text(content, key, "") for key in _TEXT_KEYS if key in content}
        texts.setdefault("title", name)
        self._check_document(texts.get("document", "{tag}"))
        tests = self._tests(content.get("tests", []), "tests")
        return UnitSettings(
            unit=name,
            decision_rule=self._rule(content.get("decision_rule", "by_ratio")),
            coverage_probability=self._probability(content.get("coverage_probability", 0.9545)),
            tests=tests,
            limit_sets=self._limit_sets(content.get("limits", {}), tests),
            **texts,
        )

    def _known_keys(self, content: Mapping[str, Any], known: tuple[str, ...], where: str) -> None:
        for key in content:
            if key not in known:
                close = nearest(key, known)
                hint = f" Was {close} meant?" if close else ""
                self.faults.append(f"{where}{key}: not known.{hint} Known: {', '.join(known)}.")

    def _text(self, content: Mapping[str, Any], key: str, where: str) -> str:
        value = content.get(key, "")
        if not isinstance(value, str):
            self.faults.append(f"{where}{key}: {value!r} is no text. Put it in quotation marks.")
            return ""
        return value.strip()

    def _check_document(self, pattern: str) -> None:
        if any(brace in re.sub(PLACES_OF_A_DOCUMENT_NUMBER, "", pattern) for brace in "{}"):
            self.faults.append(f"document: {pattern!r} may hold {{tag}} and {{unit}} and no other braces.")

    def _rule(self, value: Any) -> DecisionRule:
        for rule in DECISION_RULES:
            if value == rule:
                return rule
        self.faults.append(f"decision_rule: {value!r} is not one of {', '.join(DECISION_RULES)}.")
        return "by_ratio"

    def _probability(self, value: Any) -> float:
        if _is_number(value) and 0.5 <= value < 1:
            return float(value)
        self.faults.append(f"coverage_probability: {value!r} is not a number from 0.5 to below 1, such as 0.9545.")
        return 0.9545

    def _tests(self, value: Any, where: str) -> tuple[str, ...]:
        if not isinstance(value, list) or not all(isinstance(test, str) for test in value):
            self.faults.append(f'{where}: {value!r} is no list of texts. Write it like ["readings", "strokes"].')
            return ()
        for test in value:
            if test not in TESTS:
                self.faults.append(f"{where}: {test!r} is no known test. Known: {', '.join(TESTS)}.")
        return tuple(dict.fromkeys(value))

    def _limit_sets(self, content: Any, tests: tuple[str, ...]) -> dict[str, LimitSet]:
        if not isinstance(content, dict):
            self.faults.append("limits: not a table. Write limits under [limits.<set>].")
            return {}
        return {name: self._limit_set(name, checks, tests) for name, checks in content.items()}

    def _limit_set(self, name: str, content: Any, tests: tuple[str, ...]) -> LimitSet:
        where = f"limits.{name}"
        if not isinstance(content, dict):
            self.faults.append(f"{where}: not a table. Write limits under [{where}].")
            return LimitSet(name, {}, tests)
        if "tests" in content:
            tests = self._tests(content["tests"], f"{where}.tests")
        checks = {check: limit for check, limit in content.items() if check != "tests"}
        self._known_keys(checks, tuple(CHECKS), f"{where}.")
        limits = {check: self._limit(check, limit, where) for check, limit in checks.items() if is_check(check)}
        return LimitSet(name, {check: limit for check, limit in limits.items() if limit is not None}, tests)

    def _limit(self, check: CheckName, content: Any, where: str) -> Limit | None:
        place = f"{where}.{check}"
        if not isinstance(content, dict):
            self.faults.append(f'{place}: {content!r} is no limit. Write it like {{ max = 1.0, source = "..." }}.')
            return None
        self._known_keys(content, _LIMIT_KEYS, f"{place}.")
        source, revision = (self._text(content, key, f"{place}.") for key in ("source", "revision"))
        if not source:
            self.faults.append(f"{place}: a limit needs a source, such as the document that states it.")
        values = {form: self._value(content[form], f"{place}.{form}") for form in _FORMS if form in content}
        self._check_form(check, place, values)
        return Limit(
            check,
            source,
            revision,
            plus_minus=values.get("plus_minus"),
            of_nominal_pct=values.get("of_nominal_pct"),
            minimum=values.get("min"),
            maximum=values.get("max"),
        )

    def _value(self, value: Any, place: str) -> float | None:
        if _is_number(value) and abs(value) < float("inf"):
            return float(value)
        self.faults.append(f"{place}: {value!r} is not a number.")
        return None

    def _check_form(self, check: CheckName, place: str, values: Mapping[str, float | None]) -> None:
        forms = [form for form in values if form in ("plus_minus", "of_nominal_pct")]
        one_sided = [form for form in values if form in ("min", "max")]
        if len(forms) + bool(one_sided) != 1:
            self.faults.append(f"{place}: give exactly one of plus_minus, of_nominal_pct, or min and max.")
            return
        for form in forms:
            if (values[form] or 0) < 0:
                self.faults.append(f"{place}.{form}: {values[form]:g} is negative. Give the half width.")
        target = CHECKS[check].target
        if "plus_minus" in forms and target in (None, "starts_allowed"):
            self.faults.append(f"{place}: {check} has no target to be plus or minus of. Give min, max or both.")
        if target == "starts_allowed" and (values.get("of_nominal_pct") or 0) > _MOST_STARTS_OVER_PCT:
            self.faults.append(
                f"{place}.of_nominal_pct is by how much the register's starts_per_hour_max may be exceeded. "
                "Give 0 for not at all."
            )
        if "of_nominal_pct" in forms and target not in ("nominal_time", "starts_allowed"):
            self.faults.append(f"{place}: {check} has no nominal value in the register. Give another kind of limit.")
        low, high = values.get("min"), values.get("max")
        if low is not None and high is not None and low > high:
            self.faults.append(f"{place}: min {low:g} is above max {high:g}.")


def _is_number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)
