"""``python -m kit.demo`` in a checkout: renews the committed demo unit and its guide page."""

from __future__ import annotations

from pathlib import Path

from kit.demo import DEMO_UNIT
from kit.demo.guide import demo_page
from kit.demo.write import demo_files


def main() -> None:
    """Write every file of the unit and the page; nothing else is touched or removed."""
    checkout = Path(__file__).resolve().parents[2]
    files = {f"inputs/{DEMO_UNIT}/{name}": content for name, content in demo_files().items()}
    files["notebooks/guide/demo.md"] = demo_page().encode()
    for name, content in files.items():
        path = checkout / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content)


if __name__ == "__main__":
    main()
