"""What a person says of a list: which column each heading is, what its words mean, what holds for every tag."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, Final

from kit.basis.tables import TABLES
from kit.records.cells.nearest import nearest
from kit.starting.folder import NewUnitError
from kit.starting.listed import Listed
from kit.starting.words import Columns, column_meant, unit_fits, without_unit, word_meant

OWN: Final = "own"  # what a heading is that stays the plant's own
TAGS: Final = TABLES["tags"]
_FOR_ALL: Final = "all"
SHOWN: Final = 3  # first values of a column beside its proposal
_BOTH: Final = "+"  # between two columns that one heading fills
_HOW: Final = 'Write it like "Tag No=tag, Stroke=travel, fail_action:FC=closed, all:travel_unit=deg".'
_HEAD: Final = """\
# What each heading of {file} is: proposed, not yet confirmed. Correct it and run the same command again.
# "{own}" carries a column along as the plant's own; two columns that one heading fills have a + between them.
# Columns: {columns}.
"""


@dataclass(frozen=True, slots=True)
class Meaning:
    """How a list becomes a register."""

    columns: Mapping[str, Columns]  # by heading; (): the plant's own
    words: Mapping[tuple[str, str], str] = field(default_factory=dict)  # by column and cell
    for_all: Mapping[str, str] = field(default_factory=dict)  # by column: what every tag has

    def heading_of(self, column: str) -> str | None:
        """The heading that fills a column of the register."""
        return next((heading for heading, columns in self.columns.items() if column in columns), None)


def propose(listed: Listed) -> Meaning:
    """What the headings and the words most likely mean: the first of two headings for one column, and never more."""
    columns: dict[str, Columns] = {}
    taken: set[str] = set()
    for heading in listed.headings:
        unit = without_unit(heading)[1]
        meant = tuple(each for each in column_meant(heading) if each not in taken and unit_fits(each, unit))
        columns[heading] = meant
        taken.update(meant)
    return propose_words(listed, Meaning(columns))


def propose_words(listed: Listed, meaning: Meaning) -> Meaning:
    """The meaning with what is proposed for the cells of its word columns that are none of the words as they stand."""
    words = {key: word for key in unclear(listed, meaning) if (word := word_meant(*key))}
    return replace(meaning, words={**words, **meaning.words})


def unclear(listed: Listed, meaning: Meaning) -> list[tuple[str, str]]:
    """Columns of words, each with the different cells that are none of its words as they stand."""
    return [
        (column, cell)
        for heading, columns in meaning.columns.items()
        for column in columns
        if TAGS.words(column)
        for cell in listed.values(heading, meaning.heading_of("tag"))
        if not is_word(column, cell)
    ]


def is_word(column: str, cell: str) -> bool:
    """Whether a cell is a word of its column as it stands: in any letter case, with a blank or a hyphen in it."""
    return "_".join(cell.casefold().replace("-", " ").split()) in TAGS.words(column)


def stated(text: str, listed: Listed) -> Meaning:
    """What a person stated in one line, or in a .toml file.

    Raises :class:`NewUnitError` with every fault of it.
    """
    path = Path(text)
    columns, words, for_all = _of_file(path) if path.suffix.casefold() == ".toml" else _of_line(text)
    faults = [*_faults_of_columns(columns, listed), *_faults_of_words(words), *_faults_of_all(for_all, columns)]
    if not any("tag" in each for each in columns.values()):
        faults.append("no heading is tag. Say which one holds the tags.")
    if faults:
        raise NewUnitError("--columns cannot be used:" + "".join(f"\n- {fault}" for fault in faults))
    by_key = {heading.casefold(): heading for heading in listed.headings}
    found = {by_key[heading.casefold()]: own for heading, own in columns.items()}
    return Meaning({heading: found.get(heading, ()) for heading in listed.headings}, words, for_all)


def as_line(meaning: Meaning) -> str:
    """The meaning as --columns takes it."""
    parts = [f"{heading}={_BOTH.join(columns)}" for heading, columns in meaning.columns.items() if columns]
    parts += [f"{column}:{cell}={word}" for (column, cell), word in meaning.words.items()]
    parts += [f"{_FOR_ALL}:{column}={value}" for column, value in meaning.for_all.items()]
    return ", ".join(parts)


def fits_a_line(meaning: Meaning) -> bool:
    """Whether no heading and no cell holds a sign that parts them in one line."""
    texts = (*meaning.columns, *(cell for _, cell in meaning.words))
    return not any(sign in text for text in texts for sign in ",=:\"'`$\\")


def as_file(meaning: Meaning, listed: Listed) -> str:
    """The meaning as a .toml file, each heading with its first values."""
    lines = [_HEAD.format(file=listed.file, own=OWN, columns=", ".join(TAGS.columns)), "[columns]"]
    for heading, columns in meaning.columns.items():
        first = ", ".join(listed.values(heading)[:SHOWN])
        lines.append(f"{_quoted(heading)} = {_quoted(_BOTH.join(columns) or OWN)}{f'  # {first}' if first else ''}")
    for column in dict.fromkeys(column for column, _ in meaning.words):
        lines += ["", f"[words.{column}]"]
        lines += [f"{_quoted(cell)} = {_quoted(word)}" for (of, cell), word in meaning.words.items() if of == column]
    lines += ["", "# What every tag has, for columns that the list lacks.", "[all]"]
    lines += [f"{column} = {_quoted(value)}" for column, value in meaning.for_all.items()]
    return "\n".join(lines) + "\n"


def _of_line(text: str) -> tuple[dict[str, Columns], dict[tuple[str, str], str], dict[str, str]]:
    columns: dict[str, Columns] = {}
    words: dict[tuple[str, str], str] = {}
    for_all: dict[str, str] = {}
    for part in (each.strip() for each in text.split(",") if each.strip()):
        left, equals, right = (each.strip() for each in part.rpartition("="))
        if not equals or not left or not right:
            raise NewUnitError(f"--columns: {part!r} says nothing of a heading. {_HOW}")
        column, colon, cell = (each.strip() for each in left.partition(":"))
        if colon and column == _FOR_ALL:
            for_all[cell] = right
        elif colon and column in TAGS.columns:
            words[column, cell] = right
        else:
            columns[left] = _columns(right)
    return columns, words, for_all


def _of_file(path: Path) -> tuple[dict[str, Columns], dict[tuple[str, str], str], dict[str, str]]:
    try:
        content: dict[str, Any] = tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise NewUnitError(f"{path}: cannot be read: {error}.") from error
    tables = [content.get(name, {}) for name in ("columns", "words", _FOR_ALL)]
    inner = tables[1].values() if isinstance(tables[1], dict) else ()
    if not all(isinstance(each, dict) for each in (*tables, *inner)) or content.keys() - {"columns", "words", _FOR_ALL}:
        raise NewUnitError(f"{path}: it may hold [columns], [words.<column>] and [all], and nothing else.")
    words = {(column, str(cell)): str(word) for column, own in tables[1].items() for cell, word in own.items()}
    return (
        {heading: _columns(str(column)) for heading, column in tables[0].items()},
        words,
        {column: str(value) for column, value in tables[2].items()},
    )


def _columns(text: str) -> Columns:
    return () if text == OWN else tuple(each.strip() for each in text.split(_BOTH))


def _faults_of_columns(columns: Mapping[str, Columns], listed: Listed) -> Iterable[str]:
    there = {heading.casefold() for heading in listed.headings}
    for heading in columns:
        if heading.casefold() not in there:
            yield f"the list has no heading {heading!r}.{_hint(heading, listed.headings)}"
    named = [each for own in columns.values() for each in own]
    for column in dict.fromkeys(named):
        if column not in TAGS.columns:
            yield f"the register has no column {column!r}.{_hint(column, TAGS.columns)}"
        elif named.count(column) > 1:
            yield f"two headings are {column}. Keep one, and write {OWN} for the other."
    for heading, own in columns.items():
        unit = without_unit(heading)[1]
        for column in (each for each in own if each in TAGS.columns and not unit_fits(each, unit)):
            wanted = TAGS.unit(column)
            in_its = f" is in {wanted}" if wanted else " has no unit"
            yield f"{heading!r} is in {unit}, and {column}{in_its}: nothing is converted. Write {OWN} for it."


def _faults_of_words(words: Mapping[tuple[str, str], str]) -> Iterable[str]:
    for (column, cell), word in words.items():
        allowed = TAGS.words(column) if column in TAGS.columns else ()
        if not allowed:
            yield f"{column} has no words of its own, so that {cell!r} cannot mean one."
        elif word not in allowed:
            yield f"{column}:{cell}: {word!r} is not one of {', '.join(allowed)}."


def _faults_of_all(for_all: Mapping[str, str], columns: Mapping[str, Columns]) -> Iterable[str]:
    filled = {each for own in columns.values() for each in own}
    for column, value in for_all.items():
        if column not in TAGS.columns or column == "tag":
            yield f"all:{column}: no column that may be the same for every tag.{_hint(column, TAGS.columns)}"
        elif column in filled:
            yield f"all:{column}: a heading fills it already."
        elif TAGS.words(column) and value not in TAGS.words(column):
            yield f"all:{column}: {value!r} is not one of {', '.join(TAGS.words(column))}."


def _hint(name: str, known: Iterable[str]) -> str:
    close = nearest(name, known)
    return f" Was {close} meant?" if close else ""


def _quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007F")
