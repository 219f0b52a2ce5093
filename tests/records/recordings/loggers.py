"""Files of eight loggers as one may find them, invented: the same valve in eight layouts, with the table of each."""

from __future__ import annotations

import io
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cache
from typing import Final

import numpy as np
import openpyxl
import pyarrow as pa
import pyarrow.parquet as pq

ROWS: Final = 1200
START: Final = datetime(2026, 3, 17, 9, 59, 30)  # a day that no month has


@cache
def valve() -> dict[str, np.ndarray]:
    """A valve that is stepped up and down over two minutes at 10 Hz, with noise."""
    generator = np.random.default_rng(5)
    time_s = 0.1 * np.arange(ROWS)
    levels = np.array([0.0, 25.0, 50.0, 75.0, 100.0, 75.0, 50.0, 25.0, 0.0, 100.0])
    command = levels[(time_s // 12.0).astype(int)]
    travel = np.empty(ROWS)
    at = 0.0
    for place, wanted in enumerate(np.concatenate((np.zeros(3), command[:-3]))):
        at += float(np.clip(wanted - at, -1.5, 1.5))
        travel[place] = at
    return {
        "time_s": time_s,
        "command_mA": np.round(4.0 + 0.16 * command + generator.normal(0.0, 0.002, ROWS), 3),
        "feedback_mA": np.round(4.0 + 0.16 * travel + generator.normal(0.0, 0.003, ROWS), 3),
        "position_deg": np.round(0.9 * travel + generator.normal(0.0, 0.02, ROWS), 2),
        "closed": (travel < 1.0).astype(int),
        "open": (travel > 99.0).astype(int),
        "supply": np.round(24.1 - 0.4 * (np.abs(np.gradient(travel)) > 0.1), 2),
    }


@dataclass(frozen=True)
class LoggerFile:
    """One file, and the table of unit.toml that reads it, without its first two keys."""

    name: str  # as it lies in the tag's folder
    make: Callable[[], bytes]
    table: str
    tells: str = ""  # what the page must tell of it beyond the table
    rows: int = ROWS
    offset_s: float = 0.0


def _stamps(written: str, digits: int = 0) -> list[str]:
    found = []
    for seconds in valve()["time_s"]:
        moment = START + timedelta(seconds=float(seconds))
        text = moment.strftime(written)
        found.append(text + (f"{moment.microsecond:06d}"[:digits] if digits else ""))
    return found


def _comma(values: np.ndarray, digits: int) -> list[str]:
    return [f"{value:.{digits}f}".replace(".", ",") for value in values]


def titled() -> bytes:
    """Title lines, units below the headings, semicolons, decimal commas, day first, cp1252."""
    made = valve()
    head = ["Invented recorder;;;;", "Plant;Invented north;;;", "", "Datum;Uhrzeit;Sollwert;Stellung;Prüfer"]
    head.append("TT.MM.JJJJ;hh:mm:ss;[mA];[°];")
    cells = zip(
        _stamps("%d.%m.%Y"),
        _stamps("%H:%M:%S,", 3),
        _comma(made["command_mA"], 3),
        _comma(made["position_deg"], 2),
        strict=True,
    )
    return "\r\n".join([*head, *(";".join((*row, "M")) for row in cells), ""]).encode("cp1252")


def tabbed() -> bytes:
    """UTF-16 with a mark, tabs, one column of milliseconds, states in words."""
    made = valve()
    lines = ["ms\tAI 1\tAI 2\tDI 1\tDI 2"]
    for place in range(ROWS):
        states = ("ON" if made[each][place] else "OFF" for each in ("closed", "open"))
        cells = (
            f"{round(1000 * made['time_s'][place]) + 120340}",
            made["command_mA"][place],
            made["feedback_mA"][place],
        )
        lines.append("\t".join([*map(str, cells), *states]))
    return "\r\n".join(lines).encode("utf-16")


def whole_seconds() -> bytes:
    """Stamps in whole seconds at 10 Hz, commas, a summary below."""
    made = valve()
    lines = ["time,cmd (mA),travel (deg),supply (V)"]
    for stamp, *cells in zip(
        _stamps("%Y-%m-%d %H:%M:%S"), made["command_mA"], made["position_deg"], made["supply"], strict=True
    ):
        lines.append(f"{stamp},{','.join(map(str, cells))}")
    return "\n".join([*lines, "Mean,12.01,45.0,24.0", "Maximum,20.0,90.0,24.1"]).encode()


def counts() -> bytes:
    """No headings at all: a sample's time in s, counts of a converter, a switch as a level."""
    made = valve()
    lines = []
    for place in range(ROWS):
        cells = (
            f"{made['time_s'][place]:.1f}",
            round(made["command_mA"][place] * 1000),
            round(made["position_deg"][place] * 10),
            f"{24 * made['closed'][place]}.0",
        )
        lines.append(" ".join(map(str, cells)))
    return "\n".join(lines).encode()


def afternoon() -> bytes:
    """Twelve hours, month first, headings once more in the middle, no command."""
    made = valve()
    head = "Stamp|Position %|Supply V"
    lines = [head]
    for place in range(ROWS):
        if place == ROWS // 2:
            lines.append(head)
        moment = START + timedelta(seconds=float(made["time_s"][place]))
        stamp = moment.strftime("%m/%d/%Y %I:%M:%S") + f".{moment.microsecond // 100000} {moment.strftime('%p')}"
        lines.append(f"{stamp}|{made['position_deg'][place] / 0.9:.3f}|{made['supply'][place]}")
    return "\n".join(lines).encode()


def workbook() -> bytes:
    """A sheet with a title, dates as a spreadsheet holds them, headings with their units."""
    made = valve()
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.append(["Invented export"])
    sheet.append([])
    sheet.append(["When", "Command / mA", "Position / deg"])
    for place in range(ROWS):
        moment = START + timedelta(seconds=float(made["time_s"][place]))
        sheet.append([moment, float(made["command_mA"][place]), float(made["position_deg"][place])])
    buffer = io.BytesIO()
    book.save(buffer)
    return buffer.getvalue()


def columnar() -> bytes:
    """Parquet with names of its own."""
    made = valve()
    buffer = io.BytesIO()
    table = {
        "t_min": made["time_s"] / 60.0,
        "setpoint": (made["command_mA"] - 4.0) / 16.0,
        "angle": made["position_deg"],
    }
    pq.write_table(pa.table(table), buffer)
    return buffer.getvalue()


def past_midnight() -> bytes:
    """Times of day alone that pass midnight, thousands parted, quoted cells."""
    made = valve()
    lines = ['"Zeit","Winkel [mdeg]","Soll [%]"']
    for place in range(ROWS):
        seconds = (23 * 3600 + 59 * 60 + 20 + float(made["time_s"][place])) % 86400
        clock = f"{int(seconds // 3600):02d}:{int(seconds // 60) % 60:02d}:{seconds % 60:04.1f}"
        angle = made["position_deg"][place] * 1000
        command = (made["command_mA"][place] - 4.0) / 0.16
        lines.append(f'"{clock}","{angle:,.1f}","{command:.2f}"')
    return "\n".join(lines).encode()


LOGGERS: Final = {
    "titled": LoggerFile(
        "1.as_left.txt",
        titled,
        'time = { heading = ["Datum", "Uhrzeit"], format = "DD.MM.YYYY HH:MM:SS,fff", zone = "+01:00" }\n'
        'channels = { command = { heading = "Sollwert", unit = "mA" }, '
        'position = { heading = "Stellung", unit = "deg" } }',
    ),
    "tabbed": LoggerFile(
        "1.as_left.dat",
        tabbed,
        'time = { heading = "ms", format = "ms" }\n'
        'channels = { command = { heading = "AI 1", unit = "mA" }, feedback = { heading = "AI 2", unit = "mA" }, '
        'closed_switch = { heading = "DI 1", made = "ON", not_made = "OFF" }, '
        'open_switch = { heading = "DI 2", made = "ON", not_made = "OFF" } }',
    ),
    "whole seconds": LoggerFile(
        "1.as_left.csv",
        whole_seconds,
        'time = { heading = "time", format = "YYYY-MM-DD HH:MM:SS" }\n'
        'channels = { command = { heading = "cmd (mA)", unit = "mA" }, '
        'position = { heading = "travel (deg)", unit = "deg" }, supply = { heading = "supply (V)", unit = "V" } }',
        tells="10 samples share each time",
        rows=ROWS + 2,
    ),
    "counts": LoggerFile(
        "1.as_left.prn",
        counts,
        "header_row = 0\n"
        "first_row = 1\n"
        'delimiter = "blanks"\n'
        'time = { heading = 1, format = "s" }\n'
        'channels = { command = { heading = 2, unit = "mA", scale = 0.001 }, '
        'position = { heading = 3, unit = "deg", scale = 0.1 }, closed_switch = { heading = 4, made_above = 12 } }',
    ),
    "afternoon": LoggerFile(
        "1.as_left.log",
        afternoon,
        'time = { heading = "Stamp", format = "MM/DD/YYYY HH:MM:SS.f AM" }\n'
        'channels = { position = { heading = "Position %", unit = "%" }, '
        'supply = { heading = "Supply V", unit = "V" } }',
        tells="The headings once more",
        rows=ROWS + 1,
    ),
    "workbook": LoggerFile(
        "1.as_left.xlsx",
        workbook,
        'time = { heading = "When", format = "ISO 8601" }\n'
        'channels = { command = { heading = "Command / mA", unit = "mA" }, '
        'position = { heading = "Position / deg", unit = "deg" } }',
    ),
    "columnar": LoggerFile(
        "1.as_left.parquet",
        columnar,
        'time = { heading = "t_min", format = "min" }\n'
        'channels = { command = { heading = "setpoint", unit = "%", scale = 100 }, '
        'position = { heading = "angle", unit = "deg" } }',
    ),
    "past midnight": LoggerFile(
        "1.as_left.asc",
        past_midnight,
        'thousands = "comma"\n'
        'decimal = "point"\n'
        'time = { heading = "Zeit", format = "HH:MM:SS.f" }\n'
        'channels = { command = { heading = "Soll [%]", unit = "%" }, '
        'position = { heading = "Winkel [mdeg]", unit = "deg", scale = 0.001 } }',
        tells="passes midnight",
    ),
}


def table_of(made: LoggerFile, *, confirmed_by: str = "A. Engineer", files: str = "") -> str:
    """The table of unit.toml that reads a logger's file."""
    confirmed = f'confirmed_by = "{confirmed_by}"\n' if confirmed_by else ""
    pattern = files or f"logs/*/*.{made.name.rpartition('.')[2]}"
    return f'[[recordings]]\nfiles = "{pattern}"\nsource = "Invented logger sheet"\n{confirmed}{made.table}\n'
