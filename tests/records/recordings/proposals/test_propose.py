"""What `strokebook check` proposes for a file it does not know: a table that reads it when copied as it stands."""

from __future__ import annotations

import tomllib
from pathlib import Path

import numpy as np
import pytest

from kit.basis.records import UnitRecords
from kit.records import read_unit
from kit.records.recordings.proposals.propose import propose_tables
from tests.records.conftest import UNIT_TOML, MakeUnit
from tests.records.recordings.loggers import LOGGERS, ROWS, LoggerFile, valve

VISITS = "tag,visit,date\nFV-101,1,2026-03-17\nFV-102,1,2026-03-17\n"


def copied(make_unit: MakeUnit, files: dict[str, str | bytes], confirmed: bool = False) -> tuple[str, UnitRecords]:
    """The proposal for a unit's files, and the unit with the proposal in its unit.toml."""
    usual = {"records/visits.csv": VISITS, **files}
    folder = make_unit(usual)
    lines = propose_tables(read_unit(folder), folder)
    text = "\n".join(lines)
    if confirmed:
        text = text.replace('# confirmed_by = ""', 'confirmed_by = "A. Engineer"')
    make_unit({**usual, "unit.toml": f"{UNIT_TOML}\n{text}\n"})
    return text, read_unit(folder)


def of_logs(unit: UnitRecords) -> list[str]:
    return [each.problem for each in unit.problems if each.table == "logs" and each.status == "open"]


@pytest.mark.parametrize("made", LOGGERS.values(), ids=LOGGERS)
def test_a_proposal_copied_as_it_stands_reads_its_file_and_is_open(make_unit: MakeUnit, made: LoggerFile) -> None:
    name = f"logs/FV-101/{made.name}"
    text, unit = copied(make_unit, {name: made.make()})
    found = unit.samples[name]
    assert len(found) == ROWS
    np.testing.assert_allclose(found.time_s - found.time_s[0], valve()["time_s"], atol=2e-3)
    assert tomllib.loads(text)["recordings"][0]["channels"].keys() == _channels(made), text
    (problem,) = of_logs(unit)
    assert "nobody has confirmed" in problem


@pytest.mark.parametrize("made", LOGGERS.values(), ids=LOGGERS)
def test_a_confirmed_proposal_gives_the_valve_and_leaves_nothing_open(make_unit: MakeUnit, made: LoggerFile) -> None:
    name = f"logs/FV-101/{made.name}"
    _, unit = copied(make_unit, {name: made.make()}, confirmed=True)
    found = unit.samples[name]
    if found.position_pct is not None:
        np.testing.assert_allclose(found.position_pct, valve()["position_deg"] / 0.9, atol=0.06)
    if found.has_command:
        np.testing.assert_allclose(found.command_pct, (valve()["command_mA"] - 4) / 0.16, atol=0.01)
    assert of_logs(unit) == []


def _channels(made: LoggerFile) -> set[str]:
    return set(tomllib.loads(made.table)["channels"])


def test_nothing_is_proposed_for_what_is_read_or_holds_no_table(make_unit: MakeUnit) -> None:
    ours = "time_s,command_mA,position_deg\n0,4,0\n1,4,0\n2,4,0\n"
    prose = "The valve was stroked.\nIt moved.\n" * 20
    folder = make_unit({"logs/FV-101/1.as_left.csv": ours, "logs/FV-101/notes.txt": prose})
    assert propose_tables(read_unit(folder), folder) == []


def test_files_of_one_layout_make_one_table(make_unit: MakeUnit) -> None:
    made = LOGGERS["titled"]
    files = {f"logs/FV-10{tag}/1.{stage}.txt": made.make() for tag in (1, 2) for stage in ("as_found", "as_left")}
    folder = make_unit({"records/visits.csv": VISITS, **files})
    text = "\n".join(propose_tables(read_unit(folder), folder))
    assert text.count("[[recordings]]") == 1
    assert "and 3 more like it" in text
    assert 'files = "logs/*/*.txt"' in text


def test_a_name_that_says_no_visit_is_proposed_with_one(make_unit: MakeUnit) -> None:
    text, unit = copied(make_unit, {"logs/FV-101/LOG0001.TXT": LOGGERS["titled"].make()})
    assert 'files = "logs/FV-101/LOG0001.TXT"' in text
    (log,) = unit.recordings
    assert (log.visit, log.stage, log.name) == ("1", "as_left", "LOG0001")


