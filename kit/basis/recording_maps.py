"""How the files of a logger are read: which of their columns is which channel, as unit.toml states it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fnmatch import fnmatchcase
from typing import Final, Literal
from urllib.parse import unquote

Heading = str | int  # as it stands in the file, or the column's number counted from 1
CHANNEL_COLUMNS: Final[Mapping[str, Mapping[str, str]]] = {  # by channel and unit: the column of the table logs
    "command": {"mA": "command_mA", "V": "command_V", "%": "command_pct"},
    "feedback": {"mA": "feedback_mA", "V": "feedback_V", "%": "feedback_pct"},
    "position": {"%": "position_pct", "deg": "position_deg", "mm": "position_mm"},
    "closed_switch": {"": "closed_switch"},
    "open_switch": {"": "open_switch"},
    "supply": {"V": "supply_v"},
}
SECONDS: Final[Mapping[str, float]] = {"us": 1e-6, "ms": 1e-3, "s": 1.0, "min": 60.0, "h": 3600.0, "d": 86400.0}
SERIAL_DAYS: Final = "serial days"  # of a spreadsheet: days since 1899-12-30
ISO_8601: Final = "ISO 8601"
DELIMITERS: Final[Mapping[str, str]] = {"comma": ",", "semicolon": ";", "tab": "\t", "bar": "|", "blanks": " "}
DECIMALS: Final[Mapping[str, str]] = {"point": ".", "comma": ","}
THOUSANDS: Final[Mapping[str, str]] = {"point": ".", "comma": ",", "apostrophe": "'", "blank": " "}


@dataclass(frozen=True, slots=True)
class MappedChannel:
    """One channel: value = reading * scale + offset, or the states of a switch."""

    channel: str  # of CHANNEL_COLUMNS
    heading: Heading
    unit: str = ""
    scale: float = 1.0
    offset: float = 0.0
    made: str = "1"  # what a switch's cell holds while it is made
    not_made: str = "0"
    made_above: float | None = None  # for a switch recorded as a level
    made_below: float | None = None

    @property
    def column(self) -> str:
        """Its column in the table logs."""
        return CHANNEL_COLUMNS[self.channel][self.unit]

    @property
    def is_switch(self) -> bool:
        return "" in CHANNEL_COLUMNS[self.channel]

    @property
    def is_level(self) -> bool:
        """Whether it is a switch recorded as a level."""
        return self.made_above is not None or self.made_below is not None

    @property
    def words(self) -> str:
        """What is made of which column, for a page.

        Examples
        --------
        >>> MappedChannel("position", "Pos", "deg", 0.1).words
        'Pos x 0.1 as position [deg]'
        """
        found = f"{name_of(self.heading)}{f' x {self.scale:g}' if self.scale != 1.0 else ''}"
        found += f" {'+' if self.offset > 0 else '-'} {abs(self.offset):g}" if self.offset else ""
        if not self.is_switch:
            return f"{found} as {self.channel} [{self.unit}]"
        made = f"above {self.made_above:g}" if self.made_above is not None else self.made
        made = f"below {self.made_below:g}" if self.made_below is not None else made
        return f"{found} as {self.channel} (made: {made})"


@dataclass(frozen=True, slots=True)
class MappedTime:
    """Where the time of a sample stands, and how it is written."""

    headings: tuple[Heading, ...]  # date and time may stand in columns of their own: joined by a blank
    format: str  # a unit of SECONDS, SERIAL_DAYS, ISO_8601 or a pattern such as DD.MM.YYYY HH:MM:SS
    zone: str = ""  # UTC, an offset such as +01:00, or a name such as Europe/Berlin

    @property
    def words(self) -> str:
        """How the time is read, for a page."""
        zone = f", {self.zone}" if self.zone else ""
        return f"{' and '.join(map(name_of, self.headings))} as time [{self.format}{zone}]"


@dataclass(frozen=True, slots=True)
class RecordingMap:
    """One table [[recordings]] of unit.toml."""

    number: int  # its place among them, counted from 1
    files: str  # a pattern over paths in the unit's folder: logs/*/*.txt
    source: str
    time: MappedTime
    channels: tuple[MappedChannel, ...]
    confirmed_by: str = ""
    header_row: int | None = None  # 0: there is none; None: the line that holds the headings
    first_row: int | None = None  # None: below the header and what units stand there
    delimiter: str = ""  # of DELIMITERS; "": the one that parts the headings
    decimal: str = ""  # of DECIMALS; "": as the numbers show
    thousands: str = ""  # of THOUSANDS; "": none
    sheet: str = ""  # of a workbook; "": its first visible one
    visit: str = ""  # "": as the file's name says
    stage: Literal["", "as_found", "as_left"] = ""

    @property
    def name(self) -> str:
        return f"[[recordings]] {self.number} of unit.toml"

    @property
    def headings(self) -> tuple[Heading, ...]:
        """Every column that is read, each once."""
        return tuple(dict.fromkeys((*self.time.headings, *(each.heading for each in self.channels))))

    @property
    def valve_headings(self) -> tuple[Heading, ...]:
        """The columns that can be of one valve alone."""
        return tuple(each.heading for each in self.channels if each.channel != "supply")

    @property
    def words(self) -> str:
        """What is read from which column, for a page."""
        return "; ".join([self.time.words, *(each.words for each in self.channels)])

    def matches(self, file: str) -> bool:
        """Whether a path in the unit's folder fits the pattern, in any letter case.

        Examples
        --------
        >>> made = RecordingMap(1, "logs/*/*.txt", "", MappedTime(("t",), "s"), ())
        >>> made.matches("logs/FV-101/1.as_left.TXT"), made.matches("logs/FV-101/old/1.as_left.txt")
        (True, False)
        """
        wanted = self.files.casefold().split("/")
        parts = file.casefold().split("/")
        return len(parts) == len(wanted) and all(
            fnmatchcase(part, pattern) or fnmatchcase(unquote(part, errors="replace"), pattern)
            for part, pattern in zip(parts, wanted, strict=True)
        )


def name_of(heading: Heading) -> str:
    """A heading as a page shows it."""
    return heading if isinstance(heading, str) else f"column {heading}"
