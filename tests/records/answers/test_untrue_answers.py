"""No answer that is not true to its conditions lifts a record, and none lifts another one: a property."""

from __future__ import annotations

import tempfile
from collections.abc import Mapping
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from kit.basis.answers import DECISIONS
from kit.basis.records import Problem, UnitRecords
from kit.records import read_unit

TAGS = (
    "tag,command_range,fail_action,safety_function\n"
    "FV-1,4-20 mA,closed,no\nFV-2,4-20 mA,closed,no\nXV-3,4-20 mA,open,yes\n"
)
VISITS = "tag,visit,date\n" + "".join(
    f"{tag},{visit},2026-03-0{visit}\n" for tag in ("FV-1", "FV-2", "XV-3") for visit in (1, 2)
)
HEAD = "tag,visit,stage,direction,time_s\n"
ANSWER = ("record", "decision", "reason", "by", "on", "tag", "visit", "stage", "value", "second_person")
REGISTERED = frozenset({"FV-1", "FV-2", "XV-3"})

Row = tuple[str, str, str, str, str]
rows = st.lists(
    st.tuples(
        st.sampled_from(["FV-1", "FV-2", "XV-3", "FV-l", "FV-4", ""]),
        st.sampled_from(["1", "2", "7", ""]),
        st.sampled_from(["as_left", "as_found", "", "as_lost"]),
        st.sampled_from(["open", "close", "sideways"]),
        st.sampled_from(["20", "21.5", "quick", ""]),
    ),
    min_size=2,
    max_size=7,
)
answers = st.fixed_dictionaries(
    {
        "decision": st.sampled_from(DECISIONS),
        "reason": st.sampled_from(["so it is", ""]),
        "by": st.sampled_from(["N. One", ""]),
        "on": st.sampled_from(["2026-04-01", "soon"]),
        "tag": st.sampled_from(["", "FV-1", "FV-2", "XV-3", "fv 1", "PV-9", "FV-4"]),
        "visit": st.sampled_from(["", "1", "2", "7"]),
        "stage": st.sampled_from(["", "as_left", "as_found"]),
        "value": st.sampled_from(["", "22", "fast"]),
        "second_person": st.sampled_from(["", "N. Two", "n. one"]),
    }
)


def read(folder: Path, table: list[Row], given: list[Mapping[str, str]]) -> UnitRecords:
    (folder / "records").mkdir(exist_ok=True)
    lines = [",".join(each) for each in table]
    answered = [",".join(each[name] for name in ANSWER) for each in given]
    files = {
        "unit.toml": 'title = "Invented unit"\n',
        "tags.csv": TAGS,
        "records/visits.csv": VISITS,
        "records/strokes.csv": HEAD + "\n".join(lines) + "\n",
        "records/dispositions.csv": "\n".join([",".join(ANSWER), *answered, ""]),
    }
    for name, text in files.items():
        (folder / name).write_text(text)
    return read_unit(folder)


def opened(unit: UnitRecords) -> dict[str, Problem]:
    """Open records of strokes by key."""
    return {each.record: each for each in unit.problems if each.status == "open" and each.table == "strokes"}


def is_true(said: Mapping[str, str], record: Problem, table: list[Row], unit: UnitRecords) -> bool:
    """Whether an answer is true to the conditions of its decision, worked out from the typed rows anew."""
    assert record.row is not None
    assert record.scope is not None
    typed = dict(zip(HEAD.strip().split(","), table[record.row - 2], strict=True))
    two = said["second_person"] == "N. Two"
    if not (said["reason"] and said["by"] and said["on"] == "2026-04-01"):
        return False
    if ("XV-3" in record.scope.tags or said["decision"] == "misread") and not two:
        return False
    used = unit.tables["strokes"].where(unit.tables["strokes"]["row"] == record.row)
    if said["decision"] == "repeated":
        return any(
            row > record.row
            and tag in record.scope.tags
            and (typed["tag"] not in REGISTERED or tag == typed["tag"])
            and (typed["direction"] == "sideways" or direction == typed["direction"])
            and record.scope.visit in ("", visit)
            and record.scope.stage in ("", stage)
            for row, tag, visit, stage, direction in zip(
                *(unit.tables["strokes"][name].tolist() for name in ("row", "tag", "visit", "stage", "direction")),
                strict=True,
            )
        )
    if said["decision"] == "belongs_to":
        given_cells = {name: said[name] for name in ("tag", "visit", "stage") if said[name]}
        in_scope = said["tag"] in ("", *record.scope.tags)
        return (
            bool(given_cells) and in_scope and len(used) == 1 and all(used[n][0] == v for n, v in given_cells.items())
        )
    if said["decision"] == "misread":
        return said["value"] == "22" and len(used) == 1 and used["time_s"][0] == 22.0
    if said["decision"] == "elsewhere":
        return said["tag"] in ("PV-9", "FV-4") and said["tag"] != typed["tag"]
    if said["decision"] == "no_measurement":
        return not typed["time_s"] or any(
            other != record.row and table[other - 2][3:] == table[record.row - 2][3:]
            for other in unit.tables["strokes"]["row"].tolist()
        )
    return False


@settings(max_examples=40, deadline=None)
@given(table=rows, said=st.lists(answers, min_size=7, max_size=7))
def test_what_is_not_true_lifts_nothing(table: list[Row], said: list[dict[str, str]]) -> None:
    with tempfile.TemporaryDirectory() as place:
        before = opened(read(Path(place), table, []))
        given_answers = [{**each, "record": key} for key, each in zip(before, said, strict=False)]
        unit = read(Path(place), table, given_answers)
    after = opened(unit)
    lifted = before.keys() - after.keys()
    settled = {each.record: each.answer for each in unit.problems if each.status == "answered"}
    assert lifted == settled.keys()
    by_key = {each["record"]: each for each in given_answers}
    for key in lifted:
        assert is_true(by_key[key], before[key], table, unit), (by_key[key], before[key])
    refused = {each.value for each in unit.problems if each.table == "dispositions" and each.status == "open"}
    assert refused == by_key.keys() - lifted
    for count in unit.counts:
        assert count.read == count.used + count.set_aside
