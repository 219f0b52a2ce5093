"""A tag's result as data: what result.json holds and the batch collects from the notebook."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

import kit
from kit.assessment.history.due import Due
from kit.assessment.history.history import history_of
from kit.assessment.ranking import share_pct
from kit.assessment.results import CheckResult, StageResult, TagAssessment
from kit.assessment.shown.completeness import kinds_tested, nearest_check
from kit.assessment.shown.mean_errors import observations
from kit.assessment.shown.rests_on import open_records, problems_of
from kit.assessment.wording import check_words
from kit.basis.checks import CHECKS
from kit.basis.records import TagRecords
from kit.views.pieces.check_texts import check_title, check_uncertainty, check_value
from kit.views.report.front import document_number
from kit.views.report.revisions import issue_content

JsonObject = dict[str, Any]


def result_content(records: TagRecords, assessment: TagAssessment) -> JsonObject:
    """Everything that the batch and the unit's page need of a tag. Numbers are unrounded, nan is null."""
    tag = records.tag
    content = {
        "tag": tag.tag,
        "service": tag.service,
        "duty": tag.duty,
        "safety_function": tag.safety_function,
        "unit": records.settings.unit,
        "document": document_number(records.settings, tag.tag),
        "issue": issue_content(records, assessment),
        "verdict": assessment.verdict,
        "reason": assessment.reason,
        "visit": assessment.visit,
        "stage": assessment.deciding.stage if assessment.deciding else "",
        "date": assessment.deciding.date if assessment.deciding else "",
        "technician": _technician(records, assessment.visit),
        "worst_check": assessment.worst_check,
        "results": [check_row(records, stage, result) for stage in assessment.stages for result in stage.checks],
        "stages": [
            {"visit": each.visit, "stage": each.stage, "date": each.date, "verdict": each.verdict}
            for each in assessment.stages
        ],
        "taken_from": _taken_from(assessment.deciding),
        "tests": kinds_tested(records, assessment.deciding),
        "nearest": _nearest(assessment.deciding),
        "share_pct": _nearest_share_pct(assessment.deciding),
        "due": _due(history_of(records, assessment).due),
        "instruments": [asdict(each) for each in assessment.instruments],
        "causes": [each.pattern for each in assessment.deciding.causes] if assessment.deciding else [],
        "mean_errors": [asdict(each) for each in observations([(records, assessment)])],
        "remarks": list(assessment.remarks),
        "punch_list": [asdict(each) for each in assessment.punch_list],
        "open_records": len({each.record for each in open_records(records, assessment)}),
        "open_when_judged": len({each.record for each in assessment.problems if each.status == "open"}),
        "problems": [asdict(each) for each in problems_of(records, assessment)],
        "found_problems": [asdict(each) for each in assessment.problems],
        "input_hashes": dict(sorted(records.input_hashes.items())),
        "versions": {"strokebook": kit.__version__},
    }
    return {key: _finite(value) for key, value in content.items()}


def _technician(records: TagRecords, visit: str) -> str:
    return next((each.technician for each in records.visits if each.visit == visit), "")


def check_row(records: TagRecords, stage: StageResult, result: CheckResult) -> JsonObject:
    """One row of results.csv, its columns in order."""
    check = CHECKS[result.check]
    return {
        "unit": records.settings.unit,
        "tag": records.tag.tag,
        "visit": stage.visit,
        "stage": stage.stage,
        "check": result.check,
        "detail": result.detail,
        "value": result.value,
        "measure": check.measure,
        "lower_limit": result.lower_limit,
        "upper_limit": result.upper_limit,
        "expanded_uncertainty": check_uncertainty(result),
        "coverage_factor": None if result.budget is None else result.budget.coverage_factor,
        "p_conformity": result.p_conformity,
        "tur": result.tur,
        "rule": result.rule,
        "verdict": result.verdict,
        "method": check.method,
        "limit_source": result.limit_source,
        "place": _place(result),
        "reason": result.reason,
        "date": result.date or stage.date,
        "share_pct": share_pct(result),
        "instruments": _instruments(result),
        "flagged": "; ".join(result.flagged),
    }


def _place(result: CheckResult) -> str:
    """A place begins with a word: a spreadsheet would take "-0.1 % travel" for a formula.

    A value that is the end of a bound says so, since its number alone does not.
    """
    at = f"at {result.at}" if result.at.startswith(("+", "-")) else result.at
    if not result.bound:
        return at
    bound = f"recorded as a bound, {result.bound}{result.value:g} {CHECKS[result.check].measure}"
    return f"{bound}; {at}" if at else bound


def _instruments(result: CheckResult) -> str:
    """Those whose errors are in its budget."""
    components = result.budget.components if result.budget else ()
    return "; ".join(dict.fromkeys(each.instrument for each in components if each.instrument))


def _taken_from(deciding: StageResult | None) -> list[JsonObject]:
    """The checks that are made of a visit which the newest one goes on from."""
    return [
        {"check": each.check, "detail": each.detail, "visit": each.visit, "date": each.date}
        for each in (deciding.checks if deciding else ())
        if deciding and each.visit in deciding.goes_on_from
    ]


def _nearest(deciding: StageResult | None) -> JsonObject | None:
    """The check that uses most of its tolerance, and how it reads in print; a share of null is beyond any."""
    found = nearest_check(deciding)
    if found is None:
        return None
    result, share = found
    return {"share": share, "check": result.check, "title": check_title(result), "value": check_value(result)}


def _nearest_share_pct(deciding: StageResult | None) -> float | None:
    found = nearest_check(deciding)
    return None if found is None else share_pct(found[0])


def _due(due: Due) -> JsonObject:
    """When the tag is due again, by which check of its own ("": by the unit's interval), or why no day is proposed."""
    by = "" if due.by is None else check_words(due.by.check, due.by.detail)
    return {"on": due.on, "by": by, "why_not": due.why_not}


def _finite(value: Any) -> Any:
    """nan and infinities become null: JSON knows neither."""
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if isinstance(value, Mapping):
        return {key: _finite(each) for key, each in value.items()}
    return [_finite(each) for each in value] if isinstance(value, list | tuple) else value
