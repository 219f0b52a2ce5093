"""What comes next: by what is recorded, what changed, and what the last batch left."""

from __future__ import annotations

from dataclasses import replace

import pytest

from kit.starting.next_step import State, how_it_stands, what_comes_next

NEW = State(2, 0, False, None, False)
DONE = State(2, 0, True, {"FV-1": "pass", "FV-2": "pass"}, True)


@pytest.mark.parametrize(
    ("state", "changed", "command"),
    [
        (
            NEW,
            "nothing recorded yet",
            "sheet . --missing",
        ),
        (replace(DONE, verdicts=None, has_outputs=False), "no batch yet", "batch ."),
        (replace(DONE, verdicts=None), "changed since the last batch", "batch ."),
        (replace(DONE, open_records=1), "unchanged since the last batch (2 pass)", "sheet . --open"),
        (
            replace(DONE, verdicts={"FV-1": "pass", "FV-2": "incomplete"}),
            "unchanged since the last batch (1 incomplete, 1 pass)",
            "sheet . --missing",
        ),
        (DONE, "unchanged since the last batch (2 pass)", "issue . --reason"),
    ],
)
def test_the_next_command_follows_from_how_the_unit_stands(state: State, changed: str, command: str):
    assert how_it_stands(state) == changed
    assert what_comes_next(state, ".").startswith(f"strokebook {command}")
