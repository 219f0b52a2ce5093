"""The demo unit: an invented plant whose tags show every check, verdict and fault of recording, laid down to try.

Its files come with the package as they are committed; what made them stands with the tests.
"""

from __future__ import annotations

from pathlib import Path
from typing import Final

DEMO_UNIT: Final = "lime-works"  # the folder's usual name


class DemoFolderError(ValueError):
    """The demo unit cannot be laid down where it was asked for."""


def lay_down_demo(folder: Path) -> None:
    """Copy the invented unit into ``folder``, which must be empty or not there yet.

    Raises
    ------
    DemoFolderError
        The folder holds something already, or a file stands in its place: nothing is overwritten. Or the package
        came without the unit.
    """
    if folder.is_file() or (folder.is_dir() and any(folder.iterdir())):
        found = "is a file" if folder.is_file() else "is not empty"
        raise DemoFolderError(
            f"{folder}: {found}; the demo unit needs a new or an empty folder. Name another one, or empty this one."
        )
    source = _packaged_unit()
    for file in sorted(path for path in source.rglob("*") if path.is_file()):
        place = folder / file.relative_to(source)
        place.parent.mkdir(parents=True, exist_ok=True)
        place.write_bytes(file.read_bytes())


def _packaged_unit() -> Path:
    """The unit inside an installed package, or beside it in a checkout."""
    package = Path(__file__).parent
    places = (package / "demo_unit", package.parent / "inputs" / DEMO_UNIT)
    for place in places:
        if (place / "unit.toml").is_file():
            return place
    raise DemoFolderError(
        f"{DEMO_UNIT}: not found beside the package. Install strokebook again, or restore "
        f"inputs/{DEMO_UNIT} of the checkout."
    )
