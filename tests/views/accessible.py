"""What a page in a browser lacks for readers with a keyboard, a screen reader or weak sight, as axe-core finds it."""

from __future__ import annotations

from typing import Any

OPTIONS = {"resultTypes": ["violations"], "rules": {"target-size": {"enabled": True}}}


def violations(page: Any) -> list[str]:
    """Every rule of axe-core that an open page breaks, best practices too, with the places; [] for none."""
    from axe_playwright_python.sync_playwright import Axe

    found = Axe().run(page, options=OPTIONS).response["violations"]
    return [
        f"{each['id']} ({each['impact']}): {each['help']}: {' '.join(map(str, node['target']))}"
        for each in found
        for node in each["nodes"]
    ]