def day(text: str) -> str:
    rows = (f"{text} 10:00:{second:02d};4,0;0,0" for second in range(30))
    return "\n".join(["When;Soll [mA];Stellung [°]", *rows])


@pytest.mark.parametrize(
    ("date", "visit", "wanted", "other"),
    [
        ("17/03/2026", "2026-03-17", "DD/MM/YYYY", ""),
        ("03/17/2026", "2026-03-17", "MM/DD/YYYY", ""),
        ("03/04/2026", "2026-04-03", "DD/MM/YYYY", ""),
        ("03/04/2026", "2026-03-04", "MM/DD/YYYY", ""),
        ("03/04/2026", "2026-05-05", "DD/MM/YYYY", "MM/DD/YYYY"),
    ],
)
def test_day_or_month_first_is_told_by_the_contents_or_both_are_offered(
    make_unit: MakeUnit, date: str, visit: str, wanted: str, other: str
) -> None:
    visits = f"tag,visit,date\nFV-101,1,{visit}\n"
    folder = make_unit({"records/visits.csv": visits, "logs/FV-101/1.as_left.txt": day(date)})
    text = "\n".join(propose_tables(read_unit(folder), folder))
    assert f'format = "{wanted} HH:MM:SS"' in text
    assert (f'or format = "{other} HH:MM:SS"' in text) == bool(other)


def test_what_cannot_be_told_is_listed_and_no_table_is_proposed(make_unit: MakeUnit, tmp_path: Path) -> None:
    rows = [f"{0.1 * place:.1f};{place % 7};{place % 5}" for place in range(60)]
    folder = make_unit({"logs/FV-101/1.as_left.txt": "\n".join(["t;X1;X2", *rows])})
    text = "\n".join(propose_tables(read_unit(folder), folder))
    assert "[[recordings]]" not in text
    assert "no column can be told to be position or feedback" in text
    assert "2: X1" in text


def test_two_signals_that_cannot_be_told_apart_are_comments(make_unit: MakeUnit) -> None:
    made = valve()
    rows = [
        f"{made['time_s'][place]:.1f};{made['position_deg'][place]};{made['feedback_mA'][place]};{place % 11}"
        for place in range(ROWS)
    ]
    text, unit = copied(make_unit, {"logs/FV-101/1.as_left.txt": "\n".join(["t [s];Pos [°];AI 7;AI 8", *rows])})
    (log,) = unit.recordings
    assert not unit.samples[log.file].has_command
    assert "# No column can be told to be the command" in text
    assert "AI 8" in text


@pytest.mark.parametrize(
    ("first", "wanted"), [("10:00:00", "HH:MM:SS"), ("10:00.0", "MM:SS.f"), ("10:00", "MM:SS"), ("3.5", "s")]
)
def test_a_time_without_a_date_is_of_day_or_elapsed(make_unit: MakeUnit, first: str, wanted: str) -> None:
    stamps = {
        "10:00:00": [f"10:00:{second:02d}" for second in range(30)],
        "10:00.0": [f"10:{second:02d}.0" for second in range(30)],
        "10:00": [f"10:{second:02d}" for second in range(30)],
        "3.5": [f"{3.5 + second / 10:.1f}" for second in range(30)],
    }
    rows = [f"{stamp};4.0;0.0" for stamp in stamps[first]]
    text, unit = copied(make_unit, {"logs/FV-101/1.as_left.txt": "\n".join(["Time;Cmd [mA];Angle [deg]", *rows])})
    assert f'format = "{wanted}"' in text
    assert len(unit.samples["logs/FV-101/1.as_left.txt"]) == 30


@pytest.mark.parametrize(
    ("heading", "channel"),
    [
        ("Position feedback [mA]", "feedback"),
        ("Actual position [deg]", "position"),
        ("Valve opening [%]", "position"),
        ("Istwert mA", "feedback"),
        ("Stellungsrückmeldung [mA]", "feedback"),
    ],
)
def test_a_travel_is_told_by_its_words_and_its_unit(make_unit: MakeUnit, heading: str, channel: str) -> None:
    made = valve()
    travel = made["feedback_mA"] if "mA" in heading else made["position_deg"] / (0.9 if "%" in heading else 1.0)
    rows = [f"{made['time_s'][place]:.1f};{made['command_mA'][place]};{travel[place]:.3f}" for place in range(400)]
    text, _ = copied(make_unit, {"logs/FV-101/1.as_left.txt": "\n".join([f"s;Setpoint [mA];{heading}", *rows])})
    assert set(tomllib.loads(text)["recordings"][0]["channels"]) == {"command", channel}
