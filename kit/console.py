"""What the command prints: lines, row counts and progress."""

from __future__ import annotations

import json
import math
import sys
import time
from collections.abc import Iterable
from pathlib import Path
from types import TracebackType
from typing import IO, Final, Self

from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn

from kit.basis.records import RowCount
from kit.runs.done import TagDone
from kit.runs.errors import RunError

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


class BatchProgress:
    """Progress of a batch: a bar on a terminal, elsewhere a plain line every few seconds.

    Call it as each tag is done; a tag whose notebook failed is named at once. With a log file, one
    line of JSON a tag is added to it.
    """

    def __init__(self, log_file: Path | None = None) -> None:
        self._console = Console(stderr=True)
        self._bar: Progress | None = None
        self._log_file = log_file
        self._log: IO[str] | None = None
        self._first_s: float | None = None
        self._told_s = time.monotonic()
        self._failed = 0
        self._made: str = "reports"

    def __enter__(self) -> Self:
        if self._log_file is not None:
            self._log = _opened(self._log_file)
        if self._console.is_terminal:
            columns = (
                TextColumn("{task.description}"),
                BarColumn(),
                MofNCompleteColumn(),
                TextColumn("{task.fields[told]}"),
            )
            self._bar = Progress(*columns, console=self._console)
            self._bar.add_task(self._made, total=None, told="")
            self._bar.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self._bar is not None:
            self._bar.stop()
        if self._log is not None:
            self._log.close()

    def __call__(self, each: TagDone) -> None:
        if self._log is not None:
            self._log.write(log_line(each))
        if each.made != self._made:
            self._begin_another(each.made)
        if each.error:
            self._failed += 1
            self._console.print(f"{each.tag}: {each.error}", markup=False, highlight=False, soft_wrap=True)
        now_s = time.monotonic()
        self._first_s = now_s if self._first_s is None else self._first_s
        told = progress_words(each.done, each.of, self._failed, now_s - self._first_s)
        if self._bar is not None:
            self._bar.update(self._bar.task_ids[-1], completed=each.done, total=each.of, told=told)
        elif each.done == each.of or now_s - self._told_s >= _LINE_EVERY_S:
            self._told_s = now_s
            say(f"{each.done} of {each.of} {self._made}, {told}", error=True)

    def _begin_another(self, made: str) -> None:
        """From here on something else is made of the tags: it is counted and timed by itself."""
        self._made, self._failed, self._first_s = made, 0, None
        if self._bar is not None:
            self._bar.add_task(made, total=None, told="")


def progress_words(done: int, of: int, failed: int, since_first_s: float) -> str:
    """Failed, remaining, rate and estimated end of a batch; the time runs from the first report on.

    Examples
    --------
    >>> progress_words(1, 120, 0, 0.0)
    '0 failed, 119 remaining'
    >>> progress_words(31, 120, 1, 10.0)
    '1 failed, 89 remaining, 180 a minute, about 30 s to go'
    >>> progress_words(1001, 10000, 0, 200.0)
    '0 failed, 8999 remaining, 300 a minute, about 30 min to go'
    """
    words = f"{failed} failed, {of - done} remaining"
    if done < 2 or since_first_s <= 0:
        return words
    rate = 60 * (done - 1) / since_first_s
    left_s = 60 * (of - done) / rate
    time_left = f"{left_s:.0f} s" if left_s < 100 else f"{math.ceil(left_s / 60)} min"
    end = f", about {time_left} to go" if done < of else ""
    return f"{words}, {rate:.0f} a minute{end}"


def log_line(each: TagDone) -> str:
    """One tag as a line of JSON."""
    content = {
        "tag": each.tag,
        "verdict": each.verdict,
        "seconds": round(each.seconds, 3),
        "peak_memory_mb": each.peak_memory_mb,
        "problems": each.problems,
        "error": each.error,
        "made": each.made,
    }
    return json.dumps(content, ensure_ascii=False) + "\n"


def _opened(path: Path) -> IO[str]:
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        return path.open("a", encoding="utf-8", buffering=1)
    except OSError as error:
        raise RunError(f"{path}: cannot be written ({error.strerror}). Give another --log-file.") from error
