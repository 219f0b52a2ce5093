"""The error of a unit's folder that cannot be used."""

from __future__ import annotations


class UnitError(ValueError):
    """The folder of a unit, its unit.toml or its register cannot be used at all."""
