"""The parts of a recording as a table: what each is, and what came of it."""

from __future__ import annotations

import dataclasses

import pytest

from kit.basis.quantity import Quantity
from kit.basis.recording import Segment
from kit.views.figures.trace_figure import WHAT_WORDS
from kit.views.recordings.segments_table import segments_table
from tests.views import made_recordings
from tests.views.reader import rows


def test_small_steps_share_a_row_and_every_part_is_in_some_row() -> None:
    reduction = made_recordings.reduction("healthy")
    table = segments_table(reduction, caption="Parts")
    shared = [row[2].text for row in table.rows if row[2].text.startswith("Small steps")]
    assert shared == ["Small steps: 18 holds, 18 steps"]
    assert len(table.rows) - 1 + 36 == len(reduction.segments)


def outcomes(what: str) -> list[str]:
    table = segments_table(made_recordings.reduction("healthy"), caption="Parts")
    return [row[3] for row in rows(table) if row[2] == what]


def test_each_kind_of_part_says_what_came_of_it() -> None:
    reduction = made_recordings.reduction("healthy")
    stroke, loss = reduction.strokes[0], reduction.losses[0]
    assert outcomes("Opening stroke")[0] == f"{stroke.time.value:.2f} s"
    position, time = loss.position.value, loss.time.value
    assert outcomes("Signal lost") == [f"came to rest at {position:.1f} %, after {time:.1f} s".replace("-", "−")]
    assert outcomes("Signal restored") == [f"stood at {loss.restored_position.value:.1f} % afterwards"]
    (ramp,) = [each for each in reduction.segments if each.what == "ramp_up"]
    tried = [each for each in reduction.trials if each.means == "ramp" and ramp.from_s <= each.at_s <= ramp.to_s]
    assert {each.what for each in tried} == {"resolution"}
    assert outcomes("Ramp up") == [f"{len(tried)} trials of resolution"]
    assert outcomes("Hold")[0].startswith("reading, up, cycle 1: travel 49.92 % at 50.00 % command")
    begins = "reading, up (a run begins with it, no repeat), cycle 1: travel"
    assert [each.startswith(begins) for each in outcomes("Rest")] == [True, False]
    step = reduction.steps[0]
    assert f"% command: T86 {step.t86.value:.2f} s" in outcomes("Step")[0]


def test_what_has_no_value_says_why() -> None:
    reduction = made_recordings.reduction("healthy")
    (loss,) = reduction.losses
    unknown = dataclasses.replace(loss, position=Quantity(None, "not at rest"), restored_position=Quantity(None, "on"))
    table = segments_table(dataclasses.replace(reduction, losses=(unknown,)), caption="Parts")
    told = {row[2]: row[3] for row in rows(table)}
    assert (told["Signal lost"], told["Signal restored"]) == ("not at rest", "on")


@pytest.mark.parametrize("what", WHAT_WORDS)
def test_a_part_that_nothing_came_of_says_so(what: str) -> None:
    reduction = dataclasses.replace(
        made_recordings.reduction("healthy"),
        segments=(Segment(what, 1000.0, 1012.5),),  # type: ignore[arg-type]
    )
    (row,) = rows(segments_table(reduction, caption="Parts"))
    nothing = "12.5 s without a sample: nothing is read into it" if what == "gap" else "no figure was drawn from it"
    assert row == ["1000.0", "1012.5", WHAT_WORDS[what], nothing]  # type: ignore[index]


def test_few_small_steps_keep_their_own_rows() -> None:
    parts = tuple(Segment("step", 1000.0 + at, 1001.0 + at) for at in range(4))
    reduction = made_recordings.reduction("healthy")
    three = segments_table(dataclasses.replace(reduction, segments=parts[:3]), caption="Parts")
    four = segments_table(dataclasses.replace(reduction, segments=parts), caption="Parts")
    assert [row[2] for row in rows(three)] == ["Step"] * 3
    assert rows(four) == [["1000.0", "1004.0", "Small steps: 4 steps", "no figure was drawn from it"]]
