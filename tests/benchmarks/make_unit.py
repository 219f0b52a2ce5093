"""Lay down an invented unit of any size, the same bytes every time.

    python -m tests.benchmarks.make_unit FOLDER --tags 10000 --logs 500

Every tag has one visit: 33 readings, two strokes, a loss of signal, two switches; the first so many have a
log of 6,000 rows (10 a second). One tag in twenty bows too far, one in thirty has too much backlash, one in
fifty no records at all.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterable, Iterator
from pathlib import Path

import numpy as np

TAGS_A_FILE = 500
LOG_ROWS = 6000
_SOURCE = "Invented limit of a benchmark"
_UNIT_TOML = f"""\
title = "Invented unit of a benchmark"
site = "Invented site (no real plant)"
document = "B-{{tag}}"
notice = "Invented: plant, people, instruments and readings do not exist."
tests = ["readings", "strokes", "fail_tests:signal_open", "switches"]

[limits.modulating]
inaccuracy = {{ plus_minus = 1.5, source = "{_SOURCE}" }}
independent_linearity = {{ max = 1.0, source = "{_SOURCE}" }}
hysteretic_error = {{ max = 1.0, source = "{_SOURCE}" }}
repeatability = {{ max = 0.5, source = "{_SOURCE}" }}
feedback_inaccuracy = {{ plus_minus = 1.0, source = "{_SOURCE}" }}
stroke_time_open = {{ of_nominal_pct = 10, source = "{_SOURCE}" }}
stroke_time_close = {{ of_nominal_pct = 10, source = "{_SOURCE}" }}
fail_position = {{ plus_minus = 2.0, source = "{_SOURCE}" }}
closed_switch_lead = {{ min = 1.0, source = "{_SOURCE}" }}
open_switch_lead = {{ min = 1.0, source = "{_SOURCE}" }}
"""
_INSTRUMENTS = """\
instrument,description,measures,range_low,range_high,accuracy_pct_reading,accuracy_fixed,resolution,certificate,\
calibrated_on,due_on
LC-1,Loop calibrator,mA,0,24,0.01,0.005,0.001,C-1,2026-01-05,2027-01-05
IN-1,Angle sensor,deg,-10,370,,0.1,0.1,C-2,2026-01-05,2027-01-05
SW-1,Stopwatch,s,0,600,,0.1,0.1,C-3,2026-01-05,2027-01-05
"""
_REGISTER = (
    "tag,service,motion,travel,travel_unit,duty,command_range,feedback_range,fail_action,"
    "stroke_time_open_s,stroke_time_close_s"
)
_HEADS = {
    "visits": "tag,visit,date,technician,command_instrument,position_instrument,feedback_instrument,time_instrument",
    "readings": "tag,visit,stage,cycle,direction,command_mA,position_deg,feedback_mA",
    "strokes": "tag,visit,stage,direction,time_s",
    "fail_tests": "tag,visit,stage,cause,position_before_pct,position_after_pct,time_s,alarm",
    "switches": "tag,visit,stage,switch,makes_at_pct,breaks_at_pct,stop_at_pct",
}


def make_unit(folder: Path, tags: int, logs: int, log_rows: int = LOG_ROWS) -> None:
    """Write the unit into ``folder``: register, instruments, records in files of 500 tags, logs."""
    names = [f"FV-{number:05d}" for number in range(1, tags + 1)]
    register = (
        f"{tag},Invented duty {number % 97},rotary,90,deg,modulating,4-20 mA,4-20 mA,closed,30,30"
        for number, tag in enumerate(names)
    )
    _write(folder / "unit.toml", [_UNIT_TOML.rstrip("\n")])
    _write(folder / "instruments.csv", [_INSTRUMENTS.rstrip("\n")])
    _write(folder / "tags.csv", [_REGISTER, *register])
    for first in range(0, tags, TAGS_A_FILE):
        rows: dict[str, list[str]] = {table: [] for table in _HEADS}
        for number, tag in enumerate(names[first : first + TAGS_A_FILE], first):
            if number % 50 != 49:
                _add_tag(rows, tag, number)
        for table, lines in rows.items():
            _write(
                folder / "records" / f"area-{first // TAGS_A_FILE + 1:03d}" / f"{table}.csv", [_HEADS[table], *lines]
            )
    for number, tag in enumerate(names[:logs]):
        _write(folder / "logs" / tag / "1.as_left.csv", log_lines(number, log_rows))


def _add_tag(rows: dict[str, list[str]], tag: str, number: int) -> None:
    """One tag's rows; every figure follows from its number."""
    noise = np.random.default_rng(number)
    bow_pct, backlash_pct = (2.5 if number % 20 == 7 else 0.3), (1.6 if number % 30 == 11 else 0.2)
    rows["visits"].append(f"{tag},1,2026-03-{2 + number % 27:02d},Technician {number % 4 + 1},LC-1,IN-1,LC-1,SW-1")
    step = np.concatenate((np.arange(9), np.arange(7, -1, -1)))
    percent = 12.5 * np.concatenate((step, step[1:]))
    up = np.concatenate((np.arange(17) < 9, np.arange(1, 17) < 9))
    cycle = np.where(np.arange(33) < 17, 1, 2)
    travel_pct = percent + bow_pct * np.sin(np.pi * percent / 100) + np.where(up, -0.5, 0.5) * backlash_pct
    position_deg = 0.9 * travel_pct + noise.normal(0, 0.03, 33)
    command_ma, feedback_ma = 4 + 0.16 * percent, 4 + 0.16 * travel_pct + noise.normal(0, 0.004, 33)
    for each in zip(cycle, up, command_ma, position_deg, feedback_ma, strict=True):
        rows["readings"].append(
            f"{tag},1,as_left,{each[0]},{'up' if each[1] else 'down'},{each[2]:.3f},{each[3]:.1f},{each[4]:.3f}"
        )
    opening_s, closing_s = 30 + noise.normal(0, 0.8, 2)
    rows["strokes"] += [f"{tag},1,as_left,open,{opening_s:.1f}", f"{tag},1,as_left,close,{closing_s:.1f}"]
    rows["fail_tests"].append(f"{tag},1,as_left,signal_open,50.0,{noise.uniform(0, 0.6):.1f},15.2,yes")
    rows["switches"] += [f"{tag},1,as_left,closed,2.0,2.6,-0.4", f"{tag},1,as_left,open,98.0,97.4,100.4"]


