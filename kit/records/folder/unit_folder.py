"""A unit's folder, found from what people type here or in a notebook's folder, and the error of one of no use."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Final

SETTINGS_FILE: Final = "unit.toml"
_INPUTS: Final = "inputs"


class UnitError(ValueError):
    """The folder of a unit, its unit.toml or its register cannot be used at all."""


def find_unit(unit: str | Path | None) -> Path:
    """The folder of a unit: a path, a name under inputs/, or, for None, the only unit there.

    A relative path, and inputs/ itself, are looked for in the working folder and then in its
    parents, because a notebook runs in its own folder.
    """
    if unit is None or not str(unit).strip():
        return _only_unit()
    path = Path(unit)
    candidates = [path] if path.is_absolute() else [base / part for base in _bases() for part in (path, _INPUTS / path)]
    for candidate in candidates:
        if (candidate / SETTINGS_FILE).is_file():
            return candidate
    if any(candidate.is_dir() for candidate in candidates):
        raise UnitError(f"{unit} has no {SETTINGS_FILE}. A unit's folder needs one. {_what_there_is()}")
    raise UnitError(f"There is no unit {unit}. {_what_there_is()}")


def _bases() -> Iterator[Path]:
    yield Path()
    yield from Path.cwd().parents


def units_here() -> list[Path]:
    """The units of the nearest inputs/ that has any."""
    for base in _bases():
        inputs = base / _INPUTS
        found = sorted(path.parent for path in inputs.glob(f"*/{SETTINGS_FILE}")) if inputs.is_dir() else []
        if found:
            return found
    return []


def _only_unit() -> Path:
    units = units_here()
    if len(units) == 1:
        return units[0]
    raise UnitError(f"Say which unit. {_what_there_is()}")


def _what_there_is() -> str:
    names = ", ".join(path.name for path in units_here())
    return f"Units in {_INPUTS}/: {names}." if names else f"There is no unit in {_INPUTS}/ yet."
