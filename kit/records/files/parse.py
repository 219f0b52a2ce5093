"""The files of a unit's folder: which there are, what table each holds, what its bytes say."""

from __future__ import annotations

from pathlib import Path

from kit.records.files.csv_files import read_csv
from kit.records.files.parquet_files import read_parquet
from kit.records.files.raw import FileBytes, RawFile, UnreadableFileError, VanishedFileError, known_headings
from kit.records.files.workbooks import read_workbook


def read_bytes(folder: Path, name: str) -> FileBytes:
    """Read a file of the unit's folder.

    Raises
    ------
    VanishedFileError, UnreadableFileError
        If the file is not there any more, or is there and cannot be read.
    """
    path = folder / name
    try:
        return FileBytes(name, path.read_bytes())
    except FileNotFoundError as error:
        if path.is_symlink():
            raise UnreadableFileError("It cannot be read: it points to a file that is not there.") from error
        raise VanishedFileError("It cannot be read: No such file or directory.") from error
    except OSError as error:
        raise UnreadableFileError(f"It cannot be read: {error.strerror or type(error).__name__}.") from error


def parse(file: FileBytes) -> RawFile:
    """Tell a file's tables apart by what its name ends with."""
    if not file.data:
        raise UnreadableFileError("The file is empty. Remove it or fill it in.")
    suffix = Path(file.name).suffix.casefold()
    if suffix == ".csv":
        return read_csv(file.data, known_headings())
    if suffix == ".xlsx":
        return read_workbook(file.data, known_headings())
    if suffix == ".parquet":
        return read_parquet(file.data)
    raise UnreadableFileError("Only .csv, .xlsx and .parquet files are read. Save it as one of these or move it away.")
