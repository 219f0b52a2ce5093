"""The packaged notebooks: where they stand, and which parameters a notebook takes."""

from __future__ import annotations

import ast
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any, Final

import kit
from kit.runs.errors import RunError

TAG_REPORT: Final = "tag_report"
UNIT_SUMMARY: Final = "unit_summary"


def notebook_path(name: str) -> Path:
    """The packaged notebook of that name: inside an installed package, or beside it in a checkout.

    Raises
    ------
    RunError
        If neither place has it.
    """
    package = Path(kit.__file__).parent
    places = (package / "notebooks", package.parent / "notebooks")
    for place in places:
        if (place / f"{name}.ipynb").is_file():
            return place / f"{name}.ipynb"
    raise RunError(f"{name}.ipynb: not found beside the package. Install strokebook again.")


def known_parameters(name: str, cells: Iterable[Mapping[str, Any]]) -> tuple[str, ...]:
    """Names assigned in the cell tagged ``parameters``, in order.

    Raises
    ------
    RunError
        If the notebook has no such cell.
    """
    tagged = (cell for cell in cells if "parameters" in cell["metadata"].get("tags", ()))
    cell = next(tagged, None)
    if cell is None:
        raise RunError(f"{name}: no cell is tagged `parameters`. Tag the one that assigns them.")
    try:
        return tuple(_assigned(ast.parse(cell["source"])))
    except SyntaxError as error:
        raise RunError(f"{name}: the cell tagged `parameters` is not Python ({error}). Correct it.") from error


def check_parameters(name: str, cells: Iterable[Mapping[str, Any]], wanted: Iterable[str]) -> None:
    """Refuse names that the notebook does not take: papermill would only log them and run on.

    Raises
    ------
    RunError
        If a name is unknown; the message lists the known ones.
    """
    known = known_parameters(name, cells)
    unknown = [each for each in wanted if each not in known]
    if unknown:
        raise RunError(
            f"{name}: unknown parameter {', '.join(unknown)}. It takes {', '.join(known)}. "
            "Correct the name, or add it to the cell tagged `parameters`."
        )


def _assigned(tree: ast.Module) -> Iterable[str]:
    for statement in tree.body:
        targets: list[ast.expr] = []
        if isinstance(statement, ast.AnnAssign):
            targets = [statement.target]
        elif isinstance(statement, ast.Assign):
            targets = statement.targets
        yield from (target.id for target in targets if isinstance(target, ast.Name))
