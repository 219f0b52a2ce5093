"""The data dictionary: every table and column, and the checks that are made of them, as Markdown.

``python -m tests.making.guide.records_page`` writes notebooks/guide/records.md.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from kit.assessment.subjects import SUBJECTS
from kit.basis.checks import CHECKS, CheckName
from kit.basis.retest import RETEST
from kit.basis.tables import RECORD_TABLES, TABLES
from kit.basis.tables.columns import Table, Takes
from tests.making.guide import GUIDE
from tests.making.guide.check_tables import checks_of

_INTRODUCTION: Final = """# Records and checks: folder, tables, columns, and what is made of them

Made from `kit/basis/` and `kit/assessment/subjects/`; a test keeps it current. To change it, change these and run
`python -m tests.making.guide.records_page`.

## The folder of a unit

```
inputs/<unit>/
  unit.toml            title, site, document numbering, limit sets, decision rule
  tags.csv             the register: one row a tag (or tags.xlsx)
  instruments.csv      the test equipment (or instruments.xlsx)
  records/             any number of .csv, .xlsx and .parquet files, at any depth
  logs/<tag>/          <visit>.<stage>[.anything].csv or .parquet: continuous recordings
```

A file in records/ is known by how its name begins: `readings-week12.csv` and `readings-rest.parquet` add up to
one table. The names are {names}. In a workbook each visible sheet whose name begins so is a table; where only
the file's name does, the sheets that hold columns of that table are. Input files are never written to.

## How cells are read

- Headings in any letter case. One that is close to a known one (the same but for marks, one edit away, or the same
  four letters at its beginning), a filled column without a heading, two columns of one name, and a column that holds
  the words of a column which the table lacks, are not read and open: one record for all rows under it. In a register
  they refuse the unit. A plant's own columns are named in unit.toml: `own_columns = ["positioner", "line"]`.
  Any other heading is told of once a file.
- The headings stand in the first 20 lines. A row above them is set aside; a title is not taken for one.
- CSV is UTF-8, with or without a mark; another encoding is recognised and said. Commas, semicolons or tabs
  separate cells. Decimal point or decimal comma, recognised by file and column. `1.204` or `1,204` is set aside
  where it may mean thousands.
- A decimal comma that split a number in a comma-separated file is mended, and told, where that can be read in one
  way only; a row with cells too many, and one that ends before a column that feeds a check, is set aside.
- A spreadsheet's 30 % is 30. Merged cells, formulas without a stored value and error cells are set aside.
- A unit in the cell is understood where it is the column's own: `12.04 mA` in a column in mA. Nothing is converted.
- A dash is a blank; `?`, `n/a`, `not tested` leave a cell blank, and that is told. `OK`, `~5` in a number column, and
  spreadsheet errors such as `#REF!`, are set aside and never read as 0.
- A bound is evidence where its column takes one (the column *possible* says so): `>60`, `<0.1`, `60+`; `did not
  open`, `no movement` for a time; `did not make` for a switch; `OL`, over the range, for a resistance. It fails a
  limit that it lies beyond as a whole (`>60` against at most 30), passes one that it lies inside as a whole (`>999`
  against at least 1), under the same rules as any value, and leaves the check open between. What did not happen
  fails its check, with or without a limit.
- In prechecks `na` is an answer, `not ok`, `nok` and `fail` are a no, and `?` is none: open.
- Dates are ISO 8601: `2026-04-30`, and `2026-04-30T10:15` where a time may stand. `03/04/2026` is set aside,
  because the day and the month cannot be told apart.
- Words in any letter case, with a blank or a hyphen for an underscore.

## What becomes of what cannot be used

