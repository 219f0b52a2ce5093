"""What failed, what is missing and why: the exceptions and gaps of page one."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from kit.assessment.results import CheckResult, ProbableCause, StageResult
from kit.assessment.shown.rests_on import holds_back
from kit.basis.checks import CHECKS
from kit.basis.records import Problem
from kit.basis.verdicts import CHECK_VERDICTS, FAILING, GAPS
from kit.views.pieces.anchors import PROBLEMS, check_anchor, way_to_test
from kit.views.pieces.check_texts import check_limit, check_title, check_uncertainty, check_value
from kit.views.pieces.linked import Linked
from kit.views.pieces.numbers import sentence_case, signed
from kit.views.pieces.rounding import uncertainty_text
from kit.views.pieces.slugs import problem_anchor
from kit.views.pieces.text_tables import Verdict, verdict_of

_EXCEPTIONS = tuple(each for each in CHECK_VERDICTS if each not in ("pass", "information"))
_SHARED = "shared"  # of a line that one cause explains
_UNANSWERED = "unanswered"  # of a reason that open records give


def exceptions(deciding: StageResult | None, problems: Sequence[Problem] = ()) -> tuple[tuple[Verdict, Linked], ...]:
    """What failed, what is missing and why, the gravest first; each check leads to its row, each line on from it.

    ``problems`` are those of the page in its order: a gap that an open record makes leads to that record's row.
    """
    if deciding is None:
        return ((verdict_of("not_tested"), Linked("The register has this tag, and no record of it was found.")),)
    lines: dict[tuple[str, str, str], list[CheckResult]] = {}
    for verdict in _EXCEPTIONS:
        own_verdict = [each for each in deciding.checks if each.verdict == verdict]
        shared = _shared_causes(own_verdict, deciding)
        for result in own_verdict:
            reason = signed(result.reason) or "no reason is known"
            said = f"{reason}." if verdict in GAPS else _exception(result)
            own = "" if verdict in GAPS else check_anchor(result)
            cause = deciding.cause_of(result)
            explained = None if cause not in shared or cause is None else (verdict, cause.pattern, _SHARED)
            lines.setdefault(explained or (verdict, said, own), []).append(result)
    return tuple(
        (
            verdict_of(verdict),
            _explained(said, results)
            if own == _SHARED
            else _grouped(said, results, _open_record(results, deciding, problems)),
        )
        for (verdict, said, own), results in lines.items()
    )


def _open_record(
    results: Sequence[CheckResult], stage: StageResult, problems: Sequence[Problem]
) -> list[tuple[str, str]]:
    """The way to the first open record that holds one of these checks back; [] where none does."""
    if not any(_UNANSWERED in each.reason for each in results):
        return []
    of = (count for count, each in enumerate(problems, 1) if any(holds_back(each, one, stage) for one in results))
    first = next(of, None)
    return [("Records", f"#{PROBLEMS if first is None else problem_anchor(first)}")]


def _grouped(said: str, results: Sequence[CheckResult], record: Sequence[tuple[str, str]]) -> Linked:
    """Gaps that have one reason share a line."""
    count = f"{len(results)} checks: " if len(results) > 1 else ""
    titles = [piece for result in results for piece in ("; ", (check_title(result), f"#{check_anchor(result)}"))][1:]
    tests = dict.fromkeys(way_to_test(result.check) for result in results)
    return Linked(count, *titles, f": {said}", ways=[*tests, *record])


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
    return said if result.reason in ("", result.finding.quantity.never) else f"{said} {sentence_case(result.reason)}."
