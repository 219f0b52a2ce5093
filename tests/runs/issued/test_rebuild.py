"""A damaged ledger is made again from the issued folders; nothing that was issued is touched, and nothing is lost."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from kit.basis.issues import ISSUED, LEDGER, MANIFEST
from kit.runs.batch import run_batch
from kit.runs.errors import RunError
from kit.runs.issued.rebuild import rebuild_ledger
from kit.runs.issued.verify import verify_issued
from kit.runs.outputs.verify import Difference, verify_outputs
from tests.runs.issued.conftest import Issue
from tests.runs.issued.test_issuing import DAMAGES, rewrite
from tests.runs.stand_in import change_a_stroke, edit, snapshot

OF_THE_LEDGER = [
    *("a reason edited", "a revision edited", "a tag edited", "a date as a spreadsheet has it", "the first row gone"),
    *("the last row gone", "rows exchanged", "a row twice", "the head gone", "a cell gone", "no text"),
    "the ledger gone",
]
OF_A_FOLDER = ["a folder gone", "a manifest gone", "a manifest emptied", "a manifest edited", "a hash edited"]


@pytest.fixture
def issued(unit: Path, outputs: Path, issue: Issue) -> Path:
    """Two revisions of HV-1, with one of another tag on the same day as the first."""
    issue("HV/2", "HV-1")
    change_a_stroke(unit)
    run_batch(unit, outputs)
    issue("HV-1", on="2026-03-11")
    issue("HV-3", on="2026-03-12")
    return unit


@pytest.fixture
def elsewhere(tmp_path: Path) -> Path:
    """Outputs that remember nothing."""
    return tmp_path / "elsewhere"


def pages_of(unit: Path) -> dict[str, object]:
    """Every file of every issue, as it stands."""
    return {name: each for name, each in snapshot(unit / ISSUED).items() if "/" in str(name)}


@pytest.mark.parametrize("damage", OF_THE_LEDGER)
def test_a_damaged_ledger_comes_back_byte_for_byte_and_the_damaged_one_stays(
    issued: Path, elsewhere: Path, damage: str
):
    whole, pages = (issued / ISSUED / LEDGER).read_bytes(), pages_of(issued)
    DAMAGES[damage][0](issued)
    left = (issued / ISSUED / LEDGER).read_bytes() if damage != "the ledger gone" else None
    made = rebuild_ledger(issued, elsewhere)
    assert (issued / ISSUED / LEDGER).read_bytes() == whole
    assert (made.rows, made.wrong) == (4, ())
    assert (None if made.kept is None else made.kept.read_bytes()) == left
    assert verify_issued(issued) == (4, ())
    assert pages_of(issued) == pages


def test_a_whole_ledger_stays_as_it_is_and_one_made_twice_keeps_both(issued: Path, elsewhere: Path):
    before = snapshot(issued)
    assert rebuild_ledger(issued, elsewhere).kept is None
    assert snapshot(issued) == before
    for name in ("issues.csv.damaged", "issues.csv.damaged-2"):
        (issued / ISSUED / LEDGER).write_bytes(name.encode())
        kept = rebuild_ledger(issued, elsewhere).kept
        assert kept is not None
        assert (kept.name, kept.read_bytes()) == (name, name.encode())


@pytest.mark.parametrize("damage", OF_A_FOLDER)
def test_what_is_wrong_with_a_folder_is_no_less_wrong_afterwards(issued: Path, elsewhere: Path, damage: str):
    """A manifest that was edited is not made the one that was issued, and a row without a folder is not forgotten."""
    whole = (issued / ISSUED / LEDGER).read_bytes()
    DAMAGES[damage][0](issued)
    told = verify_issued(issued)[1]
    made = rebuild_ledger(issued, elsewhere)
    assert (issued / ISSUED / LEDGER).read_bytes() == whole
    assert made.wrong == told == verify_issued(issued)[1]
    assert made.told


def test_an_edited_manifest_of_a_lost_ledger_is_told_by_what_the_outputs_remember(issued: Path, outputs: Path):
    """HV-3 was issued last: no other issue names its manifest."""
    edit(f"{ISSUED}/HV-3/A/{MANIFEST}", "For approval", "For nothing at all")(issued)
    (issued / ISSUED / LEDGER).unlink()
    made = rebuild_ledger(issued, outputs)
    assert "HV-3 revision A: its manifest is not the one that was issued" in " ".join(made.told)
    assert f"{ISSUED}/HV-3/A/{MANIFEST}: not the one that the ledger names" in " ".join(made.wrong)


def test_where_nothing_but_its_folder_speaks_for_an_issue_that_is_said(issued: Path, elsewhere: Path):
    (issued / ISSUED / LEDGER).unlink()
    assert rebuild_ledger(issued, elsewhere).told == (
        "HV-3 revision A: nothing but its own folder speaks for it. Look at its signature.",
    )


def test_a_folder_that_somebody_copied_is_no_issue(issued: Path, elsewhere: Path):
    shutil.copytree(issued / ISSUED / "HV-3/A", issued / ISSUED / "HV-3/B")
    made = rebuild_ledger(issued, elsewhere)
    assert made.told == (
        f"{ISSUED}/HV-3/B/{MANIFEST}: is of HV-3 revision A, whose folder this is not: no row is made of it.",
    )
    assert made.rows == 4


def test_where_nothing_was_issued_there_is_nothing_to_make(unit: Path, outputs: Path):
    with pytest.raises(RunError, match="nothing was issued and there is no ledger"):
        rebuild_ledger(unit, outputs)
    assert not (unit / ISSUED).exists()


def lose(tag: str, revision: str) -> Callable[[Path], None]:
    def lost(unit: Path) -> None:
        rewrite(unit, lambda rows: rows.remove(next(row for row in rows if row[:2] == [tag, revision])))
        shutil.rmtree(unit / ISSUED / tag.replace("/", "%2F") / revision)

    return lost


def test_a_last_row_that_goes_with_its_folder_is_missed_by_the_issue_after_it(
    issued: Path, outputs: Path, issue: Issue
):
    """HV-1's revision B has no later one of its tag: that of HV-3, the next row of the ledger, names it."""
    lose("HV-1", "B")(issued)
    said = f"{ISSUED}/{LEDGER}: HV-3 revision A was issued after HV-1 revision B, which is gone. Put back a copy of it"
    assert [each for each in verify_issued(issued)[1] if each.startswith(said)]
    run_batch(issued, outputs)
    with pytest.raises(RunError, match=r"HV-1 revision B.*gone.*Nothing was issued"):
        issue("HV-1", on="2026-03-13")


