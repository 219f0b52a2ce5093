"""What a notebook is known by: its cells, whatever was run and shown in them."""

from __future__ import annotations

import ast
import hashlib
import json
from collections.abc import Iterable, Mapping
from typing import Any, Final

GIVEN: Final = ("unit", "tag", "outputs")  # parameters that a run always gives, whatever stands in the notebook
_OF_A_RUN: Final = frozenset(("injected-parameters", "papermill-error-cell-tag"))
_PARAMETERS: Final = "parameters"


def notebook_mark(cells: Iterable[Mapping[str, Any]]) -> str:
    """SHA-256 of a notebook's cells: kind, source, tags and pasted pictures, in hexadecimal digits.

    Neither outputs and counts nor the unit and the tag that were looked at last move it, nor what a run adds: the
    same notebook has the same mark before and after, saved with its outputs or without.

    Examples
    --------
    >>> cell = {"cell_type": "code", "metadata": {"tags": ["parameters"]}, "source": 'tag: str = "FV-1"  # tag'}
    >>> other = {**cell, "source": ['tag: str = "FV-2"  # tag'], "outputs": [], "execution_count": 3}
    >>> notebook_mark([cell]) == notebook_mark([other])
    True
    """
    counted = [_counted(cell) for cell in cells if _OF_A_RUN.isdisjoint(_tags(cell))]
    return hashlib.sha256(json.dumps(counted, sort_keys=True).encode()).hexdigest()


def source_of(cell: Mapping[str, Any]) -> str:
    """A cell's source, the values of parameters left out that a run gives anyway."""
    source = cell.get("source", "")
    text = source if isinstance(source, str) else "".join(source)
    return without_given(text) if _PARAMETERS in _tags(cell) else text


def _counted(cell: Mapping[str, Any]) -> list[Any]:
    return [cell.get("cell_type"), source_of(cell), sorted(_tags(cell)), cell.get("attachments") or {}]


def _tags(cell: Mapping[str, Any]) -> list[str]:
    tags: list[str] = cell.get("metadata", {}).get("tags", [])
    return tags


def without_given(source: str) -> str:
    """A cell's source in which unit, tag and outputs are given nothing."""
    try:
        statements = ast.parse(source).body
    except SyntaxError:
        return source
    lines = source.encode().splitlines(keepends=True)
    for statement in reversed(statements):
        value = _given_value(statement)
        if value is not None and value.lineno == value.end_lineno:
            line = lines[value.lineno - 1]
            lines[value.lineno - 1] = line[: value.col_offset] + b'""' + line[value.end_col_offset :]
    return b"".join(lines).decode()


def _given_value(statement: ast.stmt) -> ast.expr | None:
    """The value that a statement gives one of these parameters."""
    if isinstance(statement, ast.AnnAssign):
        targets: list[ast.expr] = [statement.target]
    elif isinstance(statement, ast.Assign):
        targets = statement.targets
    else:
        return None
    named = [each.id for each in targets if isinstance(each, ast.Name)]
    return statement.value if len(named) == 1 and named[0] in GIVEN else None
