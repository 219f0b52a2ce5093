"""Each kind of rule of a sheet says OUT where the calculation's own verdict is fail, on both sides of every limit."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
from pathlib import Path

import openpyxl
import pytest

from kit.assessment.tag import assess_tag
from kit.records import tag_records
from tests.sheets.fill import column_of, fill_in, head_row
from tests.sheets.test_read_back import sheet_of, with_file

SOFFICE = shutil.which("soffice")
pytestmark = [
    pytest.mark.office,
    pytest.mark.skipif(SOFFICE is None and os.environ.get("CI") != "true", reason="no LibreOffice"),
]
_SOURCE = 'source = "Invented list"'
LIMITS = {
    "inaccuracy": "plus_minus = 1.5",
    "feedback_inaccuracy": "plus_minus = 1.0",
    "stroke_time_open": "of_nominal_pct = 10",
    "stroke_time_close": "of_nominal_pct = 10",
    "fail_position": "plus_minus = 2.0",
    "fail_time": "max = 30",
    "restored_position": "plus_minus = 2.0",
    "closed_switch_lead": "min = 1.0",
    "open_switch_lead": "min = 1.0",
    "closed_switch_position": "plus_minus = 3.0",
    "open_switch_position": "plus_minus = 3.0",
    "potentiometer_low_margin": "min = 5.0",
    "potentiometer_high_margin": "min = 5.0",
    "supply_deviation": "plus_minus = 10",
    "loop_margin": "min = 1.0",
    "insulation_resistance": "min = 1.0",
    "earth_resistance": "max = 1.0",
    "loop_command_error": "plus_minus = 2.0",
    "loop_feedback_error": "plus_minus = 1.0",
    "prechecks": "max = 0",
}
BARE = {"supply_dip": "max = 5.0", "inaccuracy": "plus_minus = 1.5"}  # no limit on a loss, none on prechecks
TESTS = ("readings", "strokes", "fail_tests:signal_open", "fail_tests:supply_off", "switches", "potentiometer")
TAGS = """\
tag,motion,travel,travel_unit,duty,command_range,feedback_range,fail_action,fail_action_supply,stroke_time_open_s,\
stroke_time_close_s,limits
FV-1,rotary,90,deg,modulating,4-20 mA,4-20 mA,closed,hold,20,20,modulating
FV-2,rotary,90,deg,modulating,4-20 mA,4-20 mA,closed,hold,20,20,bare
"""
# Of each check: table, printed row (0 is the first), name and unit in the text of the rule.
WHERE = {
    ("inaccuracy", ""): ("readings", 2, "", "%"),
    ("feedback_inaccuracy", ""): ("readings", 2, "feedback", "%"),
    ("stroke_time_open", ""): ("strokes", 0, "", "s"),
    ("stroke_time_close", ""): ("strokes", 2, "", "s"),
    ("fail_position", "signal_open"): ("fail_tests", 0, "", "%"),
    ("fail_time", "signal_open"): ("fail_tests", 0, "", "s"),
    ("restored_position", "signal_open"): ("fail_tests", 0, "restored", "%"),
    ("fail_position", "supply_off"): ("fail_tests", 2, "", "%"),
    ("closed_switch_lead", ""): ("switches", 0, "lead", "%"),
    ("closed_switch_position", ""): ("switches", 0, "makes at", "%"),
    ("open_switch_lead", ""): ("switches", 2, "lead", "%"),
    ("open_switch_position", ""): ("switches", 2, "makes at", "%"),
    ("potentiometer_low_margin", ""): ("potentiometer", 0, "", "%"),
    ("potentiometer_high_margin", ""): ("potentiometer", 10, "", "%"),
    ("supply_deviation", ""): ("electrical", 0, "deviation", "%"),
    ("supply_dip", ""): ("electrical", 0, "dip", "%"),
    ("loop_margin", ""): ("electrical", 0, "margin", "V"),
    ("insulation_resistance", ""): ("electrical", 0, "insulation", "MOhm"),
    ("earth_resistance", ""): ("electrical", 0, "earth", "Ohm"),
    ("loop_command_error", ""): ("loop_checks", 2, "", "%"),
    ("loop_feedback_error", ""): ("loop_checks", 2, "feedback", "%"),
    ("prechecks", ""): ("prechecks", 0, "not in order", ""),
}
_PART = re.compile(r"(OUT: )?(?:([a-z][a-z ]*) )?-?[\d.]+ (MOhm|Ohm|%|s|V)")


def cells(deg, feedback, stroke, rest, held, restored, time, shut, opened, ohm, volts, loop, answer):
    """The rows of one sheet: each value where ``WHERE`` says that its rule is."""
    position, display = loop
    supply, device_min, insulation, earth = volts
    return {
        "visits": [{"date": "2026-03-02", "technician": "Technician 1"}],
        "readings": [{}, {}, {"command_mA": 12.0, "position_deg": deg, "feedback_mA": feedback}],
        "strokes": [{"time_s": stroke}, {}, {"time_s": stroke}],
        "fail_tests": [
            {
                "position_before_pct": 99.0,
                "position_after_pct": rest,
                "time_s": time,
                "position_restored_pct": restored,
                "command_restored_pct": 50.0,
            },
            {},
            {"position_before_pct": 50.0, "position_after_pct": held},
        ],
        "switches": [
            {"makes_at_pct": shut, "stop_at_pct": 0.0},
            {},
            {"makes_at_pct": opened, "stop_at_pct": 100.0},
        ],
        "potentiometer": [
            {"position_pct": 0, "wiper_ohm": ohm[0], "track_ohm": 1000},
            *[{}] * 9,
            {"position_pct": 100, "wiper_ohm": ohm[1], "track_ohm": 1000},
        ],
        "electrical": [
            {
                "supply_nominal_v": 24.0,
                "supply_idle_v": supply,
                "supply_running_v": supply,
                "loop_supply_v": 24.0,
                "loop_ohm": 600.0,
                "device_min_v": device_min,
                "insulation_mohm": insulation,
                "earth_ohm": earth,
            }
        ],
        "loop_checks": [{}, {}, {"position_pct": position, "station_feedback_pct": display}],
        "prechecks": [{"result": answer}],
    }


def bare(rest, running, answer):
    return {
        "visits": [{"date": "2026-03-02", "technician": "Technician 1"}],
        "fail_tests": [{"position_before_pct": 99.0, "position_after_pct": rest}],
        "electrical": [{"supply_idle_v": 24.0, "supply_running_v": running, "supply_nominal_v": 24.0}],
        "prechecks": [{"result": answer}],
    }


_MARGINS = {("potentiometer_low_margin", ""), ("potentiometer_high_margin", "")}
_VOLTS = {("loop_margin", ""), ("insulation_resistance", ""), ("earth_resistance", "")}
_ALWAYS = (
    _MARGINS | _VOLTS | {("supply_deviation", ""), ("prechecks", ""), ("inaccuracy", ""), ("feedback_inaccuracy", "")}
)
_ALWAYS |= {
    ("stroke_time_open", ""),
    ("stroke_time_close", ""),
    ("loop_command_error", ""),
    ("loop_feedback_error", ""),
}
_ALWAYS |= {("fail_position", "signal_open"), ("fail_position", "supply_off"), ("restored_position", "signal_open")}
SHEETS = {  # by name: tag, rows, which checks lie beyond their limits
    "on the upper limits": (
        "FV-1",
        cells(
            46.35, 12.4, 22.0, 2.0, 52.0, 52.0, 30.0, 3.0, 97.0, (50, 950), (26.4, 11.0, 1.0, 1.0), (52.0, 53.0), "yes"
        ),
        set(),
    ),
    "above": (
        "FV-1",
        cells(
            46.36, 12.41, 22.1, 2.1, 52.1, 52.1, 30.1, 3.1, 96.9, (49, 951), (26.5, 11.1, 0.9, 1.1), (52.1, 53.2), "no"
        ),
        _ALWAYS | {("fail_time", "signal_open"), ("closed_switch_position", ""), ("open_switch_position", "")},
    ),
    "on the lower limits": (
        "FV-1",
        cells(
            43.65, 11.6, 18.0, -2.0, 48.0, 48.0, 5.0, 1.0, 99.0, (50, 950), (21.6, 11.0, 1.0, 1.0), (48.0, 47.0), "na"
        ),
        set(),
    ),
    "below": (
        "FV-1",
        cells(
            43.64, 11.59, 17.9, -2.1, 47.9, 47.9, 5.0, 0.9, 99.1, (49, 951), (21.5, 11.1, 0.9, 1.1), (47.9, 46.8), "no"
        ),
        _ALWAYS | {("closed_switch_lead", ""), ("open_switch_lead", "")},
    ),
    "without limits, within": ("FV-2", bare(10.0, 22.8, "yes"), set()),
    "without limits, beyond": (
        "FV-2",
        bare(10.1, 22.7, "no"),
        {("fail_position", "signal_open"), ("supply_dip", ""), ("prechecks", "")},
    ),
}


@pytest.fixture(scope="module")
def unit(tmp_path_factory):
    """The unit's folder, without a record and without an instrument: a fail is one whatever the uncertainty."""
    folder = tmp_path_factory.mktemp("rules") / "inputs" / "small"
    (folder / "records").mkdir(parents=True)
    tests = ", ".join(f'"{test}"' for test in (*TESTS, "electrical", "loop_checks", "prechecks"))
    lines = [f'decision_rule = "simple"\ntests = [{tests}]\nprechecks = ["Coupling tight"]']
    for name, limits in (("modulating", LIMITS), ("bare", BARE)):
        lines += [f"[limits.{name}]", *(f"{check} = {{ {limit}, {_SOURCE} }}" for check, limit in limits.items())]
    (folder / "unit.toml").write_text("\n".join(lines), encoding="utf-8")
    (folder / "tags.csv").write_text(TAGS, encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def saved(unit, tmp_path_factory):
    """The sheets as LibreOffice saved them, their rules worked out."""
    place = tmp_path_factory.mktemp("office")
    (place / "in").mkdir()
    for number, (tag, rows, _) in enumerate(SHEETS.values()):
        (place / "in" / f"{number}.xlsx").write_bytes(fill_in(sheet_of(unit, tag), rows))
    call = [str(SOFFICE), f"-env:UserInstallation={(place / 'profile').as_uri()}", "--headless", "--convert-to"]
    files = map(str, sorted((place / "in").iterdir()))
    subprocess.run(
        [*call, "xlsx:Calc MS Excel 2007 XML", "--outdir", str(place / "out"), *files], check=True, capture_output=True
    )
    return {name: place / "out" / f"{number}.xlsx" for number, name in enumerate(SHEETS)}


def out_on_the_sheet(path: Path) -> set[tuple[str, str]]:
    """The checks of which the sheet's own rules say OUT."""
    book = openpyxl.load_workbook(path, data_only=True)
    return {
        check for check, where in WHERE.items() if where[0] in book.sheetnames and _is_out(book[where[0]], *where[1:])
    }


def _is_out(sheet, row, name, unit):
    heading = "feedback now" if name == "feedback" else "now"
    if heading not in [cell.value for cell in sheet[head_row(sheet)]]:
        return False
    text = str(sheet.cell(head_row(sheet) + 1 + row, column_of(sheet, heading)).value or "")
    if not unit:
        return text == f"OUT: {name}"
    wanted = "" if name == "feedback" else name
    return any(found[1] and (found[2] or "") == wanted and found[3] == unit for found in _PART.finditer(text))


@pytest.mark.parametrize("name", SHEETS)
def test_a_rule_says_out_where_the_report_says_fail(saved, unit, tmp_path, name):
    tag, _, beyond = SHEETS[name]
    folder = tmp_path / "unit"
    shutil.copytree(unit, folder)
    found = assess_tag(tag_records(with_file(folder, saved[name].read_bytes()), tag)).deciding
    failed = {(each.check, each.detail) for each in found.checks if each.verdict == "fail"}
    assert (failed, out_on_the_sheet(saved[name])) == (beyond, beyond)
