"""Files of loggers read as unit.toml says: every layout gives the same valve, every row is used or set aside."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kit.basis.recording_maps import RecordingMap
from kit.basis.records import RecordingFile
from kit.basis.registers import Tag
from kit.basis.signals import SignalRange
from kit.records import from_slice, read_unit, settings_from, tag_records, to_slice
from kit.records.recordings.read import RecordingReading, read_recording
from kit.records.registers.unit_toml import read_settings
from kit.records.shares.tag_share import tag_mark
from tests.records.conftest import UNIT_TOML, MakeUnit, ReadFiles
from tests.records.recordings.loggers import LOGGERS, ROWS, LoggerFile, table_of, valve

LOOP = SignalRange(4.0, 20.0, "mA", "4-20 mA")
TAG = Tag("FV-101", travel=90.0, travel_unit="deg", command_range=LOOP, feedback_range=LOOP)
BARE = Tag("FV-101", travel=90.0, travel_unit="deg", command_range=LOOP)  # no feedback to be missed
CONFIRMED = 'confirmed_by = "A"\nsource = "Invented"\n'


def maps_of(content: str) -> tuple[RecordingMap, ...]:
    return read_settings(Path("unit-a"), content.encode()).recordings


def read(data: bytes | str, table: str, name: str = "1.as_left.csv", tag: Tag = BARE) -> RecordingReading:
    raw = data.encode() if isinstance(data, str) else data
    source = RecordingFile(f"logs/{tag.tag}/{name}", tag.tag, "1", "as_left", "", "")
    return read_recording(source, raw, tag, maps_of(table))


def plain(channels: str, **further: str) -> str:
    """A table for s and channels of a CSV file."""
    keys = {"time": '{ heading = "t", format = "s" }', **further}
    lines = "".join(f"{name} = {value}\n" for name, value in keys.items())
    return f'[[recordings]]\nfiles = "logs/*/*"\n{CONFIRMED}{lines}channels = {{ {channels} }}\n'


def told(found: RecordingReading) -> list[str]:
    return [each.problem for each in found.problems]


@pytest.mark.parametrize("made", LOGGERS.values(), ids=LOGGERS)
def test_every_logger_gives_the_same_valve(made: LoggerFile) -> None:
    found = read(made.make(), table_of(made), made.name, TAG)
    assert found.recording is not None, found.problems
    assert found.count.read == made.rows
    assert found.count.read == found.count.used + found.count.set_aside
    assert found.count.used == ROWS
    np.testing.assert_allclose(found.recording.time_s - found.recording.time_s[0], valve()["time_s"], atol=2e-3)
    if found.recording.position_pct is not None:
        np.testing.assert_allclose(found.recording.position_pct, valve()["position_deg"] / 0.9, atol=0.06)
    if found.recording.has_command:
        np.testing.assert_allclose(found.recording.command_pct, (valve()["command_mA"] - 4) / 0.16, atol=0.01)
    for name in ("closed", "open"):
        switch = getattr(found.recording, f"{name}_switch")
        assert switch is None or switch.tolist() == valve()[name].tolist()
    assert not [each for each in found.problems if each.status == "open"], found.problems
    assert any(made.tells in each for each in told(found)) or not made.tells
    assert found.source.read_by is not None


POSITION = 'position = { heading = "P", unit = "%" }'
BOTH = f'command = {{ heading = "C", unit = "mA" }}, {POSITION}'


def rows(count: int = 12, cell: str = "50.0") -> list[str]:
    return [f"{0.1 * place:.1f};12.0;{cell}" for place in range(count)]


def csv(*lines: str, head: str = "t;C;P") -> str:
    return "\n".join([head, *lines])


def accounted(found: RecordingReading) -> tuple[int, int]:
    """Rows read and set aside."""
    assert found.count.read == found.count.used + found.count.set_aside
    return found.count.read, found.count.set_aside


def test_a_cell_that_is_no_number_costs_its_row_and_no_other() -> None:
    lines = rows()
    lines[5] = lines[5].replace("12.0", "OVR")
    found = read(csv(*lines), plain(BOTH))
    assert accounted(found) == (12, 1)
    problem = found.problems[0]
    assert (problem.row, problem.column, problem.value, problem.status) == (7, "command_mA", "OVR", "open")


def test_a_blank_cell_is_a_lost_sample() -> None:
    lines = rows()
    lines[5] = lines[5].replace("50.0", "")
    found = read(csv(*lines), plain(BOTH))
    assert accounted(found) == (12, 0)
    assert found.recording is not None
    assert np.isnan(found.recording.travel_pct).tolist().index(True) == 5


def test_cells_may_hold_their_unit() -> None:
    found = read(csv(*(row.replace("12.0", "12.0 mA").replace("50.0", "50 %") for row in rows())), plain(BOTH))
    assert found.recording is not None
    assert set(found.recording.command_pct.tolist()) == {50.0}
    assert set(found.recording.travel_pct.tolist()) == {50.0}


def test_a_last_row_that_was_cut_off_is_told_and_not_used() -> None:
    found = read(csv(*rows(), "1.2;12.0"), plain(BOTH))
    assert accounted(found) == (13, 1)
    assert [(each.row, each.status) for each in found.problems] == [(14, "flag")]


def test_a_row_that_ends_early_in_the_middle_is_open() -> None:
    found = read(csv(*rows(6), "0.6;1", *(row.replace("0.", "1.", 1) for row in rows(6))), plain(BOTH))
    assert accounted(found) == (13, 1)
    assert found.problems[0].status == "open"


def test_a_row_that_ends_within_the_last_column_that_is_read_is_open() -> None:
    longer = [f"{row};M" for row in rows()]
    longer[6] = "0.6;12.0;5"
    found = read(csv(*longer, head="t;C;P;note"), plain(BOTH))
    assert accounted(found) == (12, 1)
    assert found.problems[0].status == "open"


def test_a_row_with_more_cells_than_columns_is_open() -> None:
    found = read(csv(*rows(6), "0.6;12.0;50.0;7"), plain(BOTH))
    assert accounted(found) == (7, 1)
    assert "More cells than columns" in found.problems[0].problem


def test_lines_below_the_last_sample_without_a_time_need_no_answer() -> None:
    found = read(csv(*rows(), "Mean;12.0;50.0", "End of the log"), plain(BOTH))
    assert accounted(found) == (14, 2)
    assert {each.status for each in found.problems} == {"flag"}


def test_a_line_below_the_last_sample_with_a_time_that_cannot_be_read_is_open() -> None:
    found = read(csv(*rows(), "1.2x;12.0;50.0"), plain(BOTH))
    assert [each.status for each in found.problems] == ["open"]
    assert "no time written as s" in found.problems[0].problem


def test_units_below_the_headings_are_no_samples() -> None:
    found = read(csv("s;mA;%", *rows()), plain(BOTH))
    assert accounted(found) == (12, 0)
    assert found.problems == ()


def test_samples_above_the_headings_are_open() -> None:
    found = read("\n".join([*rows(3), "t;C;P", *rows()]), plain(BOTH))
    assert any("3 rows above the headings look like samples" in each for each in told(found))
    assert any(each.status == "open" for each in found.problems)


def test_the_table_may_say_where_the_samples_begin() -> None:
    found = read(csv(*rows()), plain(BOTH, first_row="5"))
    assert accounted(found) == (9, 0)
    assert told(found) == ["3 rows above row 5 look like samples: [[recordings]] 1 of unit.toml begins there."]


def test_a_first_sample_without_a_number_is_a_sample() -> None:
    found = read(csv("0.0;OVR;OVR", *rows(13)[1:]), plain(BOTH))
    assert accounted(found) == (13, 1)


@pytest.mark.parametrize(
    ("head", "fault"),
    [
        ("t;C;Q", "its row 1 has no heading 'P'; it has t, C, Q"),
        ("t;C;P;P", "its row 1 has the heading 'P' 2 times: give the column's number in its place"),
        ("a;b;d", "none of its first 13 rows holds the heading 't'"),
    ],
)
def test_a_table_that_does_not_fit_its_file_says_why(head: str, fault: str) -> None:
    found = read(csv(*rows(), head=head), plain(BOTH), "1.as_left.txt")
    assert found.recording is None
    assert "[[recordings]] 1 of unit.toml is for it and does not fit" in found.source.why_not
    assert fault in found.source.why_not


def test_a_column_may_be_named_by_its_number() -> None:
    numbered = BOTH.replace('"C"', "2").replace('"P"', "3")
    found = read(csv(*rows(), head="t;X;X"), plain(numbered))
    assert found.recording is not None
    assert set(found.recording.command_pct.tolist()) == {50.0}


def test_the_first_table_whose_headings_a_file_has_reads_it() -> None:
    other = plain(BOTH.replace('"P"', '"Q"'))
    found = read(csv(*rows()), other + plain(BOTH))
    assert found.source.read_by is not None
    assert found.source.read_by.number == 2


def test_a_file_with_our_own_headings_is_read_as_it_is() -> None:
    found = read("time_s,command_mA,position_pct\n0,12,50\n0.1,12,50\n0.2,12,50\n", plain(BOTH))
    assert found.recording is not None
    assert found.source.read_by is None


def test_a_table_that_nobody_has_confirmed_is_open_and_reads() -> None:
    found = read(csv(*rows()), plain(BOTH).replace('confirmed_by = "A"\n', ""))
    assert found.recording is not None
    (problem,) = found.problems
    assert problem.status == "open"
    assert "nobody has confirmed" in problem.problem
    assert "C as command [mA]" in problem.problem


def test_scale_and_offset_bring_a_cell_to_its_unit() -> None:
    turned = 'position = { heading = "P", unit = "%", scale = -1, offset = 100 }'
    found = read(csv(*rows(cell="30.0")), plain(turned))
    assert found.recording is not None
    assert set(found.recording.travel_pct.tolist()) == {70.0}


@pytest.mark.parametrize(
    ("keys", "cells", "states"),
    [
        ('made = "zu", not_made = "auf"', ["zu", "ZU", "auf"], [1.0, 1.0, 0.0]),
        ("", ["1", "1.0", "0"], [1.0, 1.0, 0.0]),
        ('made = "0", not_made = "1"', ["0", "1", "TRUE"], [1.0, 0.0, 0.0]),
        ("made_above = 12", ["24.1", "11.9", ""], [1.0, 0.0, np.nan]),
        ("made_below = 1", ["0.2", "5", "4"], [1.0, 0.0, 0.0]),
    ],
)
def test_a_switch_is_made_as_the_table_says(keys: str, cells: list[str], states: list[float]) -> None:
    places = [50.0 if state == 0.0 else 0.0 for state in states]
    lines = (f"{second};{at};{cell}" for second, (at, cell) in enumerate(zip(places, cells, strict=True)))
    text = csv(*lines, head="t;P;S")
    switch = f'closed_switch = {{ heading = "S"{", " if keys else ""}{keys} }}'
    found = read(text, plain(f"{POSITION}, {switch}"))
    assert found.recording is not None
    assert found.recording.closed_switch is not None
    np.testing.assert_array_equal(found.recording.closed_switch, states)


def test_a_state_that_the_table_does_not_name_costs_its_row() -> None:
    text = csv("0;50;ON", "1;50;??", "2;50;OFF", "3;50;OFF", head="t;P;S")
    switch = 'open_switch = { heading = "S", made = "ON", not_made = "OFF" }'
    found = read(text, plain(f"{POSITION}, {switch}"))
    assert accounted(found) == (4, 1)
    assert "neither ON nor OFF" in found.problems[0].problem


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "cp1252"])
@pytest.mark.parametrize("delimiter", [";", "\t", "|", "  "])
def test_every_encoding_and_delimiter_gives_the_same(encoding: str, delimiter: str) -> None:
    text = csv(*rows(), head="t;C;P °").replace(".", ",").replace(";", delimiter)
    channels = BOTH.replace('"P"', '"P °"' if delimiter != "  " else "3")
    found = read(text.encode(encoding), plain(channels), "1.as_left.dat")
    assert found.recording is not None, found.problems
    assert accounted(found) == (12, 0)
    assert set(found.recording.travel_pct.tolist()) == {50.0}


@given(
    junk=st.lists(st.tuples(st.integers(0, 12), st.text(alphabet="0123456789.,;-xt CP\"'", max_size=12)), max_size=4)
)
@settings(max_examples=100, deadline=None)
def test_whatever_stands_between_the_samples_every_row_is_used_or_set_aside(junk: list[tuple[int, str]]) -> None:
    given_rows = rows()
    for place, text in junk:
        given_rows.insert(place, text)
    found = read(csv(*given_rows), plain(BOTH))
    if found.source.read_by is not None:
        read_rows, aside = accounted(found)
        filled = sum(any(cell.strip() for cell in text.split(";")) for text in given_rows)
        assert read_rows <= filled
        assert aside <= len(junk) + 1 or any(each.status == "open" for each in found.problems)


def test_a_recording_read_so_survives_its_slice(read_files: ReadFiles) -> None:
    made = LOGGERS["titled"]
    unit = read_files({"unit.toml": UNIT_TOML + table_of(made), f"logs/FV-101/{made.name}": made.make()})
    records = tag_records(unit, "FV-101")
    assert records.settings.recordings == ()
    again = from_slice(to_slice(records))
    assert again.recordings[0].read_by == records.recordings[0].read_by
    assert again.recordings[0].read_by is not None
    assert settings_from(asdict(unit.settings)) == unit.settings


def test_another_answer_in_the_table_is_another_report_of_its_tags_alone(make_unit: MakeUnit) -> None:
    made = LOGGERS["titled"]
    marks = []
    for table in (table_of(made), table_of(made).replace('"Stellung", unit', '"Stellung", scale = 1.1, unit')):
        files = {"unit.toml": UNIT_TOML + table, f"logs/FV-101/{made.name}": made.make()}
        unit = read_unit(make_unit(files))
        marks.append([tag_mark(unit, tag) for tag in ("FV-101", "FV-102")])
    assert marks[0][0] != marks[1][0]
    assert marks[0][1] == marks[1][1]


def test_a_table_that_is_for_no_file_is_told(read_files: ReadFiles) -> None:
    made = LOGGERS["titled"]
    unit = read_files({"unit.toml": UNIT_TOML + table_of(made, files="logs/FV-9*/*.txt")})
    assert "[[recordings]] 1 of unit.toml is for no file under logs/: logs/FV-9*/*.txt." in [
        each.problem for each in unit.problems if each.file == "unit.toml"
    ]


def test_an_hour_back_asks_for_the_zone_of_the_clock_which_settles_it() -> None:
    """The clocks of this zone go back from 03:00 to 02:00 on 2026-10-25."""
    seconds = [f"25.10.2026 02:59:{second};12.0;50.0" for second in range(50, 60)]
    later = [f"25.10.2026 02:00:{second:02d};12.0;50.0" for second in range(10)]
    written = 'heading = "t", format = "DD.MM.YYYY HH:MM:SS"'
    local, zoned = (
        read(csv(*seconds, *later), plain(BOTH, time=f"{{ {written}{zone} }}"))
        for zone in ("", ', zone = "Europe/Berlin"')
    )
    assert accounted(local) == (20, 10)
    assert any("give the zone of the clock" in each for each in told(local))
    assert accounted(zoned) == (20, 0)
    assert zoned.problems == ()


def test_a_table_of_numbers_alone_reads_no_file_with_our_own_headings() -> None:
    """The columns of another order: by their numbers the feedback would be the position."""
    numbered = plain(BOTH.replace('"C"', "2").replace('"P"', "3"), first_row="2").replace('"t"', "1")
    text = "time_s,command_mA,feedback_pct,position_pct\n0,12,50,40\n1,12,50,40\n2,12,50,40\n"
    found = read(text, numbered)
    assert found.source.read_by is None
    assert found.recording is not None
    assert set(found.recording.travel_pct.tolist()) == {40.0}
