"""What an instrument touched, written among a unit's outputs: a page, its figures, and tables."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any, Final
from urllib.parse import quote

from kit.assessment.ranking import share_pct
from kit.assessment.results import CheckResult
from kit.assessment.touched.impact import CheckImpact
from kit.assessment.touched.readings import Reading
from kit.assessment.touched.summary import KnownError, Touched, what_it_touched
from kit.basis.checks import CHECKS
from kit.basis.folder_names import folder_names
from kit.basis.records import UnitRecords
from kit.basis.registers import ROLES
from kit.records import UnitError, read_unit, tag_records
from kit.records.cells.nearest import nearest
from kit.records.registers.instrument_errors import read_error
from kit.runs.outputs.csv_tables import CSV_ENCODING, csv_lines
from kit.runs.outputs.standing import check_place
from kit.runs.outputs.store import TOUCHED, refused
from kit.views.exporter import ReportExporter
from kit.views.figure_file import FIGURE_FILE, figure_file
from kit.views.placing.without_notebook import notebook_of
from kit.views.touched.touched_page import page_parts

PAGE: Final = "touched.html"
_READING: Final = tuple(name for name in Reading.__dataclass_fields__)
_CHECK: Final = (
    *("tag", "visit", "stage", "date", "decides", "check", "detail", "measure", "lower_limit", "upper_limit"),
    *("value_before", "value_after", "change", "expanded_uncertainty_before", "expanded_uncertainty_after"),
    *("share_pct_before", "share_pct_after", "verdict_before", "verdict_after", "outcome", "reason_after"),
)
_TAG: Final = ("tag", "service", "verdict_before", "verdict_after", "outcome", "greatest_check", "greatest_moved_pct")


@dataclass(frozen=True, slots=True)
class Written:
    """What was found, and the page of it."""

    found: Touched
    page: Path


def write_touched(
    unit_folder: Path, outputs: Path, instrument: str, *, since: str = "", error: str | None = None
) -> Written:
    """Look through a unit for what an instrument touched, and put page and tables into the outputs folder.

    ``since``: ISO 8601; "": all visits. ``error``: a number with its unit, or the name of a file. Nothing of the unit
    is written, and no report is touched.

    Raises
    ------
    UnitError, RunError
        If the unit's folder or the outputs folder cannot be used, nobody knows the instrument, or the error cannot be
        read or does not fit it.
    """
    check_place(unit_folder, outputs)
    unit = read_unit(unit_folder)
    tags = _tags_of(unit, instrument)
    known = None if error is None else _known(unit, instrument, error)
    found = what_it_touched(unit, (tag_records(unit, tag) for tag in tags), instrument, since=since, known=known)
    place = outputs / TOUCHED / folder_names([instrument])[instrument]
    _write(found, place, folder_names(unit.tags))
    return Written(found, place / PAGE)


def _tags_of(unit: UnitRecords, instrument: str) -> list[str]:
    """The tags with a visit that names the instrument, in the register's order."""
    visits = unit.tables["visits"]
    named = [visits[f"{role}_instrument"] for role in ROLES]
    tags = {str(tag) for column in named for tag in visits["tag"][column == instrument]}
    if not tags and instrument not in {each.instrument for each in unit.instruments}:
        known = dict.fromkeys([each.instrument for each in unit.instruments])
        known |= dict.fromkeys(str(name) for column in named for name in column if name)
        close = nearest(instrument, known)
        hint = f"Was {close} meant?" if close else f"It knows {', '.join(known) or 'none'}."
        raise UnitError(f"{unit.settings.unit}: no instrument {instrument!r}, in the register or on a visit. {hint}")
    return [tag for tag in unit.tags if tag in tags]


def _known(unit: UnitRecords, instrument: str, error: str) -> KnownError:
    measures = dict.fromkeys(each.measures for each in unit.instruments if each.instrument == instrument)
    if not measures:
        raise UnitError(
            f"{unit.settings.unit}: {instrument} is named on visits and is not in the instrument register. Enter it "
            "there with what it measures; then its error can be brought to its readings."
        )
    return KnownError(read_error(error, instrument, list(measures)), Path(error).name)


def _write(found: Touched, place: Path, folders: Mapping[str, str]) -> None:
    """Page and tables; those of a call before that this one has not are taken away."""
    reports = {tag: f"../../tags/{quote(folders[tag])}/report.html" for tag in found.tags}
    notebook = notebook_of(page_parts(found, reports))
    files: dict[str, bytes | None] = {
        PAGE: ReportExporter().page(notebook).encode(),  # type: ignore[no-untyped-call]
        FIGURE_FILE: figure_file(notebook) if found.impacts else None,
        "readings.csv": _csv(("instrument", *_READING), _readings(found)),
        "tags.csv": _csv(_TAG, _tags(found)) if found.known else None,
        "checks.csv": _csv(_CHECK, _checks(found)) if found.known else None,
    }
    with refused(place):
        place.mkdir(parents=True, exist_ok=True)
        for name, data in files.items():
            if data is None:
                (place / name).unlink(missing_ok=True)
            else:
                (place / name).write_bytes(data)


def _csv(columns: tuple[str, ...], rows: Iterable[Mapping[str, Any]]) -> bytes:
    return "".join(csv_lines(columns, rows)).encode(CSV_ENCODING)


def _readings(found: Touched) -> Iterator[dict[str, Any]]:
    return (asdict(each) | {"instrument": found.instrument} for each in found.readings)


def _tags(found: Touched) -> Iterator[dict[str, Any]]:
    for each in found.impacts:
        greatest = each.greatest
        yield {
            "tag": each.tag,
            "service": each.service,
            "verdict_before": each.verdict_before,
            "verdict_after": each.verdict_after,
            "outcome": each.outcome,
            "greatest_check": "" if greatest is None else greatest.change.shown.check,
            "greatest_moved_pct": None if greatest is None else greatest.moved_pct,
        }


def _checks(found: Touched) -> Iterator[dict[str, Any]]:
    return (_check(check) for impact in found.impacts for check in impact.checks)


def _check(each: CheckImpact) -> dict[str, Any]:
    shown, before, after = each.change.shown, each.change.before, each.change.after
    sides = _side(before, "before") | _side(after, "after")
    return sides | {
        **{name: getattr(each, name) for name in ("tag", "visit", "stage", "date", "decides", "outcome")},
        **{name: getattr(shown, name) for name in ("check", "detail", "lower_limit", "upper_limit")},
        "measure": CHECKS[shown.check].measure,
        "change": _change(before, after),
        "reason_after": "" if after is None else after.reason,
    }


def _change(before: CheckResult | None, after: CheckResult | None) -> float | None:
    if before is None or after is None or before.value is None or after.value is None:
        return None
    return after.value - before.value


def _side(result: CheckResult | None, side: str) -> dict[str, Any]:
    if result is None:
        return {}
    budget = result.budget
    return {
        f"value_{side}": result.value,
        f"expanded_uncertainty_{side}": None if budget is None else budget.expanded_uncertainty,
        f"share_pct_{side}": share_pct(result),
        f"verdict_{side}": result.verdict,
    }
