"""What a list's headings mean: printed as a table with its proposals, or asked for one by one on a terminal."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Final

from kit.records.cells.nearest import nearest
from kit.starting.folder import NewUnitError
from kit.starting.listed import Listed
from kit.starting.meaning import OWN, SHOWN, TAGS, Meaning, as_line, fits_a_line, propose_words, unclear
from kit.starting.words import Columns, unit_fits, without_unit

_NEEDED: Final = ("command_range", "fail_action")
_WIDEST: Final = 30  # signs of a cell that a table of proposals shows


def proposal_lines(listed: Listed, meaning: Meaning) -> list[str]:
    """The headings with what each is proposed to be and its first values, then the words, then what has no heading."""
    names = {heading: "+".join(columns) or OWN for heading, columns in meaning.columns.items()}
    wide, wider = (max(map(len, each)) for each in (names, names.values()))
    lines = [f"{listed.file}: {len(listed)} rows under {len(listed.headings)} headings. Proposed:"]
    for heading, name in names.items():
        first = ", ".join(_cut(each) for each in listed.values(heading)[:SHOWN])
        lines.append(f"  {heading:{wide}}  {name:{wider}}  {first}".rstrip())
    lines += [f"  {column}: {cell!r} means {word}" for (column, cell), word in meaning.words.items()]
    lacking = [column for column in _NEEDED if meaning.heading_of(column) is None and column not in meaning.for_all]
    if lacking:
        lines.append(f"No heading for {' and '.join(lacking)}, which every tag needs: all:{lacking[0]}=... sets one.")
    return lines


def how_to_confirm(call: str, meaning: Meaning) -> str:
    """The line to type once the proposals are right."""
    if fits_a_line(meaning):
        return f'{call} --columns "{as_line(meaning)}"'
    return f"{call} --columns FILE.toml (a file that is not there is written with these proposals, to be corrected)"


@dataclass(frozen=True, slots=True)
class Asking:
    """A person at a terminal, asked what a list's headings and words mean."""

    listed: Listed
    ask: Callable[[str, str], str]  # a question and what is proposed, to the answer
    say: Callable[[str], None]

    def meaning(self, proposed: Meaning) -> Meaning:
        """Ask what each heading is, then each word, then what every tag has."""
        self.say(f"{self.listed.file}: {len(self.listed)} rows. What is each heading? Enter takes what is in brackets;")
        self.say(f"`{OWN}` carries a column along as the plant's own; a heading that fills two has a + between them.")
        columns: dict[str, Columns] = {}
        for heading, likely in proposed.columns.items():
            taken = frozenset(each for own in columns.values() for each in own)
            columns[heading] = self._column(heading, tuple(each for each in likely if each not in taken), taken)
        asked = propose_words(self.listed, Meaning(columns))
        if asked.heading_of("tag") is None:
            raise NewUnitError("No heading is tag: nothing is written. Run the command again and say which one is.")
        words = {key: self._word(*key, asked.words.get(key, "")) for key in unclear(self.listed, asked)}
        for_all: dict[str, str] = {}
        for column in _NEEDED:
            if asked.heading_of(column) is None:
                value = self.ask(f"{column} of every tag, which no heading is (blank: not known)", "").strip()
                for_all |= {column: value} if value else {}
        return replace(asked, words={key: word for key, word in words.items() if word}, for_all=for_all)

    def _column(self, heading: str, likely: Columns, taken: frozenset[str]) -> Columns:
        first = ", ".join(_cut(each) for each in self.listed.values(heading)[:SHOWN]) or "no values"
        while True:
            answer = self.ask(f"{heading} ({first})", "+".join(likely) or OWN).strip()
            columns = () if answer == OWN else tuple(each.strip() for each in answer.split("+"))
            fault = next(filter(None, (_fault(each, heading, taken) for each in columns)), "")
            if not fault:
                return columns
            self.say(fault)

    def _word(self, column: str, cell: str, likely: str) -> str:
        """The word that a cell means; "" where it is left blank, if a blank means no more than that."""
        words, blank = TAGS.words(column), TAGS.blank(column)
        while True:
            answer = self.ask(f"{column}: {cell!r} means", likely).strip()
            if answer in words or not (answer or blank):
                return answer
            self.say(f"It has to be one of {', '.join(words)}{'' if blank else ', or blank: not known'}.")


def _fault(column: str, heading: str, taken: frozenset[str]) -> str:
    if column not in TAGS.columns:
        close = nearest(column, TAGS.columns)
        return f"{column!r} is no column.{f' Was {close} meant?' if close else ''} Known: {', '.join(TAGS.columns)}."
    if column in taken:
        return f"Another heading is {column} already."
    unit = without_unit(heading)[1]
    return "" if unit_fits(column, unit) else f"The heading is in {unit}, which {column} is not. Nothing is converted."


def _cut(cell: str) -> str:
    return cell if len(cell) <= _WIDEST else f"{cell[: _WIDEST - 3]}..."
