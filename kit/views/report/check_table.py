"""The check table of page one, and the exceptions and gaps."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from kit.assessment.conformity import TUR_TARGET, reaches_target
from kit.assessment.results import CheckResult, ProbableCause, StageResult
from kit.assessment.shown.ages import of_earlier_visit
from kit.basis.checks import CHECKS
from kit.basis.verdicts import CHECK_VERDICTS, FAILING, GAPS
from kit.views.pieces.anchors import PROBLEMS, check_anchor, way_to_test
from kit.views.pieces.check_texts import (
    check_limit,
    check_title,
    check_uncertainty,
    check_uncertainty_text,
    check_value,
)
from kit.views.pieces.linked import Linked
from kit.views.pieces.numbers import NONE, sentence_case, signed
from kit.views.pieces.rounding import uncertainty_text
from kit.views.pieces.text_tables import (
    Cell,
    Column,
    Table,
    Verdict,
    stage_word,
    table,
    verdict_cell,
    verdict_of,
)

_EXCEPTIONS = tuple(each for each in CHECK_VERDICTS if each not in ("pass", "information"))
_SHARED = "shared"  # of a line that one cause explains
_UNANSWERED = "unanswered"  # of a reason that open records give


def check_table(deciding: StageResult | None, as_found: StageResult | None) -> Table:
    """Every check that is held against a limit, as found beside as left."""
    left = {(result.check, result.detail): result for result in (deciding.checks if deciding else ())}
    found = {(result.check, result.detail): result for result in (as_found.checks if as_found else ())}
    found = {} if as_found is deciding else found
    keys = [key for key in {**left, **found} if _judged(left.get(key)) or _judged(found.get(key))]
    order = list(CHECKS)
    keys.sort(key=lambda key: (order.index(key[0]), key[1]))
    sources = list(dict.fromkeys((left.get(key) or found[key]).limit_source for key in keys))
    rows = [_check_row(left.get(key), found.get(key), sources, deciding, both=bool(found)) for key in keys]
    now = stage_word(deciding.stage).capitalize() if deciding else "As left"
    columns: list[str | Column] = ["Check", "Limit:"]
    columns += ["As found:"] if found else []
    columns += [f"{now}:", "Where", "U:", "TUR:", Column("Verdict", "word")]
    note = (
        "Errors are in % of travel span, positions in % of travel, potentiometer margins in % of track. "
        "TUR: test uncertainty ratio, half the tolerance over U; below 4 is remarked on (common practice)."
    )
    return table(
        "Checks against their limits",
        columns,
        rows,
        *([note, *_sources_in_words(sources)] if keys else []),
        kind="wide",
    )


def exceptions(deciding: StageResult | None) -> tuple[tuple[Verdict, Linked], ...]:
    """What failed, what is missing and why, the gravest first; each check leads to its row, each line on from it."""
    if deciding is None:
        return ((verdict_of("not_tested"), Linked("The register has this tag, and no record of it was found.")),)
    lines: dict[tuple[str, str, str], list[CheckResult]] = {}
    for verdict in _EXCEPTIONS:
        results = [each for each in deciding.checks if each.verdict == verdict]
        shared = _shared_causes(results, deciding)
        for result in results:
            reason = signed(result.reason) or "no reason is known"
            said = f"{reason}." if verdict in GAPS else _exception(result)
            own = "" if verdict in GAPS else check_anchor(result)
            cause = deciding.cause_of(result)
            key = (verdict, said, own) if cause not in shared or cause is None else (verdict, cause.pattern, _SHARED)
            lines.setdefault(key, []).append(result)
    return tuple(
        (verdict_of(verdict), _explained(said, results) if own == _SHARED else _grouped(said, results))
        for (verdict, said, own), results in lines.items()
    )


def _check_row(
    left: CheckResult | None,
    found: CheckResult | None,
    sources: Sequence[str],
    stage: StageResult | None,
    *,
    both: bool,
) -> list[str | Cell]:
    shown = left or found
    assert shown is not None
    reference = sources.index(shown.limit_source) + 1
    cells: list[str | Cell] = [
        Cell(
            check_title(shown),
            href=f"#{check_anchor(shown)}",
            small="" if stage is None else of_earlier_visit(shown, stage),
        ),
        Cell(check_limit(shown), small=f"[{reference}]" if shown.limit_source else ""),
    ]
    if both:
        cells.append(NONE if found is None else Cell(check_value(found), small=verdict_of(found.verdict).word))
    if left is None:
        return [*cells, NONE, NONE, NONE, NONE, NONE]
    return [
        *cells,
        check_value(left),
        signed(left.at),
        check_uncertainty_text(left),
        _tur(left),
        verdict_cell(left.verdict),
    ]


def _sources_in_words(sources: Sequence[str]) -> list[str]:
    """Where the limits come from, in one paragraph; what several say at their end is said once.

    Examples
    --------
    >>> _sources_in_words(["Table 1; to be confirmed", "Table 2; to be confirmed", "", "Note 3"])
    ['Limits: [1] Table 1. [2] Table 2. [4] Note 3. To be confirmed: [1], [2].']
    """
    parted = {f"[{number}]": text.rpartition("; ") for number, text in enumerate(sources, start=1) if text}
    tails = Counter(tail for begin, _, tail in parted.values() if begin)
    told = {
        mark: begin if tails[tail] > 1 and begin else f"{begin}{semicolon}{tail}"
        for mark, (begin, semicolon, tail) in parted.items()
    }
    said = [f"{mark} {text.rstrip('.')}." for mark, text in told.items()]
    for common in (tail for tail, count in tails.items() if count > 1):
        marks = [mark for mark, (begin, _, tail) in parted.items() if begin and tail == common]
        those = "all" if len(marks) == len(parted) else ", ".join(marks)
        said.append(f"{sentence_case(common)}: {those}.")
    return [f"Limits: {' '.join(said)}"] if said else []


def _judged(result: CheckResult | None) -> bool:
    return result is not None and result.verdict != "information"


def _tur(result: CheckResult) -> str | Cell:
    if result.tur is None:
        return NONE
    return Cell(f"{result.tur:.1f}", small="" if reaches_target(result.tur) else f"below {TUR_TARGET:g}")


def _grouped(said: str, results: Sequence[CheckResult]) -> Linked:
    """Gaps that have one reason share a line."""
    count = f"{len(results)} checks: " if len(results) > 1 else ""
    titles = [piece for result in results for piece in ("; ", (check_title(result), f"#{check_anchor(result)}"))][1:]
    tests = dict.fromkeys(way_to_test(result.check) for result in results)
    ways = [*tests, PROBLEMS] if any(_UNANSWERED in result.reason for result in results) else [*tests]
    return Linked(count, *titles, f": {said}", ways=ways)


def _shared_causes(results: Sequence[CheckResult], stage: StageResult) -> set[ProbableCause]:
    """The causes that explain two and more of these failures."""
    found = Counter(stage.cause_of(each) for each in results if each.verdict in FAILING)
    return {cause for cause, count in found.items() if cause is not None and count > 1}


def _explained(pattern: str, results: Sequence[CheckResult]) -> Linked:
    """What one cause explains, each check by name and value."""
    told = [
        piece
        for result in results
        for piece in (" ", (check_title(result), f"#{check_anchor(result)}"), f": {_exception(result)}")
    ]
    begin = f"{len(results)} checks, one probable cause, to be confirmed on site: {pattern}."
    return Linked(begin, *told, ways=[*dict.fromkeys(way_to_test(result.check) for result in results)])


def _exception(result: CheckResult) -> str:
    place = f" ({signed(result.at)})" if result.at else ""
    uncertainty = check_uncertainty(result)
    margin = "" if uncertainty is None else f", U {uncertainty_text(uncertainty, CHECKS[result.check].measure)}"
    said = f"{check_value(result)}{place}; limit {check_limit(result)}{margin}."
    return said if result.reason in ("", check_value(result)) else f"{said} {sentence_case(result.reason)}."
