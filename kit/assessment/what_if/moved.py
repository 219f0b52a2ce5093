"""Positions that an adjustment of zero and span would have moved, typed and recorded."""

from __future__ import annotations

from collections.abc import Container, Mapping
from dataclasses import replace
from typing import Any

import numpy as np

from kit.assessment.instruments import role_scales
from kit.assessment.scaling import ideal_pct, last_digit_pct, position_pct
from kit.assessment.what_if.case import Case, WhatIfError
from kit.basis.arrays import BoolArray, FloatArray
from kit.basis.records import RecordingFile, TagRecords
from kit.basis.registers import Instrument, Role, Tag
from kit.basis.rows import Rows

_TYPED_TOO: tuple[Role, ...] = ("position", "feedback")


def trim_of_ends(case: Case) -> tuple[float, float]:
    """Zero and span by which zero error and span error would come to 0 [% of travel].

    Notes
    -----
    House definition: the line that carries the mean positions at 0 and at 100 % command onto their ideals.
    """
    stage = case.on_record.deciding
    errors = {each.check: each.value for each in (() if stage is None else stage.checks)}
    zero, span = errors.get("zero_error"), errors.get("span_error")
    if zero is None or span is None:
        raise WhatIfError(
            f"{case.records.tag.tag}: zero error and span error are not known, so that nobody can say what would bring "
            "them to 0. Give zero_pct and span_pct."
        )
    first, last = ideal_pct([0.0, 100.0], case.records.tag).tolist()
    slope = (last - first) / (last - first + span) if span != first - last else 0.0
    if slope <= 0.0:
        raise WhatIfError(
            f"{case.records.tag.tag}: its travel does not follow the command the way that the register says, which no "
            "trim of zero and span mends. Look at action and coupling first."
        )
    return first - slope * (first + zero), 100.0 * (slope - 1.0)


def moved_rows(rows: Rows, here: BoolArray, tag: Tag, zero_pct: float, span_pct: float) -> Rows:
    """Readings with the positions that are ``here`` moved, and the feedback with them."""
    travel = {"position_pct": 100.0}
    if tag.travel and tag.travel_unit:
        travel[f"position_{tag.travel_unit}"] = tag.travel
    by_pct = np.nan_to_num(moved_by(position_pct(rows, tag), zero_pct, span_pct))
    made: dict[str, Any] = dict(rows.columns)
    for column, full in travel.items():
        made[column] = _moved(rows[column], here, by_pct * full / 100.0)
    spans: Mapping[str, float] = {"feedback_pct": 100.0}
    if tag.feedback_range is not None:
        spans = {**spans, f"feedback_{tag.feedback_range.unit}": tag.feedback_range.span}
    for column, full in spans.items():
        made[column] = _moved(rows[column], here, by_pct * full / 100.0)
    return Rows(made)


def moved_recording(source: RecordingFile, zero_pct: float, span_pct: float) -> RecordingFile:
    """A recording with its measured position moved, and the feedback with it; one without a position stays."""
    recording = source.recording
    if recording is None or recording.position_pct is None or recording.travel_is_feedback:
        return source
    by_pct = moved_by(recording.position_pct, zero_pct, span_pct)
    feedback = None if recording.feedback_pct is None else recording.feedback_pct + np.nan_to_num(by_pct)
    position = recording.position_pct + by_pct
    travel = recording.travel_pct + moved_by(recording.travel_pct, zero_pct, span_pct)
    return replace(
        source, recording=replace(recording, position_pct=position, travel_pct=travel, feedback_pct=feedback)
    )


def moved_by(position: FloatArray, zero_pct: float, span_pct: float) -> FloatArray:
    """How far positions move, shape kept [% of travel]. House definition."""
    return zero_pct + span_pct / 100.0 * position


def last_digits_kept(records: TagRecords, rows: Rows, visits: Container[str]) -> TagRecords:
    """The records with what the last digit typed stands for as the resolution of an instrument that has none.

    Numbers that were worked out have more digits than those that they are made of.
    """
    own = [each for each in records.visits if each.visit in visits]
    named = {(role, each.instrument_of(role)) for each in own for role in _TYPED_TOO}
    instruments = records.instruments
    for role, name in sorted(named):
        pct = last_digit_pct(rows, role, records.tag)
        per_unit = {scale.unit: abs(scale.pct_per_unit) for scale in role_scales(role, records.tag)}
        instruments = tuple(
            _resolving(each, pct, per_unit) if each.instrument == name else each for each in instruments
        )
    return replace(records, instruments=instruments)


def _resolving(instrument: Instrument, last_digit: float, per_unit: Mapping[str, float]) -> Instrument:
    if instrument.resolution or not last_digit or instrument.measures not in per_unit:
        return instrument
    return replace(instrument, resolution=last_digit / per_unit[instrument.measures])


def _moved(cells: Any, here: BoolArray, by: FloatArray) -> FloatArray:
    values: FloatArray = cells.astype(float)
    return np.where(here, values + by, values)
