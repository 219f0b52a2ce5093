"""The unit's tables, collected tag by tag from what the notebooks computed."""

from __future__ import annotations

import contextlib
import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import IO, Any, Final

from kit.assessment.pile_up import PileUp
from kit.assessment.shown.made_again import due_of, stale_words
from kit.assessment.shown.punch_entries import STATE_WORDS, Stray, by_tag, strays, with_entries
from kit.assessment.shown.summaries import SUMMARIES, file_of, summaries
from kit.assessment.shown.unit_results import passing, used
from kit.basis.punch import PunchEntry
from kit.basis.records import Problem, UnitRecords
from kit.basis.registers import Tag
from kit.records import problem_from
from kit.runs.outputs.csv_tables import (
    CSV_ENCODING,
    PROBLEMS_COLUMNS,
    PUNCH_LIST_COLUMNS,
    RESULTS_COLUMNS,
    TAGS_COLUMNS,
    csv_lines,
)
from kit.runs.errors import RunError
from kit.runs.hashing import sha256_of_file
from kit.runs.outputs.open_records import as_judged, open_lines
from kit.runs.outputs.store import Store, refused
from kit.runs.outputs.collected import COLLECTED, collected, collected_head, collected_line
from kit.runs.outputs.workbook.unit_workbook import WORKBOOK, write_unit_workbook

_BY_TAG: Final = ("results.csv", "tags.csv", "punch_list.csv")
_OF_PROBLEMS: Final = ("problems.csv", "open_records.csv")
_CSV: Final = ("results.csv", "tags.csv", *_OF_PROBLEMS, "punch_list.csv")
TABLES: Final = (*_CSV, *map(file_of, SUMMARIES), WORKBOOK)


@dataclass(frozen=True, slots=True)
class Collection:
    """What was collected: the tables, prepared, and what the unit's page is made from."""

    folder: Path  # holds the file that the unit's notebook reads
    verdicts: dict[str, str] = field(default_factory=dict)  # by tag; "" where there is no result
    digests: dict[str, str] = field(default_factory=dict)  # SHA-256 by table


def collect(
    unit: UnitRecords, store: Store, folders: Mapping[str, str], gone: Iterable[str] = ()
) -> Collection:
    """Prepare the unit's tables, one tag's result at a time; ``gone``: issues that the outputs remember, in sentences.

    A tag whose notebook failed has no result: its row in tags.csv names the page and no verdict.
    """
    found = Collection(store.prepared("collected"))
    with refused(found.folder), contextlib.ExitStack() as stack:
        found.folder.mkdir(parents=True, exist_ok=True)
        paths = {name: store.prepared(name) for name in _BY_TAG} | {COLLECTED: found.folder / COLLECTED}
        open_files = {name: stack.enter_context(_opened(path)) for name, path in paths.items()}
        open_files[COLLECTED].write(collected_head(unit, gone))
        open_files["results.csv"].writelines(csv_lines(RESULTS_COLUMNS, ()))
        open_files["punch_list.csv"].writelines(csv_lines(PUNCH_LIST_COLUMNS, ()))
        judged: list[Problem] = []
        lines = _tag_rows(unit, store, folders, open_files, found.verdicts, judged)
        columns = (*TAGS_COLUMNS, *_further(unit.tags.values()).values())
        open_files["tags.csv"].writelines(csv_lines(columns, lines))
    with refused(found.folder):
        results = collected(found.folder / COLLECTED)
        problems = [*as_judged(unit.problems, judged), *results.crowds, *map(_stray, results.punch_strays())]
        of_problems = csv_lines(PROBLEMS_COLUMNS, map(_problem_row, problems)), open_lines(problems, unit.tags)
        for name, rows in zip(_OF_PROBLEMS, of_problems, strict=True):
            with _opened(store.prepared(name)) as file:
                file.writelines(rows)
        counted = summaries(results)
        for each in counted:
            with _opened(store.prepared(file_of(each.name))) as file:
                file.writelines(csv_lines(each.columns, each.rows))
        write_unit_workbook(store.prepared(WORKBOOK), {name: store.prepared(name) for name in _CSV}, results, counted)
    found.digests.update({name: sha256_of_file(store.prepared(name)) for name in TABLES})
    return found


