"""What the command prints: lines, row counts, problems and progress."""

from __future__ import annotations

import sys
import time
from collections.abc import Iterable
from types import TracebackType
from typing import Final, Self

from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

from kit.records.model import Problem, RowCount

_LINE_EVERY_S: Final = 5.0


def say(text: str, *, error: bool = False) -> None:
    """One plain line; errors go to the error stream."""
    print(text, file=sys.stderr if error else sys.stdout, flush=True)


def row_count_lines(counts: Iterable[RowCount]) -> list[str]:
    """One line a file: rows read, used and set aside; then their sums."""
    listed = list(counts)
    width = max([len(count.file) for count in listed] + [len("all files")])
    lines = [f"{'file':{width}}  {'table':<14} {'read':>8} {'used':>8} {'set aside':>10}"]
    lines += [
        f"{count.file:{width}}  {count.table:<14} {count.read:>8} {count.used:>8} {count.set_aside:>10}"
        for count in listed
    ]
    read, used, aside = (sum(getattr(count, name) for count in listed) for name in ("read", "used", "set_aside"))
    lines.append(f"{'all files':{width}}  {'':<14} {read:>8} {used:>8} {aside:>10}")
    return lines


def problem_lines(problems: Iterable[Problem]) -> list[str]:
    """Each problem with its place, the value found there and what became of the row."""
    return [line for problem in problems for line in _problem_lines(problem)]


def _problem_lines(problem: Problem) -> list[str]:
    place = problem.file if problem.row is None else f"{problem.file}, row {problem.row}"
    if problem.column:
        place += f", {problem.column}"
    if problem.tag:
        place += f" ({problem.tag})"
    found = f" found {problem.value!r}" if problem.value else ""
    outcome = "set aside" if problem.set_aside else "flagged"
    return [f"{place}:{found} [{outcome}]", f"    {problem.problem}"]


class BatchProgress:
    """Progress of a batch: a bar on a terminal, elsewhere a plain line every few seconds.

    Call it as each tag is done; a tag whose notebook failed is named at once.
    """

    def __init__(self) -> None:
        self._console = Console(stderr=True)
        self._bar: Progress | None = None
        self._started_s = time.monotonic()
        self._told_s = self._started_s
        self._failed = 0

    def __enter__(self) -> Self:
        if self._console.is_terminal:
            columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TimeRemainingColumn())
            self._bar = Progress(*columns, console=self._console)
            self._bar.add_task("reports", total=None)
            self._bar.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self._bar is not None:
            self._bar.stop()

    def __call__(self, done: int, total: int, tag: str, error: str) -> None:
        if error:
            self._failed += 1
            self._console.print(f"{tag}: {error}", markup=False, highlight=False, soft_wrap=True)
        if self._bar is not None:
            self._bar.update(self._bar.task_ids[0], completed=done, total=total)
            return
        now_s = time.monotonic()
        if done == total or now_s - self._told_s >= _LINE_EVERY_S:
            self._told_s = now_s
            rate = 60 * done / max(now_s - self._started_s, 1e-9)
            say(f"{done} of {total} reports, {self._failed} failed, {rate:.0f} a minute", error=True)
