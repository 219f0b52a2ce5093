"""Damages of a sheet, of a file, of a recording and of unit.toml."""

from __future__ import annotations

from collections.abc import Callable
from random import Random
from typing import Final

from tests.damages.damage import REGISTERS, Damage, Damager, draw_sheet
from tests.damages.made_files import MadeFile, MadeUnit


def _sheet_hidden(unit: MadeUnit, rng: Random) -> Damage | None:
    found = draw_sheet(unit, rng, records=True)
    if found is None or not found[0].is_workbook or len(found[0].sheets) < 2:
        return None
    file, sheet = found
    sheet.hidden = True
    return Damage("sheet hidden", f"{file.name} {sheet.title}", frozenset(file.tags))


def _sheet_renamed(unit: MadeUnit, rng: Random) -> Damage | None:
    found = draw_sheet(unit, rng, records=True)
    if found is None or not found[0].is_workbook:
        return None
    file, sheet = found
    old, sheet.title = sheet.title, rng.choice(("Sheet1", f"old {sheet.title}", sheet.title[1:], "Tabelle3"))
    return Damage("sheet renamed", f"{file.name} {old} -> {sheet.title}", frozenset(file.tags))


def _file_damage(kind: str, change: Callable[[MadeFile, Random], bool], *, registers: bool = False) -> Damager:
    """A damager of one file; what is left of it may no longer tell whose it was."""

    def damage(unit: MadeUnit, rng: Random) -> Damage | None:
        files = [each for each in unit.files if registers or each.sheets[0].table not in REGISTERS]
        if not files:
            return None
        file = rng.choice(files)
        old = file.name
        return Damage(f"file {kind}", f"{old} -> {file.name}", frozenset(unit.tags)) if change(file, rng) else None

    return damage


def _renamed(file: MadeFile, rng: Random) -> bool:
    folder, _, name = file.name.rpartition("/")
    stem, _, suffix = name.rpartition(".")
    names = (f"{stem[1:]}.{suffix}", f"copy of {name}", f"my {name}", f"{stem[::-1]}.{suffix}", f"backup.{suffix}")
    file.name = f"{folder}/{rng.choice(names)}"
    return True


def _other_suffix(file: MadeFile, rng: Random) -> bool:
    file.raw = file.data()
    file.name = rng.choice((f"{file.name}.bak", f"{file.name.rpartition('.')[0]}.txt", f"{file.name}~"))
    return True


def _beside_records(file: MadeFile, rng: Random) -> bool:
    file.name = rng.choice(("", "old/", "Records/")) + file.name.removeprefix("records/")
    return True


def _emptied(file: MadeFile, rng: Random) -> bool:
    file.raw = b""
    return True


