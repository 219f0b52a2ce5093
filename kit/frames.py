"""A unit's records, checks and budgets as pandas frames, for whoever asks more of them than the pages do.

In a notebook:

    from kit import frames

    unit = frames.read("inputs/lime-works")            # or frames.read("inputs/lime-works", "FV-102")
    unit.checks().query("verdict == 'fail'")
    unit.records("readings").groupby("tag").size()

Rows stand in the register's order, then as they stand in the files: the same inputs give the same frames. A column
that holds one unit has it in its name (`_pct`, `_s`, `_ma`, `_ohm`). Checks have units of their own: what a value is
in stands beside it in ``measure``. Nothing is rounded, and nothing is written.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any, Final

import numpy as np
import pandas as pd

from kit.assessment.ranking import share_pct
from kit.assessment.results import CheckResult, StageResult, TagAssessment
from kit.assessment.tag import assess_tag
from kit.basis.checks import CHECKS
from kit.basis.punch import PunchEntry
from kit.basis.records import TagRecords
from kit.basis.rows import BOUNDS, Rows
from kit.basis.tables import MEASUREMENTS, TABLES
from kit.records import find_unit, read_tag, read_unit, tag_records

SAMPLES: Final = (
    "time_s",
    "command_pct",
    "travel_pct",
    "position_pct",
    "feedback_pct",
    "closed_switch",
    "open_switch",
    "supply_v",
)
_PLACE: Final = ("tag", "visit", "stage")
_CHECK: Final = (*_PLACE, "date", "decides", "check", "detail")
_VERDICT: Final = ("tag", "service", "duty", "safety_function", "verdict", "reason", "visit", "date", "worst_check")
_JUDGED: Final = ("value", "measure", "lower_limit", "upper_limit", "limit_source", "expanded_uncertainty")
_PROVEN: Final = (
    "coverage_factor",
    "p_conformity",
    "tur",
    "rule",
    "share_of_tolerance_pct",
    "verdict",
    "place",
    "reason",
    "flagged",
)
_BUDGET: Final = (
    "value",
    "unit",
    "distribution",
    "divisor",
    "sensitivity",
    "standard_uncertainty",
    "degrees_of_freedom",
)


@dataclass(frozen=True, slots=True, eq=False)
class Frames:
    """Tags read and judged, in the register's order. Each method gives a frame of its own, to be changed at will."""

    of_tags: tuple[tuple[TagRecords, TagAssessment], ...]
    punch: tuple[PunchEntry, ...] = ()  # who has an item of the punch list; of a whole unit alone

    def verdicts(self) -> pd.DataFrame:
        """One row a tag.

        Columns: tag, service, duty, safety_function, verdict, reason (the verdict in a sentence), visit and date (ISO
        8601) of the stage that decides, worst_check.
        """
        return _frame(_VERDICT, (_verdict(*each) for each in self.of_tags))

    def records(self, table: str) -> pd.DataFrame:
        """The used rows of a table, such as "readings": the columns of its schema (notebooks/guide/records.md).

        Numbers are floats (nan: a blank cell), texts are texts ("": a blank cell). At the end stand ``bounds`` (of
        cells that are a bound and no reading: "time_s:above"; mostly ""), and ``file`` and ``row`` of each.

        Raises
        ------
        ValueError
            For a table that there is not; the message lists those that there are.
        """
        if table not in (*MEASUREMENTS, "visits"):
            raise ValueError(f"There is no table {table!r}. There are: visits, {', '.join(MEASUREMENTS)}.")
        if table == "visits":
            visits = [
                asdict(visit) | {"tag": records.tag.tag} for records, _ in self.of_tags for visit in records.visits
            ]
            return _frame(tuple(dict.fromkeys(("tag", *(name for each in visits for name in each)))), visits)
        shares = [_of_rows(records.tables[table], table) for records, _ in self.of_tags]
        held = [share for share in shares if len(share)] or shares[:1]
        return pd.concat(held, ignore_index=True)

    def checks(self) -> pd.DataFrame:
        """One row a check of each visit and stage; ``decides`` marks those that the tag's verdict is made of.

        Columns: tag, visit, stage, date, decides, check, detail; value, measure (what it and the next are in),
        lower_limit, upper_limit, limit_source, expanded_uncertainty; coverage_factor, p_conformity, tur, rule,
        share_of_tolerance_pct (+100: on the upper limit), verdict, place (of the deciding reading), reason,
        flagged (where the flagged readings stand that the value rests on).
        """
        return _frame((*_CHECK, *_JUDGED, *_PROVEN), (_head(*each) | _check(each[2]) for each in self._checks()))

    def values(self) -> pd.DataFrame:
        """The checks of the stage that decides, one row a tag and one column a check: "inaccuracy [% of travel]".

        Checks with several details have a column each: "switch [open] [%]". nan: not determined, or not tested.
        """
        checks = self.checks().query("decides")
        named = [_column(*each) for each in checks[["check", "detail", "measure"]].itertuples(index=False, name=None)]
        wide = (
            checks.assign(column=named)
            .drop_duplicates(["tag", "column"])
            .pivot(index="tag", columns="column", values="value")
        )
        tags = [records.tag.tag for records, _ in self.of_tags]
        return wide.reindex(index=pd.Index(tags, name="tag"), columns=list(dict.fromkeys(named))).astype(float)

    def budgets(self) -> pd.DataFrame:
        """One row a component of each check's uncertainty.

        Columns: tag, visit, stage, date, decides, check, detail; component, instrument, value (half width, step or
        deviation) in ``unit``, distribution, divisor, sensitivity; standard_uncertainty in ``measure``, which is the
        check's own unit; degrees_of_freedom (inf: without end). Then, the same in all rows of a check,
        combined_standard_uncertainty, coverage_factor and expanded_uncertainty in ``measure``.
        """
        columns = (*_CHECK, "component", "instrument", *_BUDGET, "measure")
        combined = ("combined_standard_uncertainty", "coverage_factor", "expanded_uncertainty")
        rows = (_head(*each) | row for each in self._checks() for row in _components(each[2]))
        return _frame((*columns, *combined), rows)

    def samples(self) -> pd.DataFrame:
        """Every sample of every recording that could be read.

        Columns: tag, visit, stage, file, time_s, command_pct, travel_pct, position_pct, feedback_pct, closed_switch,
        open_switch (0 or 1), supply_v; nan where there is no such column, or the sample is lost.
        """
        found = [_samples(records, number) for records, _ in self.of_tags for number in range(len(records.recordings))]
        empty = pd.DataFrame(columns=[*_PLACE, "file", *SAMPLES])
        return pd.concat([each for each in found if len(each)] or [empty], ignore_index=True)

    def _checks(self) -> Iterator[tuple[TagAssessment, StageResult, CheckResult]]:
        for _, assessment in self.of_tags:
            for stage in assessment.stages:
                for result in stage.checks:
                    yield assessment, stage, result


