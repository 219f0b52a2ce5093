"""The page of an instrument, part by part: what it touched and, where its error is known, what becomes of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final

import kit
from kit.assessment.touched.impact import outcomes
from kit.assessment.touched.summary import KnownError, Touched
from kit.assessment.what_if.outcomes import COUNTED_WORDS
from kit.views.analysis.share_figure import NO_RECORD, share_figure
from kit.views.pieces.check_texts import check_title
from kit.views.pieces.input_hash import input_hash
from kit.views.pieces.parts import Page, Part, Section, attribute, render
from kit.views.pieces.sheets import Sheet, placed
from kit.views.pieces.slugs import slug
from kit.views.pieces.text_tables import Cell, table
from kit.views.report.headings import Heading
from kit.views.touched import words
from kit.views.touched.tables import Link, change_table, tag_table, unjudged_table, visit_table

_UNIT_PAGE: Final = "../../index.html"
_ASSETS: Final = "../../assets"
_CHANGES, _VISITS = "What becomes of the checks", "What it touched"
_FLIPS_TOLD: Final = 6  # at the head of the page; the table has them all
_CSV: Final = {
    "readings.csv": "every reading and every recorded channel, unrounded",
    "tags.csv": "every tag before and after",
    "checks.csv": "every check before and after, unrounded, with what becomes of it",
}


@dataclass(frozen=True, slots=True)
class Front:
    """Head of the page."""

    notice: str
    kind: str
    instrument: str
    description: str
    counts: tuple[tuple[str, str, str], ...]  # each with the anchor that it leads to
    lines: tuple[str, ...]


def page_parts(found: Touched, reports: Mapping[str, str]) -> list[Part]:
    """The whole page; ``reports`` has the address of each tag's report, seen from it."""
    title = f"What {found.instrument} touched"
    page = Page(
        title=f"{title}, {found.settings.title}",
        document=f"{title}. {found.settings.title}",
        assets=_ASSETS,
        above=(_UNIT_PAGE, attribute(found.settings.title)),
        has_lists=True,
    )
    parts: list[Part] = [page, render("touched_front.html.j2", _front(found))]
    if found.known is not None:
        parts += _impact(found, found.known, reports)
    return [*parts, *_visits(found, reports), _provenance(found)]


def _front(found: Touched) -> Front:
    if found.known is None:
        counts = [(str(len(found.tags)), "tags"), (str(len(found.visits)), "visits")]
        counts.append((str(sum(each.value is not None for each in found.readings)), "readings"))
        anchor = slug(_VISITS)
    else:
        counts = [
            (str(count), COUNTED_WORDS[name][count > 1]) for name, count in outcomes(found.impacts).items() if count
        ]
        anchor = slug(_CHANGES)
    lines = [f"{words.touched_words(found)}.", words.since_words(found), words.calibration_words(found)]
    if found.not_used:
        lines.append(f"{found.not_used} rows of these tags are set aside and not listed: problems.csv has them.")
    lines = [*words.flip_lines(found.impacts, _FLIPS_TOLD), *lines]
    return Front(
        notice=found.settings.notice,
        kind=f"Instrument backwards, {found.settings.title}",
        instrument=found.instrument,
        description=found.functions[0].description if found.functions else "",
        counts=tuple((*each, anchor) for each in counts),
        lines=tuple(lines),
    )


def _impact(found: Touched, known: KnownError, reports: Mapping[str, str]) -> list[Part]:
    every = [each for impact in found.impacts for each in impact.changed]
    changed, unjudged = words.judged_both(every), words.unjudged(every)
    lines = [
        f"{NO_RECORD}.",
        f"Error of {found.instrument}: {words.error_words(known)}. {words.sign_words()} {words.outside_words(known)}",
        words.OWN_UNCERTAINTY,
        words.NO_VERDICT,
        *([words.ZEROED] if known.error.is_constant else []),
        *(_unknown(found)),
        *_beyond(found),
    ]
    tables = [change_table(changed, _link(reports))] if changed else []
    tables += [unjudged_table(unjudged)] if unjudged else []
    lines += [] if tables else ["Every verdict stands, of tags and of checks."]
    tables += [tag_table(found.impacts, _link(reports))] if found.impacts else []
    lanes = [each for each in changed if each.decides]
    lanes += [each.greatest for each in found.impacts if each.greatest is not None and each.greatest not in lanes]
    figure = share_figure(
        found.instrument, [(f"{each.tag}, {check_title(each.change.shown)}", each.change) for each in lanes]
    )
    head = _heading(_CHANGES, "Each check as it is on record and from corrected readings; those that flip stand first.")
    return [head, placed(Sheet("what-if", tuple(lines), tuple(tables))), *([figure] if figure is not None else [])]


def _visits(found: Touched, reports: Mapping[str, str]) -> list[Part]:
    head = _heading(_VISITS, "Every visit that names it, what was read with it there, and in which rows.")
    tables = (visit_table(found.visits, _link(reports)),) if found.visits else ()
    missing = "" if found.visits else "No visit names it."
    return [head, placed(Sheet("instruments", (), tables, missing))]


def _unknown(found: Touched) -> list[str]:
    """Of how many readings the error is not known, tag by tag."""
    told = [f"{each.tag}: {each.supposed[-1]}" for each in found.impacts if len(each.supposed) > 1]
    return told[:20] + ([f"So of {len(told) - 20} more tags."] if len(told) > 20 else [])


def _beyond(found: Touched) -> list[str]:
    if not found.beyond or found.known is None:
        return []
    return [f"Not read in {found.known.error.unit}, and so as they are: {', '.join(found.beyond)}."]


def _provenance(found: Touched) -> Section:
    shown = _CSV if found.known is not None else {"readings.csv": _CSV["readings.csv"]}
    rows: list[list[str | Cell]] = [[Cell(name, href=name), content] for name, content in shown.items()]
    lines = (
        f"Made by strokebook {kit.__version__} from {len(found.input_hashes)} input files, all together "
        f"{input_hash(found.input_hashes)}. Tags lead to their reports, which `strokebook batch` makes.",
    )
    return placed(Sheet("provenance", lines, (table("Files beside this page", ["File", "Content"], rows),)))


def _heading(title: str, said: str) -> Section:
    return replace(render("heading.html.j2", Heading(title, said, slug(title))), heading=title)


def _link(reports: Mapping[str, str]) -> Link:
    """From a tag to the address of its report; "" where it has none."""
    return lambda tag: reports.get(tag, "")
