"""Eight loggers' files in one unit: check proposes, a person copies and confirms, a batch reports."""

from __future__ import annotations

import html
import json
import re
import subprocess
from pathlib import Path

import pytest

from tests.records.recordings.loggers import LOGGERS
from tests.test_cli import strokebook

UNIT_TOML = """\
title = "Invented unit of loggers"
[limits.modulating]
inaccuracy = { plus_minus = 3, source = "Invented" }
"""
HEAD = "tag,motion,travel,travel_unit,duty,command_range,feedback_range,fail_action"
INSTRUMENTS = """\
instrument,measures,range_low,range_high,accuracy_fixed,resolution,certificate,calibrated_on,due_on
C,mA,0,24,0.005,0.001,C-1,2026-01-01,2027-01-01
P,deg,0,100,0.05,0.01,C-2,2026-01-01,2027-01-01
"""
TAGS = [f"FV-{number}" for number in range(1, len(LOGGERS) + 1)]
BOTH = ("titled", "whole seconds", "counts", "workbook", "columnar", "past midnight")  # with command and position


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    unit = tmp_path / "inputs" / "loggers"
    files: dict[str, bytes] = {
        "unit.toml": UNIT_TOML.encode(),
        "tags.csv": "\n".join(
            [HEAD, *(f"{tag},rotary,90,deg,modulating,4-20 mA,4-20 mA,hold" for tag in TAGS)]
        ).encode(),
        "instruments.csv": INSTRUMENTS.encode(),
        "records/visits.csv": "\n".join(
            [
                "tag,visit,date,technician,command_instrument,position_instrument",
                *(f"{tag},1,2026-03-17,Technician 1,C,P" for tag in TAGS),
            ]
        ).encode(),
    }
    files |= {f"logs/{tag}/{made.name}": made.make() for tag, made in zip(TAGS, LOGGERS.values(), strict=True)}
    for name, data in files.items():
        path = unit / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)
    return tmp_path


def batch(folder: Path) -> dict[str, str]:
    """The verdicts of a batch, by the loggers' names."""
    done: subprocess.CompletedProcess[str] = strokebook(folder, "batch", "--workers", "1")
    assert done.returncode == 0, done.stderr
    found = {}
    for tag, name in zip(TAGS, LOGGERS, strict=True):
        result = json.loads((folder / "outputs/loggers/tags" / tag / "result.json").read_text(encoding="utf-8"))
        found[name] = result["verdict"]
    return found


def page(folder: Path, tag: str) -> str:
    text = (folder / "outputs/loggers/tags" / tag / "report.html").read_text(encoding="utf-8")
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", " ", text)))


@pytest.mark.long
def test_what_check_proposes_is_reported_once_it_is_copied_and_passes_once_it_is_confirmed(folder: Path) -> None:
    unit_toml = folder / "inputs/loggers/unit.toml"
    checked = strokebook(folder, "check")
    proposed = checked.stdout[checked.stdout.index("\n# logs/") :]
    assert proposed.count("\n[[recordings]]\n") == len(LOGGERS)
    assert set(batch(folder).values()) == {"incomplete"}
    unit_toml.write_text(UNIT_TOML + proposed, encoding="utf-8")
    assert set(batch(folder).values()) == {"incomplete"}
    assert "Nobody has confirmed it." in page(folder, TAGS[0])
    confirmed = proposed.replace('# confirmed_by = ""', 'confirmed_by = "Engineer 1"')
    unit_toml.write_text(UNIT_TOML + confirmed, encoding="utf-8")
    verdicts = batch(folder)
    assert {name for name, verdict in verdicts.items() if verdict == "pass"} == set(BOTH)
    for tag in TAGS:
        told = page(folder, tag)
        assert "is read by [[recordings]]" in told
        assert "Confirmed by Engineer 1." in told
    assert "no column of the command" in page(folder, TAGS[list(LOGGERS).index("afternoon")])
