"""One tag's share of a unit's records."""

from __future__ import annotations

from pathlib import Path

import pytest

from kit.records import UnitError, read_tag, read_unit, tag_records, to_slice
from tests.records.conftest import FILES


def test_a_share_holds_the_tags_rows_and_problems_and_no_others(make_unit) -> None:
    share = tag_records(read_unit(make_unit(FILES)), "FV-101")
    assert share.tables["readings"]["stage"].tolist() == ["as_found", "as_left"]
    assert [problem.tag for problem in share.problems] == ["FV-101"]
    assert [one.instrument for one in share.instruments] == ["CAL-1"]
    assert share.visits[0].ambient_c == 21.5
    assert len(share.tables["strokes"]) == 0
    assert set(share.input_hashes) == {*FILES, "unit.toml", "tags.csv", "instruments.csv"}


def test_the_shares_of_all_tags_make_up_the_unit(make_unit) -> None:
    unit = read_unit(make_unit(FILES))
    shares = [tag_records(unit, tag) for tag in unit.tags]
    assert sum(len(share.tables["readings"]) for share in shares) == len(unit.tables["readings"]) == 3


def test_a_notebook_reads_a_tag_from_a_folder_or_from_its_slice(make_unit, tmp_path: Path) -> None:
    folder = make_unit(FILES)
    slice_file = tmp_path / "FV-101.json"
    slice_file.write_bytes(to_slice(read_tag(folder, "FV-101")))
    assert to_slice(read_tag(str(slice_file), "FV-101")) == slice_file.read_bytes()
    with pytest.raises(UnitError, match="holds FV-101, not FV-102"):
        read_tag(slice_file, "FV-102")
    with pytest.raises(UnitError, match="Was FV-101 meant"):
        read_tag(folder, "FV-1O1")


LIMITS = """
title = "Invented unit"
tests = ["readings"]
[limits.modulating]
inaccuracy = { plus_minus = 1.5, source = "Invented" }
[limits.on_off]
inaccuracy = { plus_minus = 5, source = "Invented" }
[limits.fine]
inaccuracy = { plus_minus = 0.5, source = "Invented" }
"""
TAGS = "tag,duty,limits,command_range\nA,modulating,,4-20 mA\nB,on_off,fine,4-20 mA\nC,,,4-20 mA\n"


@pytest.mark.parametrize(("tag", "own"), [("A", "modulating"), ("B", "fine")])
def test_a_tag_has_its_own_limit_set_alone(make_unit, tag: str, own: str) -> None:
    """That which the register names comes before that of its duty."""
    unit = read_unit(make_unit({"unit.toml": LIMITS, "tags.csv": TAGS}))
    share = tag_records(unit, tag)
    assert share.settings.limit_sets == {own: unit.settings.limit_sets[own]}
    assert share.settings.tests == ("readings",)


def test_a_tag_without_limits_knows_the_names_of_the_sets_there_are(make_unit) -> None:
    share = tag_records(read_unit(make_unit({"unit.toml": LIMITS, "tags.csv": TAGS})), "C")
    assert {name: (dict(one.limits), one.tests) for name, one in share.settings.limit_sets.items()} == dict.fromkeys(
        ("modulating", "on_off", "fine"), ({}, ())
    )


def test_instruments_are_those_that_the_tags_visits_name(make_unit) -> None:
    registered = "instrument,measures\n" + "".join(f"I{number},mA\n" for number in range(5))
    visits = "tag,visit,date,command_instrument,time_instrument\nA,1,2026-03-04,I3,I1\nA,2,2026-03-05,I3,\nB,1,,I0,\n"
    unit = read_unit(make_unit({"tags.csv": TAGS, "instruments.csv": registered, "records/visits.csv": visits}))
    share = tag_records(unit, "A")
    assert [one.instrument for one in share.instruments] == ["I1", "I3"]
    assert [(one.visit, one.date, one.ambient_c) for one in share.visits] == [
        ("1", "2026-03-04", None),
        ("2", "2026-03-05", None),
    ]


def test_recordings_and_problems_are_the_tags_own(make_unit) -> None:
    recorded = "time_s,command_mA,position_pct\n0,4,0\n1,4,0\n1,4,{}\n"
    files = {f"logs/{tag}/1.as_left.csv": recorded.format(number) for number, tag in enumerate("ABC")}
    visits = "tag,visit,date\n" + "".join(f"{tag},1,2026-03-04\n" for tag in "ABC")
    unit = read_unit(make_unit({"tags.csv": TAGS, "records/visits.csv": visits, **files}))
    for tag in "ABC":
        share = tag_records(unit, tag)
        assert [one.file for one in share.recordings] == [f"logs/{tag}/1.as_left.csv"]
        assert {(one.tag, one.row) for one in share.problems if one.file.startswith("logs/")} == {(tag, 4)}
        assert share.input_hashes[f"logs/{tag}/1.as_left.csv"] == share.recordings[0].sha256


@pytest.mark.parametrize(("tag", "words"), [("a", "Was A meant"), ("XYZ", "It has 3 tags, from A to C")])
def test_an_unknown_tag_is_an_error(make_unit, tag: str, words: str) -> None:
    with pytest.raises(UnitError, match=f"unit-a: '{tag}' is not in the register. {words}"):
        tag_records(read_unit(make_unit({"tags.csv": TAGS})), tag)


HASHED = {
    **FILES,
    "records/readings.csv": FILES["records/readings.csv"] + "FV-102,1,,up,OK,50,\n",
    "records/strokes.csv": "tag,visit,direction,time_s\nFV-102,1,open,5\n",
}


@pytest.mark.parametrize(
    ("file", "old", "new", "changes"),
    [
        ("records/readings.csv", "FV-101,1,,up,12,50", "FV-101,1,,up,12,51", True),
        ("records/readings.csv", "FV-101,1,,up,OK", "FV-101,1,,up,KO", True),
        ("records/readings.csv", "FV-103,1,,up,,50", "FV-103,1,,up,,51", False),
        ("records/visits.csv", "21.5", "22.5", True),
        ("unit.toml", "1.5", "1.4", True),
        ("tags.csv", "FV-101,rotary,90", "FV-101,rotary,80", True),
        ("tags.csv", "FV-102,linear,40", "FV-102,linear,50", False),
        ("instruments.csv", "CAL-1,mA,0,24", "CAL-1,mA,0,23", True),
    ],
)
def test_the_hash_of_a_file_is_of_the_tags_share_of_it(make_unit, file: str, old: str, new: str, changes: bool) -> None:
    folder = make_unit(HASHED)
    before = tag_records(read_unit(folder), "FV-101").input_hashes
    text = (folder / file).read_text()
    assert old in text
    (folder / file).write_text(text.replace(old, new))
    after = tag_records(read_unit(folder), "FV-101").input_hashes
    assert {name for name in before if before[name] != after[name]} == ({file} if changes else set())
    assert list(before) == sorted(before)
    assert "records/strokes.csv" not in before


def test_a_visit_alone_has_a_share(make_unit) -> None:
    share = tag_records(read_unit(make_unit({"records/visits.csv": "tag,visit,date\nFV-103,1,2026-03-04\n"})), "FV-103")
    assert "records/visits.csv" in share.input_hashes
