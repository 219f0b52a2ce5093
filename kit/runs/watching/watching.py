"""Watching a unit: its pages made again at each save, and a page that follows them."""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from pathlib import Path

from kit.runs.engines import Engine
from kit.runs.notebook.kernel_settings import PREFIX
from kit.runs.notebook.source import Source
from kit.runs.watching.bench import Bench
from kit.runs.watching.changes import Stop, look_at_each_save
from kit.runs.watching.following import following
from kit.runs.watching.news import News, Tell


def watch_unit(
    unit_folder: Path,
    outputs: Path,
    tag: str | None,
    *,
    notebook: Source,
    time_limit_s: int,
    engine: Engine,
    tell: Tell,
    begun: Callable[[str], None],
    stop: Stop,
) -> None:
    """Make the pages of a unit's tags again at each save, until ``stop`` is set.

    ``tag``: the only one that is made; None: every one whose records changed. ``begun`` gets the address of the page
    that follows, once saves are looked at.

    Raises
    ------
    UnitError, RunError
        If the unit's folder, the tag or the outputs folder cannot be used at the beginning.
    """
    with following(outputs) as follower, tempfile.TemporaryDirectory(prefix=PREFIX) as kept:

        def tell_both(news: News) -> None:
            tell(news)
            follower.tell(news)

        bench = Bench(unit_folder, outputs, tag, notebook, time_limit_s, engine, tell_both, stop, Path(kept))
        bench.begin()
        begun(follower.address)
        look_at_each_save(unit_folder, bench.look, stop)