def read(unit: str | Path, tag: str | None = None) -> Frames:
    """Read and judge a whole unit, or one tag of it.

    Parameters
    ----------
    unit : str or Path
        The unit's folder, or the name of one under inputs/.
    tag : str, optional
        One tag, as it stands in the register; None: all of them.

    Raises
    ------
    UnitError
        If the folder cannot be used, or the register does not hold the tag.
    """
    if tag is not None:
        records = read_tag(unit, tag)
        return Frames(((records, assess_tag(records)),))
    whole = read_unit(find_unit(unit))
    shares = [tag_records(whole, name) for name in whole.tags]
    return Frames(tuple((each, assess_tag(each)) for each in shares), whole.punch)


def _frame(columns: tuple[str, ...], rows: Any) -> pd.DataFrame:
    return pd.DataFrame(list(rows), columns=list(columns))


def _verdict(records: TagRecords, assessment: TagAssessment) -> dict[str, Any]:
    tag, deciding = records.tag, assessment.deciding
    said = {name: getattr(assessment, name) for name in ("verdict", "reason", "visit", "worst_check")}
    of_register = {"tag": tag.tag, "service": tag.service, "duty": tag.duty, "safety_function": tag.safety_function}
    return of_register | said | {"date": "" if deciding is None else deciding.date}


def _of_rows(rows: Rows, table: str) -> pd.DataFrame:
    columns = {name: rows[name] for name in TABLES[table].columns}
    columns[BOUNDS] = rows.columns.get(BOUNDS, np.full(len(rows), "", dtype=object))
    return pd.DataFrame(columns | {"file": rows["file"], "row": rows["row"]})


def _head(assessment: TagAssessment, stage: StageResult, result: CheckResult) -> dict[str, Any]:
    made = {"visit": result.visit or stage.visit, "stage": stage.stage, "date": result.date or stage.date}
    which = {"decides": stage is assessment.deciding, "check": result.check, "detail": result.detail}
    return {"tag": assessment.tag} | made | which


def _check(result: CheckResult) -> dict[str, Any]:
    budget = result.budget
    own = ("value", "lower_limit", "upper_limit", "limit_source", "p_conformity", "tur", "rule", "verdict", "reason")
    return {name: getattr(result, name) for name in own} | {
        "measure": CHECKS[result.check].measure,
        "expanded_uncertainty": None if budget is None else budget.expanded_uncertainty,
        "coverage_factor": None if budget is None else budget.coverage_factor,
        "share_of_tolerance_pct": share_pct(result),
        "place": result.at,
        "flagged": "; ".join(result.flagged),
    }


def _components(result: CheckResult) -> Iterator[dict[str, Any]]:
    budget = result.budget
    for each in () if budget is None else budget.components:
        yield {name: getattr(each, name) for name in ("instrument", *_BUDGET)} | {
            "component": each.name,
            "measure": CHECKS[result.check].measure,
            "combined_standard_uncertainty": budget.standard_uncertainty if budget else None,
            "coverage_factor": budget.coverage_factor if budget else None,
            "expanded_uncertainty": budget.expanded_uncertainty if budget else None,
        }


def _column(check: str, detail: str, measure: str) -> str:
    return " ".join(part for part in (check, f"[{detail}]" if detail else "", f"[{measure}]") if part)


def _samples(records: TagRecords, number: int) -> pd.DataFrame:
    file = records.recordings[number]
    if file.recording is None:
        return pd.DataFrame()
    columns: dict[str, Any] = {"tag": file.tag, "visit": file.visit, "stage": file.stage, "file": file.file}
    for name in SAMPLES:
        values = getattr(file.recording, name)
        columns[name] = np.full(len(file.recording), np.nan) if values is None else values
    return pd.DataFrame(columns)
