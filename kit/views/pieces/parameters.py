"""A notebook's parameters: a misspelt one is refused, where papermill only logs it."""

from __future__ import annotations

import ast
from collections.abc import Sequence
from typing import Final

_INJECTED: Final = "# Parameters"


class ParameterError(ValueError):
    """A notebook was given a parameter that it does not have."""


def refuse_unknown_parameters(cells: Sequence[str]) -> None:
    """Raise when the cell that papermill put in names a parameter that the cell before does not have.

    Parameters
    ----------
    cells : sequence of str
        The cells run so far, as IPython keeps them in ``In``. A notebook that is run by hand has no
        injected cell, and nothing is refused.
    """
    injected = [index for index, cell in enumerate(cells) if cell.startswith(_INJECTED) and index]
    for index in injected:
        known = _assigned(cells[index - 1])
        unknown = [name for name in _assigned(cells[index]) if name not in known]
        if unknown:
            raise ParameterError(
                f"This notebook has no parameter {_listed(unknown)}. It has {_listed(known)}. "
                "Correct the name and run it again."
            )


def _assigned(cell: str) -> list[str]:
    """Names that a cell assigns at its top level, in order."""
    names = []
    for statement in ast.parse(cell).body:
        if isinstance(statement, ast.AnnAssign) and isinstance(statement.target, ast.Name):
            names.append(statement.target.id)
        elif isinstance(statement, ast.Assign):
            names += [target.id for target in statement.targets if isinstance(target, ast.Name)]
    return names


def _listed(names: Sequence[str]) -> str:
    return ", ".join(f"'{name}'" for name in names)
