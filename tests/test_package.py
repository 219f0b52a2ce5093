"""What the distribution carries, and what it asks for."""

from __future__ import annotations

import re
import tomllib
from importlib.metadata import entry_points, version
from pathlib import Path

import kit

ROOT = Path(__file__).parents[1]


def test_the_installed_version_is_the_packages():
    assert version("strokebook") == kit.__version__


def test_the_command_is_installed():
    (command,) = entry_points(group="console_scripts", name="strokebook")
    assert command.value == "kit.cli:main"


def test_constraints_pin_every_dependency_exactly_and_name_no_address():
    text = (ROOT / "constraints.txt").read_text(encoding="utf-8")
    lines = [line for line in text.splitlines() if line and not line.startswith("#")]
    assert all(re.fullmatch(r"[a-z0-9._-]+==[0-9][\w.]*( ; .+)?", line) for line in lines)
    assert "://" not in text
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    wanted = [*project["dependencies"], *project["optional-dependencies"]["test"]]
    names = {re.split(r"[^\w.-]", text, maxsplit=1)[0].rstrip(".").lower() for text in wanted}
    assert names <= {line.split("==")[0] for line in lines}


def test_every_page_that_the_readme_links_to_is_there():
    links = re.findall(r"\]\(([^)#:]+)\)", (ROOT / "README.md").read_text(encoding="utf-8"))
    missing = [link for link in links if not (ROOT / link).exists()]
    assert missing == []
