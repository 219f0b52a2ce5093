"""What the page's Content-Security-Policy lets run."""

from __future__ import annotations

import base64
import re
from hashlib import sha256

from kit.views.placing.policy import policy


def directives() -> dict[str, str]:
    return dict(each.split(" ", 1) for each in policy().split("; "))


def test_every_script_of_the_page_runs_by_its_hash_and_nothing_else_does(page: str) -> None:
    scripts = re.findall(r"<script[^>]*>(.*?)</script>", page, re.DOTALL)
    assert len(scripts) == 2  # tables to filter stand on the page above alone
    allowed = directives()["script-src"].split()
    for script in scripts:
        assert f"'sha256-{base64.b64encode(sha256(script.encode()).digest()).decode()}'" in allowed
    assert [each for each in allowed if not each.startswith("'sha256-")] == ["'strict-dynamic'"]


def test_nothing_leaves_the_page() -> None:
    found = directives()
    assert found["default-src"] == found["base-uri"] == found["form-action"] == "'none'"
    assert "http" not in policy()
    assert "connect-src" not in found


def test_the_policy_stands_in_the_head_before_what_it_governs(page: str) -> None:
    place = page.index(f'<meta content="{policy()}" http-equiv="Content-Security-Policy"/>')
    assert place < page.index("<style") < page.index("<script")