def _tag_rows(
    unit: UnitRecords,
    store: Store,
    folders: Mapping[str, str],
    open_files: Mapping[str, IO[str]],
    verdicts: dict[str, str],
    judged: list[Problem],
) -> Iterator[dict[str, Any]]:
    """One row of tags.csv a tag; on the way its rows of other tables are written, its own problems put by."""
    further, entries = _further(unit.tags.values()), by_tag(unit.punch)
    for tag, folder in folders.items():
        result = _result(store.folder / "tags" / folder / "result.json")
        kept = used(result)
        report = f"tags/{folder}/report.html"
        open_files["results.csv"].writelines(_rows(RESULTS_COLUMNS, result.get("results", ())))
        open_files["punch_list.csv"].writelines(_rows(PUNCH_LIST_COLUMNS, _punch_rows(result, entries.get(tag, ()))))
        judged += map(problem_from, result.get("found_problems", ()))
        open_files[COLLECTED].write(collected_line(unit.tags[tag], report, kept))
        verdicts[tag] = result.get("verdict", "")
        again = due_of(kept) | {"stale_checks": stale_words(kept)}
        yield {**result, **_of_issue(result), **again, **_of_register(unit.tags[tag], further), "report": report}


def _punch_rows(result: Mapping[str, Any], entries: Sequence[PunchEntry]) -> list[dict[str, Any]]:
    items = with_entries(result.get("punch_list", ()), entries, result.get("date", ""))
    return [item | {"state": STATE_WORDS[item["state"]]} for item in items]


def _stray(stray: Stray) -> Problem:
    """An entry of no item is told; it holds no check back."""
    entry = stray.entry
    return Problem(entry.file, entry.row, "what", entry.what or entry.check, stray.why, entry.tag, table="punch")


def _of_issue(result: Mapping[str, Any]) -> dict[str, Any]:
    """How a tag's page stands to its last issue."""
    issue = result.get("issue") or {}
    last = issue.get("last") or {}
    said = {"issued_revision": last.get("revision"), "issued_on": last.get("on")}
    return {"issue_standing": issue.get("standing"), **said}


def _of_register(tag: Tag, further: Mapping[str, str]) -> dict[str, Any]:
    """What the register says of a tag, whether or not its notebook came to an end."""
    own = {column: tag.further.get(name, "") for name, column in further.items()}
    return {"tag": tag.tag, "service": tag.service, "safety_function": tag.safety_function, **own}


def _further(tags: Iterable[Tag]) -> dict[str, str]:
    """The register's own columns, and what they are called beside ours."""
    names = dict.fromkeys(name for tag in tags for name in tag.further)
    return {name: f"{name} (register)" if name in TAGS_COLUMNS else name for name in names}


def _rows(columns: tuple[str, ...], rows: Iterable[Mapping[str, Any]]) -> Iterator[str]:
    lines = csv_lines(columns, rows)
    next(lines)  # the header stands already
    return lines


def _opened(path: Path) -> IO[str]:
    path.parent.mkdir(parents=True, exist_ok=True)
    return path.open("w", encoding=CSV_ENCODING if path.suffix == ".csv" else "utf-8", newline="")


def _result(path: Path) -> dict[str, Any]:
    if not path.is_file():
        return {}
    try:
        content: dict[str, Any] = json.loads(path.read_bytes())
    except ValueError as error:
        raise RunError(f"{path}: not as it was made ({error}). Delete it, and run the same command again.") from error
    return content


def _problem_row(problem: Problem) -> dict[str, Any]:
    return {column: getattr(problem, column) for column in PROBLEMS_COLUMNS}
