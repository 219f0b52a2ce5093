"""The page's Content-Security-Policy: it runs the kit's own scripts and what they load, and fetches nothing else."""

from __future__ import annotations

import base64
from functools import cache
from hashlib import sha256
from pathlib import Path
from typing import Final

from jinja2 import Environment, FileSystemLoader

_PAGE: Final = Path(__file__).parents[1] / "page"
_PICTURES: Final = "img-src data: blob:"  # blob: a figure on its way to a PNG
_STYLES: Final = "style-src 'unsafe-inline'"  # the page's own sheet, and the colours of a table that a cell shows


@cache
def policy() -> str:
    """The policy, as the page's head states it.

    A script runs if it is one of the kit's own, by its hash, or was loaded by one of these: that holds for a page from
    a folder too, where 'self' means nothing to some browsers, and it holds back every script that stands in the HTML.
    """
    scripts = Environment(loader=FileSystemLoader(_PAGE))
    names = sorted(path.name for path in (_PAGE / "script").glob("*.js"))
    marks = " ".join(f"'sha256-{_mark(scripts.get_template(f'script/{name}').render())}'" for name in names)
    return "; ".join(
        (
            "default-src 'none'",
            f"script-src {marks} 'strict-dynamic'",
            _STYLES,
            _PICTURES,
            "base-uri 'none'",
            "form-action 'none'",
        )
    )


def _mark(script: str) -> str:
    return base64.b64encode(sha256(script.encode()).digest()).decode()