def test_the_last_row_of_all_that_goes_with_its_folder_is_missed_by_the_outputs(
    issued: Path, outputs: Path, issue: Issue, tmp_path: Path
):
    """Nothing in issued/ can tell; the outputs do, after another batch too, until it is back."""
    whole = Path(shutil.copytree(issued / ISSUED, tmp_path / "whole"))
    lose("HV-3", "A")(issued)
    assert verify_issued(issued) == (3, ())
    gone = Difference("issue_gone", f"{ISSUED}/HV-3/A")
    assert verify_outputs(issued, outputs) == (gone,)
    run_batch(issued, outputs)
    assert verify_outputs(issued, outputs) == (gone,)
    assert "HV-3 revision A was issued" in (outputs / "index.html").read_text(encoding="utf-8")
    with pytest.raises(RunError, match="HV-3 revision A was issued when the outputs were made, and is gone"):
        issue("HV-3", on="2026-03-13")
    assert "HV-3 revision A was issued" in " ".join(rebuild_ledger(issued, outputs).wrong)
    shutil.rmtree(issued / ISSUED)
    shutil.copytree(whole, issued / ISSUED)
    run_batch(issued, outputs)
    assert verify_outputs(issued, outputs) == ()
    assert issue("HV-3", on="2026-03-13").unchanged == {"HV-3": "A"}