def _truncated(file: MadeFile, rng: Random) -> bool:
    data = file.data()
    at = rng.randrange(len(data) // 4, len(data) - 1)
    if not file.is_workbook and (data[at - 1 : at] == b"\n" or data[at : at + 1] == b"\n"):
        return False  # cut between two rows: nothing is left that tells
    file.raw = data[:at]
    return True


def _bytes_lost(file: MadeFile, rng: Random) -> bool:
    data = bytearray(file.data())
    at = rng.randrange(len(data))
    size = min(rng.choice((1, 4, 64)), len(data) - at)
    data[at : at + size] = rng.choice((b"\x00", b"\xff", b"\x1a")) * size
    file.raw = bytes(data)
    return not file.is_workbook or _is_in_a_part(file.data(), at)


def _is_in_a_part(data: bytes, at: int) -> bool:
    """Whether a byte of a workbook counts: what stands behind its directory does not."""
    return at < data.rfind(b"PK\x01\x02")


def _as_another_kind(file: MadeFile, rng: Random) -> bool:
    file.raw = file.data()
    file.name = file.name.rpartition(".")[0] + (".csv" if file.is_workbook else ".xlsx")
    return True


def _log_damage(kind: str, change: Callable[[list[str], Random], None]) -> Damager:
    """A damager of the lines of one recording, header first."""

    def damage(unit: MadeUnit, rng: Random) -> Damage | None:
        if not unit.logs:
            return None
        name = rng.choice(sorted(unit.logs))
        lines = unit.logs[name].splitlines(keepends=True)
        change(lines, rng)
        unit.logs[name] = "".join(lines)
        return Damage(f"recording {kind}", name, frozenset({name.split("/")[1]}))

    return damage


def _log_cell(lines: list[str], rng: Random) -> None:
    for row in rng.sample(range(1, len(lines)), rng.choice((1, 1, 40, len(lines) // 3))):
        cells = lines[row].rstrip("\n").split(",")
        cells[rng.randrange(len(cells))] = rng.choice(("x", "", "NaN", "1O", "#REF!"))
        lines[row] = ",".join(cells) + "\n"


def _log_column(lines: list[str], rng: Random) -> None:
    column = rng.randrange(lines[0].count(",") + 1)
    for row, line in enumerate(lines[1:], start=1):
        cells = line.rstrip("\n").split(",")
        cells[column] = ""
        lines[row] = ",".join(cells) + "\n"


def _log_heading(lines: list[str], rng: Random) -> None:
    names = lines[0].rstrip("\n").split(",")
    place = rng.randrange(len(names))
    names[place] = rng.choice((names[place][1:], names[place] + "x", "", "Wert"))
    lines[0] = ",".join(names) + "\n"


def _log_cut(lines: list[str], rng: Random) -> None:
    del lines[rng.randrange(len(lines) // 3, len(lines)) :]
    lines[-1] = lines[-1][: len(lines[-1]) // 2]


def _log_time(lines: list[str], rng: Random) -> None:
    row = rng.randrange(2, len(lines) - 1)
    lines[row], lines[row - 1] = lines[row - 1], lines[row]


def _log_emptied(lines: list[str], rng: Random) -> None:
    lines.clear()


def _log_renamed(unit: MadeUnit, rng: Random) -> Damage | None:
    if not unit.logs:
        return None
    name = rng.choice(sorted(unit.logs))
    _, tag, file = name.split("/")
    visit, _, rest = file.partition(".")
    names = (
        f"logs/{tag}x/{file}",
        f"logs/{tag}/{visit}9.{rest}",
        f"logs/{tag}/{visit}.as_lft.csv",
        f"logs/{tag}/{visit}.csv",
        f"logs/{file}",
        f"logs/{tag}/{file}.txt",
        f"records/{tag}.csv",
    )
    other = rng.choice(names)
    unit.logs[other] = unit.logs.pop(name)
    return Damage("recording renamed", f"{name} -> {other}", frozenset(unit.tags))


def _settings_damage(unit: MadeUnit, rng: Random) -> Damage | None:
    lines = unit.settings.splitlines()
    row = rng.randrange(len(lines))
    line = lines[row]
    if not line.strip():
        return None
    place = rng.randrange(len(line))
    kind = rng.choice(("out", "double", "end lost"))
    lines[row] = {
        "out": line[:place] + line[place + 1 :],
        "double": line[:place] + line[place] + line[place:],
        "end lost": line[:place],
    }[kind]
    if not lines[row] or _is_legible(line, place):
        return None
    unit.settings = "\n".join(lines) + "\n"
    return Damage("unit.toml", f"{line!r} -> {lines[row]!r}", frozenset(unit.tags))


def _is_legible(line: str, place: int) -> bool:
    """Whether a sign more or less leaves another number or another text: no damage."""
    return line[place].isdigit() or line[place] in '.# "' or line[:place].count('"') % 2 == 1


FILE_DAMAGES: Final[tuple[Damager, ...]] = (
    _sheet_hidden,
    _sheet_renamed,
    _file_damage("renamed", _renamed),
    _file_damage("of another suffix", _other_suffix),
    _file_damage("beside records", _beside_records),
    _file_damage("emptied", _emptied, registers=True),
    _file_damage("cut in the middle", _truncated, registers=True),
    _file_damage("with bytes lost", _bytes_lost, registers=True),
    _file_damage("named as another kind", _as_another_kind),
)
LOG_DAMAGES: Final[tuple[Damager, ...]] = (
    _log_damage("with cells lost", _log_cell),
    _log_damage("with a column lost", _log_column),
    _log_damage("with another heading", _log_heading),
    _log_damage("cut in the middle", _log_cut),
    _log_damage("with times exchanged", _log_time),
    _log_damage("emptied", _log_emptied),
    _log_renamed,
)
SETTINGS_DAMAGES: Final[tuple[Damager, ...]] = (_settings_damage,)
