"""``python -m tests.making.demo`` in a checkout: renews the committed demo unit and its guide page."""

from __future__ import annotations

from tests.making.demo.unit_files import COMMITTED, demo_files
from tests.making.guide import GUIDE
from tests.making.guide.demo_page import demo_page


def main() -> None:
    """Write every file of the unit that is made, and the page; nothing else is touched or removed."""
    files = {COMMITTED / name: content for name, content in demo_files().items()}
    files[GUIDE / "demo.md"] = demo_page().encode()
    for path, content in files.items():
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content)


if __name__ == "__main__":
    main()