Every row is accounted for: a row is used, or it is set aside. Rows in = rows used + rows set aside, file by file,
and the counts are printed. `problems.csv` names file, row (as a person counts it in that file: a CSV file's
physical line, the header being 1; a sheet's row; in Parquet the first row of data is 1), column, value and reason.

What is not used is an **open record**: until a person answers it, no check that it could have fed passes. What that
means, and how it is answered, is told in [open-records.md](open-records.md).

- A row of records/ with any bad cell is set aside whole, and each of its bad cells told.
- A row of a register or of visits keeps its place as long as its tag (its instrument and quantity; its tag and
  visit) can be read. Another cell that cannot be read is not known, never what a blank would mean, and open for the
  whole tag. Two rows of one tag, or of one visit, that differ are both open.
- A reading in a unit that the tag's range or travel does not have is set aside, never converted.
- Two columns of one quantity in one row (`position_pct` and `position_deg`, `command_pct` and `command_mA`) agree
  within half the sum of the last digits that were written, or the row is set aside. What was asked for stands in
  `command_set_pct`, which nothing is held against.
- A used row that lacks a cell which a check with a limit needs is open: a cell that says `?` or `n/a`, the position
  before a loss, where a switch makes, and what other rows of the same test hold. A column that nobody filled is a gap.
- Travel far outside 0 to 100 % is used, counts against the valve and is flagged. A time of exactly 0 is a placeholder.
- An unknown tag is set aside, and the nearest known one proposed. Letter case alone makes no difference.
- Measurements that are equal in every cell are repeats where they stand in one file without `at`: used and flagged.
  With `at`, or in two files, they are one, and so are cycles that are equal in every value. The same file twice is
  read once.
- Open as a whole, with their rows counted: a hidden sheet, a file that is damaged, empty or not known by its name, a
  text in columns, a table that lies beside records/, a second register. Each is of the tags that it names, else of
  all. Noted and no more: pictures, PDF, prose, and whatever holds no value column of any table, such as lists for
  drop-down cells. Hidden folders and editors' lock files are passed over.
- Suspicions, such as two digits exchanged or a record copied from another tag, are told with the reading they
  point to. Nothing is ever corrected.

What a blank cell means stands in the last column of each table below, and is no inference.

## Recordings

The folder is the tag (or the tag with what a folder cannot be named escaped, as its outputs folder is); the file's
name is the visit, `as_found` or `as_left`, and anything more, parted by dots. A recording has the columns of `logs`
below: a time, a command in the unit of the tag's range, and a position or a feedback. Its samples are rows like any
others: used or set aside, and counted.

- Samples at a time that was there already, or before it, are set aside, with the place and the extent.
- Nothing is read into a gap (three times the usual interval): it is told, and no test reaches across it.
- A channel that stands still, or at its extreme, while it should move is told with its place and extent.
- A command at or below 3.6 mA on a loop with live zero (nine tenths of a live zero in volts), or a command that is
  blank, is a loss of signal.

Rows of `segments` for a recording replace what was found in it.

## Visits, re-tests and what makes a result stale

The visit of the latest date decides, whatever it is called, and has to be whole. Two visits of the latest date, a visit
without a row in `visits` or a date that cannot be read let nothing pass that they may have tested.

A re-test of some tests only names in `continues` the earlier visit that it goes on from. Each check, each direction,
switch and cause of a loss for itself, then comes from the newest visit of that chain that has any row of it, as found
included. The report says which visit a check is of, and how old it is.

What an adjustment touches is **stale** until it is tested again, unless every record of it is known to be later. A row
has its `at`; without it a row as left, and a recording in seconds, was made from the `as_left_from` of its visit on. A
date beside a time of its day, the same minute twice, and times of which one has a zone and the other none (less than
26 hours apart) say nothing. Adjustments of a later visit touch all that earlier ones left, those of an earlier one
nothing. A setting that differs between the visits of a chain counts as an adjustment: by how its name begins as one of
those below, else as `part_replaced`. What failed before an adjustment stays failed until it is tested again.

| adjustment | leaves without a result |
| --- | --- |
{retest}

Common practice, no source. Where practice asks for a spot check or a part of a test, the whole of it is asked for.

## Tables

A column in **bold** must be there, with a value in each row unless its sentence says otherwise. Of columns marked
*one of* a row needs one.

Below each table stand the checks that are made of it. *Made from* lists every column whose cells could move the value,
*instruments* those whose errors are in its uncertainty. A `plus_minus` limit is measured from what stands under *limits
from*; a check without it takes `min`, `max` or both. What to look at first is common practice, no source: a proposal.
"""

_TAKES: Final[dict[Takes, str]] = {
    "": "",
    "bounds": "; `>`, `<`",
    "no_arrival": "; `>`, `<`, `did not open`",
    "no_make": "; `>`, `<`, `did not make`",
    "over_range": "; `>`, `<`, `OL`",
    "open_circuit": "; `OL`",
}


def data_dictionary() -> str:
    """The whole page."""
    names = ", ".join(f"`{name}`" for name in RECORD_TABLES)
    introduction = _INTRODUCTION.replace("{names}", names).replace("{retest}", "\n".join(_retest_lines()))
    return "\n".join([introduction, *(_section(table) for table in TABLES.values())])


def _retest_lines() -> list[str]:
    """One line for each change: the subjects that it touches, with the checks that it does not."""
    lines = []
    for change, touched in RETEST.items():
        told = [_touched(each.name, each.checks, touched) for each in SUBJECTS]
        said = "every check" if touched.issuperset(CHECKS) else "; ".join(each for each in told if each)
        lines.append(f"| {change} | {said} |")
    return lines


def _touched(name: str, checks: Sequence[CheckName], touched: frozenset[CheckName]) -> str:
    inside = [each for each in checks if each in touched]
    outside = [each for each in checks if each not in touched]
    if len(inside) < len(outside):
        return ", ".join(_plain(each) for each in inside)
    return f"{name} but for {' and '.join(_plain(each) for each in outside)}" if outside else name


def _plain(check: CheckName) -> str:
    return CHECKS[check].title.lower()


def _section(table: Table) -> str:
    lines = [
        f"### {table.name}",
        "",
        table.description,
        "",
        "| column | unit or words | possible | meaning | a blank |",
    ]
    lines.append("| --- | --- | --- | --- | --- |")
    lines.extend(_line(table, column) for column in table.columns)
    return "\n".join([*lines, *checks_of(table), ""])


def _line(table: Table, column: str) -> str:
    kind = table.kind(column)
    name = f"**{column}**" if table.is_bold(column) else column
    marks = " (*one of*)" if any(column in group and len(group) > 1 for group in table.needed) else ""
    words = " ".join(f"`{word}`" for word in table.words(column))
    what = words or (table.unit(column) if kind == "number" else {"text": "text", "date": "date"}.get(kind, "time"))
    return f"| {name}{marks} | {what} | {_possible(table, column)} | {table.about(column)} | {_blank(table, column)} |"


def _blank(table: Table, column: str) -> str:
    declared = table.declared[column]
    if declared.blank:
        return declared.blank
    if declared.filled:
        return "the row is open"
    return "another of its group must be filled" if declared.one_of else "nothing recorded"


def _possible(table: Table, column: str) -> str:
    low, high = table.bounds(column)
    if low is None:
        return ""
    extent = f"from {low:g}" if high is None else f"{low:g} to {high:g}"
    return extent + _TAKES[table.takes(column)]


if __name__ == "__main__":
    (GUIDE / "records.md").write_text(data_dictionary(), encoding="utf-8")
