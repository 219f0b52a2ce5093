"""What the shell prints of an instrument: a line a tag, then what does not stand."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from kit.assessment.touched.impact import outcomes
from kit.assessment.touched.summary import KnownError, Touched
from kit.assessment.what_if.outcomes import COUNTED_WORDS, OUTCOME_WORDS
from kit.views.touched import words

_FIRST_NUMBER: Final = 3  # of the columns


def touched_lines(found: Touched) -> list[str]:
    """Each tag with its visits, roles and readings, then how much it is in all."""
    rows = [("tag", "visits", "used for", "readings", "recordings"), *_tag_rows(found)]
    described = found.functions[0].description if found.functions else ""
    head = f"{found.instrument}{f', {described}' if described else ''}. {words.touched_words(found)}."
    return [head, words.calibration_words(found), words.since_words(found), *_columns(rows)]


def impact_lines(found: Touched, known: KnownError) -> list[str]:
    """The sign convention, how many checks have which outcome, and each that does not stand."""
    lines = ["", f"Error {words.error_words(known)}. {words.sign_words()}"]
    if not found.impacts:
        return [*lines, f"Nothing was read with it in {known.error.unit}: every verdict stands."]
    counted = [f"{count} {COUNTED_WORDS[name][count > 1]}" for name, count in outcomes(found.impacts).items() if count]
    lines.append(f"Checks that decide: {', '.join(counted)}.")
    changed = [each for impact in found.impacts for each in impact.changed]
    for each in words.judged_both(changed):
        lines.append(f"  {each.tag}: {words.impact_line(each)}: {OUTCOME_WORDS[each.outcome]}")
    for (title, reason), tags in words.unjudged(changed).items():
        lines.append(f"  {', '.join(tags)}: can no longer be judged: {title}: {reason}")
    lines += [
        "Tags:" if any(each.outcome != "stands" for each in found.impacts) else "The verdict of every tag stands."
    ]
    lines += [f"  {each.tag}: {words.tag_line(each)}" for each in found.impacts if each.outcome != "stands"]
    return [*lines, "No record: nothing is written to the unit, and no report changes."]


def _tag_rows(found: Touched) -> Iterator[tuple[str, ...]]:
    for tag in found.tags:
        own = [each for each in found.visits if each.tag == tag]
        readings = [reading for visit in own for reading in visit.readings]
        yield (
            tag,
            ", ".join(f"{each.visit} ({each.date or 'no date'})" for each in own),
            ", ".join(dict.fromkeys(role for each in own for role in each.roles)),
            str(sum(each.value is not None for each in readings)),
            str(len({each.file for each in readings if each.value is None})),
        )


def _columns(rows: Sequence[tuple[str, ...]]) -> list[str]:
    widths = [max(len(row[place]) for row in rows) for place in range(len(rows[0]))]
    return ["  ".join(map(_padded, row, widths, range(len(row)))).rstrip() for row in rows]


def _padded(cell: str, width: int, place: int) -> str:
    return cell.rjust(width) if place >= _FIRST_NUMBER else cell.ljust(width)
