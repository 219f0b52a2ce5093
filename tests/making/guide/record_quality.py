"""False alarms and catches of the rules of record quality: ``python -m tests.making.guide.record_quality``.

Types invented records without an error, and records with one error each, and counts about which of them a rule asks.
``--page`` writes the tables to notebooks/guide/record-quality.md.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterable
from typing import Final

from tests.making.guide import GUIDE
from tests.making.records.errors import ERRORS
from tests.making.records.tried import Caught, Clean, catch, false_alarms

PAGE: Final = GUIDE / "record-quality.md"
_UNIT: Final = 500  # records that stand in one unit: rules over a unit see as many
INTRODUCTION: Final = """# What the kit asks about a record

A flag is a question: where it stands, what may have been meant, why it is asked, and what usually explains it. Nothing
is corrected, nobody is accused, and no verdict moves by it. A value that rests on a flagged reading says so wherever
it stands; a `misread` in the table dispositions settles the reading ([records.md](records.md)).

Invented records, no field data. Made by `python -m tests.making.guide.record_quality --page`; a small run is among the
tests. The valves are good and bad (zero, span, bow, S, plateau, sticking, play up to 2 % of travel), linear, equal
percentage and reverse, read at 5, 9 or 11 places, once to three times, with coarse and fine instruments.

## False alarms

Of {records} records without an error {in_all} have a flag ({share}).

| rule | records flagged | share |
| --- | ---: | ---: |
"""
CATCHES: Final = """
## Catches

{records} records with each error. *Asked*: its own rule asks, or the value is beyond what an instrument shows and is
open. *Any*: any flag stands on the record. Slips of digits are drawn among those that move the reading by more than
4 % of its range; a lesser one lies within what valves do.

| error | asked | any |
| --- | ---: | ---: |
"""
NOTES: Final = """
## What no rule can see

- A slip that leaves a reading where the valve may well stand, and one in each of two readings of one place.
- On an equal percentage valve a slip is seen where a place was read more than once.
- Up and down exchanged on a valve without play, and without times.
- A copy that was touched up reading by reading, and one of a valve whose readings are round numbers.
- A permit, a date of mechanical completion, the revision of a datasheet or of a form: no table holds them. A record
  that was written over leaves no trace in a file.
"""


def false_alarm_table(found: Clean) -> str:
    """A row a rule, in the order in which they are asked."""
    return "".join(
        f"| {rule} | {count} | {count / found.records:.2%} |\n" for rule, count in found.by_rule.items() if rule
    )


def catch_table(caught: Iterable[Caught]) -> str:
    """A row an error."""
    return "".join(
        f"| {each.error.name} | {each.by_its_rule / each.records:.0%} | {each.by_any / each.records:.0%} |\n"
        for each in caught
    )


def clean_units(records: int) -> Clean:
    """So many clean records, in units of 500."""
    found = Clean(0)
    for first in range(0, records, _UNIT):
        own = false_alarms(min(_UNIT, records - first), first)
        found.records, found.in_all = found.records + own.records, found.in_all + own.in_all
        found.by_rule.update(own.by_rule)
    return found


def page(clean: Clean, caught: list[Caught]) -> str:
    """The whole page."""
    head = INTRODUCTION.format(records=clean.records, in_all=clean.in_all, share=f"{clean.in_all / clean.records:.2%}")
    return head + false_alarm_table(clean) + CATCHES.format(records=caught[0].records) + catch_table(caught) + NOTES


def main() -> None:
    """Print the page, or write it."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--clean", type=int, default=5000, help="records without an error (default 5000)")
    parser.add_argument("--spoilt", type=int, default=200, help="records with each error (default 200)")
    parser.add_argument("--page", action="store_true", help="write the page of the guide")
    asked = parser.parse_args()
    made = page(clean_units(asked.clean), [catch(error, asked.spoilt) for error in ERRORS])
    if asked.page:
        PAGE.write_text(made, encoding="utf-8", newline="\n")
    print(made)


if __name__ == "__main__":
    main()
