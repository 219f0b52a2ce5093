"""CSV files: encoding, delimiter, lines."""

from __future__ import annotations

import codecs
import csv
import io
from collections.abc import Iterator
from dataclasses import replace
from typing import Final

from charset_normalizer import from_bytes

from kit.records.files.layout import Line, lay_out
from kit.records.files.raw import HEADER_WITHIN, RawFile, UnreadableFileError, header_key

_MARKLESS: Final = 100  # bytes
_DELIMITERS: Final = (",", ";", "\t")
_TOO_MANY: Final = (
    "{found} cells under {wanted} headings. A decimal comma in a comma-separated file does this; write a decimal point."
)
_OPEN_QUOTE: Final = "A quotation mark without its partner. Remove it or add the other one."


def read_csv(data: bytes, known: frozenset[str]) -> RawFile:
    """Read a CSV file's bytes; ``known`` holds every heading, to find the delimiter and the header."""
    text, remarks = decode(data)
    delimiter = delimiter_of(text, known)
    table = lay_out(list(lines_of(text, delimiter)), known, _TOO_MANY)
    if table is None:
        raise UnreadableFileError("The file is empty. Remove it or fill it in.")
    return RawFile((replace(table, comma_separated=delimiter == ","),), remarks)


def decode(data: bytes) -> tuple[str, tuple[str, ...]]:
    """A file's text, and what must be said about its encoding."""
    if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        try:
            return data.decode("utf-16"), ("Read as UTF-16, not UTF-8. Save it as CSV UTF-8.",)
        except UnicodeDecodeError as error:
            raise UnreadableFileError("Its mark says UTF-16, but it is not. Save it as CSV UTF-8.") from error
    if b"\x00" in data[:_MARKLESS]:  # a text has none in UTF-8, and every second one in UTF-16
        wide = "utf-16-le" if data[1:2] == b"\x00" else "utf-16-be"
        try:
            return data.decode(wide), ("Read as UTF-16 without its mark, not UTF-8. Save it as CSV UTF-8.",)
        except UnicodeDecodeError:
            pass
    try:
        return data.decode("utf-8-sig"), ()
    except UnicodeDecodeError:
        pass
    try:
        return data.decode("cp1252"), ("Read as cp1252, not UTF-8; check accents and units. Save it as CSV UTF-8.",)
    except UnicodeDecodeError:
        pass
    guess = from_bytes(data).best()
    if guess is None:
        raise UnreadableFileError("Its text encoding is not known. Save it as CSV UTF-8.")
    return str(guess), (f"Read as {guess.encoding}, not UTF-8; check accents and units. Save it as CSV UTF-8.",)


def delimiter_of(text: str, known: frozenset[str]) -> str:
    """The delimiter whose split of the first lines finds most headings, then most cells."""
    head = [line for line in text.splitlines()[:HEADER_WITHIN] if line.strip()]

    def score(delimiter: str) -> tuple[int, int]:
        cells = [line.split(delimiter) for line in head]
        found = max((sum(header_key(cell.strip().strip('"')) in known for cell in line) for line in cells), default=0)
        return found, len(cells[0]) if cells else 0

    return max(_DELIMITERS, key=score)


def lines_of(text: str, delimiter: str) -> Iterator[Line]:
    """The lines of a text, each with its number, its cells and what is wrong with it."""
    try:
        reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
        found: list[Line] = []
        start = 1
        for cells in reader:
            found.append((start, cells, ""))
            start = reader.line_num + 1
        yield from found
    except csv.Error:
        yield from _line_by_line(text, delimiter)


def _line_by_line(text: str, delimiter: str) -> Iterator[Line]:
    """Read a file whose quotation marks do not pair, so that one bad line costs that line only."""
    for number, line in enumerate(text.splitlines(), start=1):
        try:
            yield number, next(csv.reader([line], delimiter=delimiter, strict=True), []), ""
        except csv.Error:
            yield number, line.split(delimiter), _OPEN_QUOTE
