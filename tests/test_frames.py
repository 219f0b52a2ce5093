"""Records, checks and budgets as frames: whole, in order, units in the names."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from kit import frames
from kit.assessment import assess_tag
from kit.basis.tables import MEASUREMENTS
from kit.frames import Frames
from kit.records import read_tag
from tests.small_unit import small_unit
from tests.views import made_recordings

__all__ = ["small_unit"]


@pytest.fixture
def unit(small_unit: Path) -> Frames:
    return frames.read(small_unit)


def test_every_tag_has_its_verdict_in_the_registers_order(unit: Frames) -> None:
    verdicts = unit.verdicts()
    assert list(verdicts["tag"]) == ["HV-1", "HV/2", "HV-3"]
    assert list(verdicts["verdict"]) == ["conditional_pass", "fail", "not_tested"]
    assert list(verdicts["date"]) == ["2026-03-02", "2026-03-02", ""]


def test_the_records_are_the_rows_that_were_used_with_their_places(unit: Frames) -> None:
    strokes = unit.records("strokes")
    assert list(strokes["time_s"]) == [20.1, 19.8, 31.0, 20.2]  # "quick" was set aside
    assert strokes["time_s"].dtype == float
    assert list(strokes["row"]) == [2, 3, 4, 5]
    assert set(strokes["file"]) == {"records/strokes.csv"}
    assert list(strokes.columns)[-3:] == ["bounds", "file", "row"]


@pytest.mark.parametrize("table", ["visits", *MEASUREMENTS])
def test_every_table_is_there_even_where_it_is_empty(unit: Frames, table: str) -> None:
    assert "tag" in unit.records(table).columns


def test_a_table_that_there_is_not_is_refused_and_the_others_are_listed(unit: Frames) -> None:
    with pytest.raises(ValueError, match=r"no table 'stroke'\. There are: visits, readings, strokes"):
        unit.records("stroke")


def test_the_checks_are_those_of_the_assessment(small_unit: Path, unit: Frames) -> None:
    assessment = assess_tag(read_tag(small_unit, "HV/2"))
    checks = unit.checks().query("tag == 'HV/2'")
    assert list(checks["check"]) == [each.check for stage in assessment.stages for each in stage.checks]
    row = checks.query("check == 'stroke_time_open'").iloc[0]
    result = next(each for each in assessment.stages[0].checks if each.check == "stroke_time_open")
    assert (row["value"], row["measure"], row["upper_limit"]) == (31.0, "s", pytest.approx(22.0))
    assert row["expanded_uncertainty"] == result.budget.expanded_uncertainty  # type: ignore[union-attr]
    assert (row["verdict"], bool(row["decides"])) == ("fail", True)
    assert row["share_of_tolerance_pct"] == pytest.approx(100 * (31 - 20) / 2)


def test_the_values_that_decide_have_their_unit_in_the_columns_name(unit: Frames) -> None:
    values = unit.values()
    assert list(values.index) == ["HV-1", "HV/2", "HV-3"]
    assert values.loc["HV/2", "stroke_time_open [s]"] == 31.0
    assert np.isnan(values.loc["HV-3", "stroke_time_open [s]"])
    assert all(re.search(r"\[[^\]]*\]$", name) for name in values.columns)


def test_a_budgets_components_make_its_standard_uncertainty(unit: Frames) -> None:
    budgets = unit.budgets()
    assert set(budgets["instrument"]) >= {"S-1"}
    for _, each in budgets.groupby(["tag", "visit", "stage", "check", "detail"], sort=False):
        combined = float(np.sqrt((each["standard_uncertainty"] ** 2).sum()))
        assert combined == pytest.approx(each["combined_standard_uncertainty"].iloc[0])
        expanded = each["coverage_factor"] * each["combined_standard_uncertainty"]
        assert list(expanded) == pytest.approx(list(each["expanded_uncertainty"]))


def test_one_tag_gives_the_same_rows_as_the_whole_unit(small_unit: Path, unit: Frames) -> None:
    one = frames.read(small_unit, "HV/2")
    for name in ("checks", "budgets", "verdicts"):
        whole = getattr(unit, name)().query("tag == 'HV/2'").reset_index(drop=True)
        pd.testing.assert_frame_equal(getattr(one, name)(), whole, check_dtype=False)


def test_the_same_unit_gives_the_same_frames(small_unit: Path, unit: Frames) -> None:
    again = frames.read(small_unit)
    for name in ("verdicts", "checks", "values", "budgets", "samples"):
        pd.testing.assert_frame_equal(getattr(unit, name)(), getattr(again, name)())


def test_every_sample_of_a_recording_is_there(unit: Frames) -> None:
    records = made_recordings.records("healthy")
    samples = Frames(((records, assess_tag(records)),)).samples()
    (log,) = records.recordings
    assert log.recording is not None
    assert len(samples) == len(log.recording)
    np.testing.assert_array_equal(samples["travel_pct"], log.recording.travel_pct)
    assert set(samples["file"]) == {log.file}
    assert list(unit.samples().columns) == list(samples.columns)
