"""Whether PDFs can be made here, told before anything is run, and what they are made by."""

from __future__ import annotations

from functools import cache
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Final

from kit import views
from kit.runs.code_meaning import code_meaning
from kit.runs.errors import RunError
from kit.runs.hashing import fingerprint

PDF_LIBRARIES: Final = ("weasyprint", "pydyf", "fonttools", "tinycss2", "pikepdf")  # each can move a byte of a PDF
_NEEDED: Final = ("weasyprint", "pikepdf")
_INSTALL: Final = "pip install 'strokebook[pdf]'"


def check_installed() -> None:
    """Refuse where the optional install is missing.

    Raises
    ------
    RunError
        Naming what to install.
    """
    missing = [name for name in _NEEDED if _version(name) == ""]
    if missing:
        raise RunError(f"PDF needs {' and '.join(missing)}, not installed here. Install with: {_INSTALL}")


@cache
def papers_made_by() -> str:
    """Fingerprint of what makes a PDF of a page: its code, style and fonts, and the libraries."""
    versions = [f"{name} {_version(name)}".encode() for name in PDF_LIBRARIES]
    files = sorted(path for path in (Path(views.__file__).parent / "paper").rglob("*") if path.is_file())
    counted = [path for path in files if "__pycache__" not in path.parts]
    meant = (code_meaning(path) if path.suffix == ".py" else path.read_bytes() for path in counted)
    return fingerprint([*versions, *meant])


def _version(package: str) -> str:
    try:
        return version(package)
    except PackageNotFoundError:
        return ""