def log_lines(number: int, rows: int) -> Iterator[str]:
    """A staircase of the command and a feedback that follows at constant speed."""
    noise = np.random.default_rng(number)
    time_s = np.arange(rows) / 10
    stairs = np.array([0, 25, 50, 75, 100, 75, 50, 25, 0, 100, 0, 50])
    command_pct = stairs[np.arange(rows) * len(stairs) // rows].astype(float)
    position_pct = np.empty(rows)
    now_pct = 0.0
    for index, wanted_pct in enumerate(command_pct):
        now_pct += float(np.clip(wanted_pct - now_pct, -1 / 3, 1 / 3))
        position_pct[index] = now_pct
    feedback_ma = 4 + 0.16 * position_pct + noise.normal(0, 0.004, rows)
    yield "time_s,command_mA,feedback_mA"
    for each in zip(time_s, 4 + 0.16 * command_pct, feedback_ma, strict=True):
        yield f"{each[0]:.1f},{each[1]:.3f},{each[2]:.3f}"


def _write(path: Path, lines: Iterable[str]) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    with path.open("w", encoding="utf-8", newline="\n") as file:
        file.writelines(f"{line}\n" for line in lines)


def main() -> None:
    """Take the folder and the size from the command line."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder", type=Path, help="becomes the unit's folder")
    parser.add_argument("--tags", type=int, default=10_000, help="tags (default 10,000)")
    parser.add_argument("--logs", type=int, default=500, help="how many of them have a log (default 500)")
    chosen = parser.parse_args()
    make_unit(chosen.folder, chosen.tags, chosen.logs)
    print(f"{chosen.folder}: {chosen.tags} tags, {chosen.logs} with a log. Next: strokebook batch {chosen.folder}")


if __name__ == "__main__":
    main()
