"""A unit at the bench: each look at it makes the pages of those tags again whose records changed."""

from __future__ import annotations

import json
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

from kit.basis.records import Problem, UnitRecords
from kit.basis.verdicts import VERDICT_WORDS
from kit.records import UnitError, tag_mark, tag_records, to_slice
from kit.records.remembered import Remembered
from kit.records.unit import read_unit
from kit.runs.engines import Engine
from kit.runs.errors import RunError
from kit.runs.notebook.execute import TagRun, run_tag
from kit.runs.notebook.source import Source
from kit.runs.outputs.dossier import Dossier, offers_instruments, open_dossier, shows_places
from kit.runs.outputs.lock import locked
from kit.runs.outputs.standing import check_place
from kit.runs.paper.binding import withdraw_stale
from kit.runs.watching.changes import Stop
from kit.runs.watching.news import News, Tell

_ANY: Final = b""  # stands for what no page of a tag shows: the numbers of its rows, or the register's instruments
Mark = tuple[bytes, bytes, bytes]


@dataclass(slots=True)
class Bench:
    """A unit that is looked at again and again. What did not change since the look before is not read again."""

    unit_folder: Path
    outputs: Path
    tag: str | None  # the one that is watched; None: every tag of the register
    notebook: Source
    time_limit_s: int
    engine: Engine
    tell: Tell
    stop: Stop  # once it is set no further page is begun
    kept: Path | None = None  # an empty folder for what kernels leave to the next ones
    _remembered: Remembered = field(default_factory=Remembered)
    _marks: dict[str, Mark] = field(default_factory=dict)  # of each tag's records, as last seen
    _open: dict[str, frozenset[str]] = field(default_factory=dict)  # keys of each tag's unanswered records
    _could_be_read: set[str] = field(default_factory=set)
    _told: str = ""

    def begin(self) -> None:
        """Read the unit and make the watched tag's page; without one, learn what there is.

        A notebook is run once either way: what the first run imports, the next ones have.

        Raises
        ------
        UnitError, RunError
            If the unit's folder, the tag or the outputs folder cannot be used.
        """
        check_place(self.unit_folder, self.outputs)
        started_s = time.perf_counter()
        unit = self._read()
        if self.tag is not None:
            self._make_changed(unit, started_s)
            return
        self._marks = {tag: (tag_mark(unit, tag)[0], _ANY, _ANY) for tag in unit.tags}
        self._open = {tag: _unanswered(unit, tag) for tag in unit.tags}
        self._run(unit, next(iter(unit.tags)))

    def look(self) -> bool:
        """Make the pages again that changed, and tell; True: something could not be done now, so look again soon."""
        started_s = time.perf_counter()
        try:
            unit = self._read()
            lost = [each for each in unit.problems if _is_lost(each, unit) and each.file in self._could_be_read]
            if lost:
                self._stays(f"{lost[0].file}: {lost[0].problem}")
                return False
            self._make_changed(unit, started_s)
        except UnitError as error:
            self._stays(str(error))
        except RunError as error:
            self._stays(str(error))
            return True
        return False

    def _read(self) -> UnitRecords:
        unit = read_unit(self.unit_folder, recordings_of=self.tag, remembered=self._remembered)
        self._could_be_read.update(count.file for count in unit.counts)
        return unit

    def _make_changed(self, unit: UnitRecords, started_s: float) -> None:
        changed = dict(self._changed(unit))
        if not changed:
            if self._told:
                self._told = ""
                self.tell(News("Everything can be read again, and nothing of it changed."))
            return
        with locked(self.outputs) as work:
            dossier = open_dossier(unit, self.unit_folder, self.outputs, work, self.notebook)
            try:
                for tag, mark in changed.items():
                    if self.stop.is_set():
                        break
                    self._make(dossier, tag, mark, started_s)
            finally:  # so that what was made is on record, whatever ended it
                withdraw_stale(dossier)
                dossier.put_on_record(whole_unit=False)

    def _make(self, dossier: Dossier, tag: str, mark: Mark, started_s: float) -> None:
        outcome = self._run(dossier.unit, tag)
        if outcome.result is None:
            self._stays(f"{tag}: {outcome.error}")
            return
        dossier.keep_tag(tag, outcome)
        share, rows, register = mark
        shown = shows_places(outcome), offers_instruments(outcome)
        self._marks[tag] = (share, rows if shown[0] else _ANY, register if shown[1] else _ANY)
        self._tell_made(dossier, tag, json.loads(outcome.result), time.perf_counter() - started_s)

    def _changed(self, unit: UnitRecords) -> Iterator[tuple[str, Mark]]:
        for tag in unit.tags if self.tag is None else (self.tag,):
            mark = tag_mark(unit, tag)
            seen = self._marks.get(tag)
            if seen is None or any(was not in (now, _ANY) for was, now in zip(seen, mark, strict=True)):
                yield tag, mark

    def _run(self, unit: UnitRecords, tag: str) -> TagRun:
        return run_tag(
            tag,
            to_slice(tag_records(unit, tag)),
            f"inputs/{unit.settings.unit}",
            notebook=self.notebook,
            time_limit_s=self.time_limit_s,
            engine=self.engine,
            kept=self.kept,
        )

    def _tell_made(self, dossier: Dossier, tag: str, result: dict[str, str], seconds: float) -> None:
        unanswered = _unanswered(dossier.unit, tag)
        new = unanswered - self._open.get(tag, unanswered)
        self._open[tag] = unanswered
        opened = [each for each in dossier.unit.problems_by_tag.get(tag, ()) if _key(each) in new]
        line = f"{tag}: {VERDICT_WORDS.get(result['verdict'], 'No verdict')}: {result['reason']}"
        self._told = ""
        self.tell(News(line, page=dossier.place(tag, "report.html"), seconds=seconds, opened=_told_of(opened)))

    def _stays(self, why: str) -> None:
        """Tell why no page is made, once."""
        if why != self._told:
            self._told = why
            self.tell(News(why, stays=True))


def _is_lost(problem: Problem, unit: UnitRecords) -> bool:
    """Whether a whole file cannot be read: half written, as a rule, by whoever is saving it."""
    whole = problem.row is None and problem.status == "open" and not problem.column and not problem.sheet
    return whole and all(count.file != problem.file for count in unit.counts)


def _unanswered(unit: UnitRecords, tag: str) -> frozenset[str]:
    return frozenset(_key(each) for each in unit.problems_by_tag.get(tag, ()) if each.status == "open")


def _key(problem: Problem) -> str:
    return f"{problem.record} {problem.column} {problem.problem}"


def _told_of(opened: list[Problem]) -> str:
    if not opened:
        return ""
    first, more = opened[0], len(opened) - 1
    row = f" row {first.row}" if first.row is not None else ""
    column = f", {first.column}" if first.column else ""
    others = f" And {more} more." if more else ""
    return f"Unanswered: {first.file}{row}{column}: {first.problem}{others}"
