"""Which of several rows about one thing came last."""

from __future__ import annotations

from datetime import datetime

from kit.basis.rows import Rows


def latest_row(rows: Rows) -> int | None:
    """The place of the row that came last; None where nothing tells.

    Notes
    -----
    House definition: by their times ``at`` where every row has one, of equal times the one lower in its file; without
    any, the lowest in their file. Rows of several files without times have no order, and neither have rows of which
    some have a time.
    """
    if len(rows) < 2:
        return len(rows) - 1 if len(rows) else None
    times, files = [str(each) for each in rows["at"].tolist()], set(rows["file"].tolist())
    if not any(times):
        return len(rows) - 1 if len(files) == 1 else None
    moments = [_moment(each) for each in times]
    known = [each for each in moments if each is not None]
    if len(known) < len(moments) or len({each.tzinfo is None for each in known}) > 1:
        return None
    latest = max(known)
    last = [place for place, each in enumerate(known) if each == latest]
    return last[-1] if len({rows["file"][place] for place in last}) == 1 else None


def _moment(text: str) -> datetime | None:
    try:
        return datetime.fromisoformat(text)
    except ValueError:
        return None
