"""The tables on the page of an instrument."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Final

from kit.assessment.touched.impact import CheckImpact, TagImpact
from kit.assessment.touched.readings import LOGS, Reading, VisitTouched
from kit.assessment.what_if.outcomes import COUNTED_WORDS, OUTCOME_WORDS
from kit.basis.verdicts import VERDICT_WORDS
from kit.views.analysis.what_if_page import SUPPOSED, would
from kit.views.pieces.check_texts import check_limit, check_title, check_uncertainty_text, check_value
from kit.views.pieces.numbers import NONE, signed
from kit.views.pieces.rounding import share_text
from kit.views.pieces.text_tables import TABLE_WORDS, Cell, Column, Table, Verdict, stage_word, table, verdict_cell

LISTED: Final = 2000  # a page lists no more; the CSV beside it has them all
Link = Callable[[str], str]  # from a tag to the address of its report

_CHECK_COLUMNS: Final[tuple[str | Column, ...]] = (
    Column("Tag", "fixed"),
    "Check",
    "What becomes of it",
    "Limit:",
    "On record:",
    "U on record:",
    Column("Verdict on record", "word"),
    "Corrected:",
    "U corrected:",
    Column("Verdict corrected", "word"),
)
_TAG_COLUMNS: Final[tuple[str | Column, ...]] = (
    Column("Tag", "fixed"),
    "Service",
    Column("Verdict on record", "word"),
    Column("Verdict corrected", "word"),
    "What becomes of it",
    "Checks that do not stand",
    "Greatest change",
)


def change_table(changed: Sequence[CheckImpact], link: Link) -> Table:
    """Each check whose verdict does not stand, before and after."""
    note = f"The first {LISTED} of {len(changed)} are listed; checks.csv has them all." if len(changed) > LISTED else ""
    rows = [_change_row(each, link) for each in changed[:LISTED]]
    return table("Verdicts that do not stand", _CHECK_COLUMNS, rows, note, kind="wide")


def unjudged_table(unjudged: Mapping[tuple[str, str], Sequence[str]]) -> Table:
    """The checks that can no longer be judged, with the reason and the tags."""
    rows = [[title, reason, str(len(tags)), ", ".join(tags)] for (title, reason), tags in unjudged.items()]
    return table("Checks that can no longer be judged", ["Check", "Why", "Tags:", "Which"], rows, kind="wide")


def tag_table(impacts: Sequence[TagImpact], link: Link) -> Table:
    """Each tag before and after, with its greatest change."""
    rows = [_tag_row(each, link) for each in impacts[:LISTED]]
    note = "Greatest change: of the checks that decide, in % of the check's tolerance."
    return table("Every tag that was read with it", _TAG_COLUMNS, rows, note, kind="wide")


def visit_table(visits: Sequence[VisitTouched], link: Link) -> Table:
    """What was read on each visit, and where it stands."""
    columns: list[str | Column] = [Column("Tag", "fixed"), "Visit", Column("Date", "fixed"), "Used for"]
    columns += ["Readings:", "What was read, and in which rows", "On that day"]
    rows = [_visit_row(each, link) for each in visits[:LISTED]]
    note = f"The first {LISTED} of {len(visits)} are listed; readings.csv has them all." if len(visits) > LISTED else ""
    return table("Every visit that names it", columns, rows, note, kind="wide")


def _change_row(each: CheckImpact, link: Link) -> list[str | Cell]:
    before, after = each.change.before, each.change.after
    where = "" if each.decides else f"visit {each.visit}, {stage_word(each.stage)}, does not decide"
    reason = after.reason if after is not None and after.reason else ""
    small = signed("; ".join(part for part in (where, reason) if part))
    cells: list[str | Cell] = [Cell(each.tag, href=link(each.tag)), Cell(check_title(each.change.shown), small=small)]
    cells += [OUTCOME_WORDS[each.outcome], check_limit(each.change.shown)]
    if before is None:
        cells += [NONE, NONE, NONE]
    else:
        cells += [check_value(before), check_uncertainty_text(before), verdict_cell(before.verdict)]
    if after is None:
        return [*cells, NONE, NONE, NONE]
    word = Cell(verdict=Verdict(would(after.verdict), SUPPOSED))
    return [*cells, check_value(after), check_uncertainty_text(after), word]


def _tag_row(impact: TagImpact, link: Link) -> list[str | Cell]:
    count = Counter(each.outcome for each in impact.checks if each.decides)
    told = [
        f"{count[name]} {words[count[name] > 1]}"
        for name, words in COUNTED_WORDS.items()
        if count[name] and name != "stands"
    ]
    greatest = impact.greatest
    after = f"would be {VERDICT_WORDS[impact.verdict_after].lower()}"
    return [
        Cell(impact.tag, href=link(impact.tag)),
        impact.service,
        verdict_cell(impact.verdict_before),
        Cell(verdict=Verdict(after, SUPPOSED)),
        OUTCOME_WORDS[impact.outcome],
        ", ".join(told) or "none",
        NONE if greatest is None else _greatest_text(greatest),
    ]


def _greatest_text(greatest: CheckImpact) -> str:
    return f"{check_title(greatest.change.shown)}, by {share_text(greatest.moved_pct / 100.0)}"


def _visit_row(visit: VisitTouched, link: Link) -> list[str | Cell]:
    return [
        Cell(visit.tag, href=link(visit.tag)),
        visit.visit,
        visit.date,
        ", ".join(visit.roles),
        str(sum(each.value is not None for each in visit.readings)),
        "; ".join(places(visit.readings)) or "nothing",
        signed(visit.fault) or "in order",
    ]


def places(readings: Iterable[Reading]) -> list[str]:
    """What was read in which rows of which files; recordings with their extent."""
    rows: dict[tuple[str, str], list[int]] = {}
    extents: dict[str, str] = {}
    for each in readings:
        if each.row is not None:
            rows.setdefault((each.table, each.file), []).append(each.row)
        elif each.table == LOGS:
            extents[each.file] = (
                f"recorded: {each.file}, {each.from_s:.0f} to {each.to_s:.0f} s, {each.samples} samples"
            )
    told = [
        f"{len(found)} in {TABLE_WORDS[name].lower()}, {file.removeprefix('records/')}:{_runs(sorted(set(found)))}"
        for (name, file), found in rows.items()
    ]
    return [*told, *extents.values()]


def _runs(rows: Sequence[int]) -> str:
    """Row numbers as a person writes them: "2-9, 12"."""
    runs: list[list[int]] = []
    for row in rows:
        if runs and row == runs[-1][-1] + 1:
            runs[-1] = [runs[-1][0], row]
        else:
            runs.append([row])
    return ", ".join("–".join(str(each) for each in dict.fromkeys((run[0], run[-1]))) for run in runs)
