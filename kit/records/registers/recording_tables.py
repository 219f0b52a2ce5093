"""The tables [[recordings]] of unit.toml: how the files of a logger are read."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from kit.basis.recording_maps import CHANNEL_COLUMNS, Heading, MappedChannel, MappedTime, RecordingMap
from kit.basis.unit_keys import CHANNEL_KEYS, RECORDING_KEYS, SWITCH_KEYS, TIME_KEYS
from kit.records.recordings.time_patterns import fault_of_format, is_number_of_time, zone_of
from kit.records.registers.toml_keys import KeyReader

_PARTS: Final = 3  # logs, the tag's folder, the file
_TRAVEL: Final = ("feedback", "position")


def read_maps(reader: KeyReader, content: Any) -> tuple[RecordingMap, ...]:
    """Every table, in order; what is wrong with them is told to ``reader``, and such a table is left out."""
    if not isinstance(content, list):
        reader.faults.append(f"recordings: {content!r} is no list of tables. Write each under [[recordings]].")
        return ()
    found = (_map(reader, number, each) for number, each in enumerate(content, start=1))
    return tuple(each for each in found if each is not None)


def _map(reader: KeyReader, number: int, content: Any) -> RecordingMap | None:
    place = f"recordings[{number}]"
    before = len(reader.faults)
    values = reader.read(reader.table(content, place), RECORDING_KEYS, place)
    content = content if isinstance(content, dict) else {}
    time = _time(reader, content.get("time"), f"{place}.time")
    channels = _channels(reader, content.get("channels"), f"{place}.channels")
    _check_files(reader, values.get("files", ""), place)
    if len(reader.faults) > before or time is None:
        return None
    found = RecordingMap(number, time=time, channels=channels, **values)
    _check_rows(reader, found, place)
    return found if len(reader.faults) == before else None


def _check_files(reader: KeyReader, pattern: str, place: str) -> None:
    parts = pattern.split("/")
    if pattern and (parts[0] != "logs" or len(parts) != _PARTS or not all(parts) or "\\" in pattern):
        reader.faults.append(
            f"{place}.files: {pattern!r} is no pattern of three parts: logs, the tag's folder, the file. Write it like "
            '"logs/*/*.txt" or "logs/FV-101/*.csv".'
        )


def _time(reader: KeyReader, content: Any, place: str) -> MappedTime | None:
    if content is None:
        reader.faults.append(f'{place}: missing. Write it like {{ heading = "Time", format = "s" }}.')
        return None
    values = reader.read(reader.table(content, place), TIME_KEYS, place)
    fault = fault_of_format(values.get("format", "s"))
    if fault:
        reader.faults.append(f"{place}.format: {values['format']!r}: {fault}")
    zone = values.get("zone", "")
    if zone and zone_of(zone) is None:
        reader.faults.append(f"{place}.zone: {zone!r} is no zone. Write UTC, +01:00 or a name such as Europe/Berlin.")
    if "heading" not in values or "format" not in values:
        return None
    if is_number_of_time(values["format"]) and len(values["heading"]) > 1:
        reader.faults.append(f"{place}.heading: numbers of one unit stand in one column. Name that one.")
    return MappedTime(values["heading"], values["format"], zone)


def _channels(reader: KeyReader, content: Any, place: str) -> tuple[MappedChannel, ...]:
    content = reader.table({} if content is None else content, place)
    reader.known(content, CHANNEL_COLUMNS, place)
    found = [_channel(reader, name, content[name], f"{place}.{name}") for name in CHANNEL_COLUMNS if name in content]
    if not any(name in content for name in _TRAVEL):
        reader.faults.append(f"{place}: neither position nor feedback is among them. Name at least one of the two.")
    known = [each for each in found if each is not None]
    headings = [each.heading for each in known]
    for heading in dict.fromkeys(each for each in headings if headings.count(each) > 1):
        reader.faults.append(f"{place}: {heading!r} stands for two channels. Name another column for one of them.")
    return tuple(known)


def _channel(reader: KeyReader, name: str, content: Any, place: str) -> MappedChannel | None:
    units = CHANNEL_COLUMNS[name]
    is_switch = "" in units
    values = reader.read(reader.table(content, place), SWITCH_KEYS if is_switch else CHANNEL_KEYS, place)
    if is_switch:
        _check_switch(reader, values, place)
    elif "unit" not in values:
        reader.faults.append(f"{place}.unit: missing. Give one of {', '.join(units)}.")
    elif values["unit"] not in units:
        reader.faults.append(f"{place}.unit: {values['unit']!r} is no unit of it. Give one of {', '.join(units)}.")
    if values.get("scale") == 0.0:
        reader.faults.append(f"{place}.scale: 0 makes every value the same. Give what a cell is multiplied by.")
    if "heading" not in values or (not is_switch and values.get("unit") not in units):
        return None
    return MappedChannel(name, **values)


def _check_switch(reader: KeyReader, values: Mapping[str, Any], place: str) -> None:
    levels = [name for name in ("made_above", "made_below") if name in values]
    if len(levels) > 1 or (levels and ("made" in values or "not_made" in values)):
        reader.faults.append(f"{place}: give made and not_made, or made_above, or made_below.")
    if values.get("made", "1").casefold() == values.get("not_made", "0").casefold():
        reader.faults.append(f"{place}: made and not_made are the same.")


def _check_rows(reader: KeyReader, found: RecordingMap, place: str) -> None:
    texts: list[Heading] = [each for each in found.headings if isinstance(each, str)]
    if found.header_row == 0 and texts:
        reader.faults.append(
            f"{place}: header_row is 0, so that {texts[0]!r} stands nowhere. Give the column's number."
        )
    if found.header_row is None and not texts and found.first_row is None:
        reader.faults.append(f"{place}: no heading names its header. Give first_row, and header_row = 0 without one.")
    if found.header_row and found.first_row is not None and found.first_row <= found.header_row:
        reader.faults.append(f"{place}.first_row: {found.first_row} is not below header_row {found.header_row}.")
    if found.decimal and found.decimal == found.thousands:
        reader.faults.append(f"{place}.thousands: {found.thousands} is the decimal mark too.")
