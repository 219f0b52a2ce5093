"""A recording of the demo unit: a virtual valve, walked through its routine with a logger clipped on."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime

import numpy as np

from tests.making.demo.table_files import Dialect
from tests.making.valves import (
    Logger,
    Recorded,
    VirtualValve,
    commissioning_routine,
    csv_text,
    parquet_bytes,
    simulate,
)

_STEP_S = 0.005  # of the simulation; a tenth of the quickest logger's interval


@dataclass(frozen=True, slots=True)
class Walk:
    """One routine and its recording. ``start_number`` is of the random numbers: the same bytes on every run."""

    valve: VirtualValve
    logger: Logger
    start_number: int
    dialect: Dialect | None = None  # of a CSV file; None: Parquet
    name: str = ""  # what the file's name says after the stage
    small_step_pct: float = 0.1
    small_steps_pct: float = 2.0  # up, twice as many down, up again
    ramp_pct_s: float = 0.2
    doubled: tuple[tuple[float, float], ...] = ()  # from .. to [s]: the logger wrote these samples twice
    own_headings: bool = False  # of the logger, under lines of its own and day first: unit.toml says how it is read


def log_name(tag: str, visit: str, walk: Walk) -> str:
    """Where the recording of a visit lies within the unit's folder.

    Examples
    --------
    >>> log_name("FV-1", "2", Walk(VirtualValve(), Logger(), 1, name="morning"))
    'logs/FV-1/2.as_left.morning.parquet'
    """
    further = f".{walk.name}" if walk.name else ""
    return f"logs/{tag}/{visit}.as_left{further}" + (".parquet" if walk.dialect is None else ".csv")


def recorded(walk: Walk) -> Recorded:
    """What the logger wrote on a walk."""
    generator = np.random.Generator(np.random.PCG64(walk.start_number))
    routine = commissioning_routine(
        walk.valve,
        generator,
        small_step_pct=walk.small_step_pct,
        small_steps_pct=walk.small_steps_pct,
        ramp_pct_s=walk.ramp_pct_s,
    )
    found, _ = simulate(walk.valve, routine, walk.logger, generator=generator, step_s=_STEP_S)
    times = np.ones(found.time_s.size, dtype=np.intp)
    for from_s, to_s in walk.doubled:
        times[(found.time_s >= from_s) & (found.time_s <= to_s)] = 2
    return replace(found, columns={name: np.repeat(values, times) for name, values in found.columns.items()})


def log_bytes(walk: Walk) -> bytes:
    """The file of a walk's recording."""
    if walk.dialect is None:
        return parquet_bytes(recorded(walk))
    text = csv_text(recorded(walk), delimiter=walk.dialect.delimiter, decimal=walk.dialect.decimal)
    if walk.own_headings:
        text = _under_own_headings(text, walk.dialect)
    return text.encode(walk.dialect.encoding)


def _under_own_headings(text: str, dialect: Dialect) -> str:
    """A recording with time stamps as a logger of its own ways would write it."""
    mark = dialect.delimiter
    head, *rows = text.splitlines()
    names = [each.rpartition("_") for each in head.split(mark)[1:]]
    lines = [
        f"Invented two-wire logger{mark}no. 2",
        f"Started by{mark}Technician 3",
        "",
        mark.join(["Date", "Time", *(f"Ch {number} {name}" for number, (name, _, _) in enumerate(names, start=1))]),
        mark.join(["dd.mm.yyyy", "hh:mm:ss", *(unit for _, _, unit in names)]),
    ]
    for row in rows:
        stamp, *cells = row.split(mark)
        moment = datetime.fromisoformat(stamp)
        clock = f"{moment:%H:%M:%S}{dialect.decimal}{moment.microsecond // 1000:03d}"
        lines.append(mark.join([f"{moment:%d.%m.%Y}", clock, *cells]))
    return "\n".join(lines) + "\n"
