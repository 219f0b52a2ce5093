"""The small hand-made unit, the notebooks and the stand-in for workers of these tests."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from kit.runs import made_by
from kit.runs.notebook.execute import run_tag
from tests.runs.stand_in import Runner
from tests.small_unit import notebook, small_unit

__all__ = ["notebook", "small_unit"]


@pytest.fixture
def runner(monkeypatch: pytest.MonkeyPatch) -> Runner:
    made = Runner()
    monkeypatch.setattr("kit.runs.batch.run_jobs", made.jobs)
    monkeypatch.setattr("kit.runs.batch.run_tag", made.tag)
    monkeypatch.setattr("kit.runs.outputs.dossier.run_unit_page", made.unit_page)
    monkeypatch.setattr("kit.runs.outputs.dossier.plotly_script", lambda: b"script")
    return made


@pytest.fixture
def outputs(tmp_path: Path) -> Path:
    return tmp_path / "outputs" / "small"


@pytest.fixture
def as_it_is() -> Iterator[None]:
    """What a test took for changed is read anew afterwards."""
    yield
    made_by.made_by.cache_clear()


@pytest.fixture
def preloaded(notebook: Callable[..., Path]) -> None:
    """The process that kernels are forked from has preloaded: that it does counts for no time limit."""
    run_tag("A", b"{}", "inputs/u", notebook=notebook("1"))
