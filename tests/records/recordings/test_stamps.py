"""Time stamps read over a whole column, against the standard library one by one."""

from __future__ import annotations

from datetime import datetime

import numpy as np
import pyarrow as pa
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.records.recordings.stamps import times_of_numbers, times_of_texts

moments = st.lists(st.datetimes(datetime(2000, 1, 1), datetime(2068, 12, 31)), min_size=1, max_size=5)


@pytest.mark.parametrize(
    ("written", "standard"),
    [
        ("DD.MM.YYYY HH:MM:SS,ffffff", "%d.%m.%Y %H:%M:%S,%f"),
        ("MM/DD/YY HH:MM:SS AM", "%m/%d/%y %I:%M:%S %p"),
        ("YYYY-MM-DDTHH:MM", "%Y-%m-%dT%H:%M"),
        ("DD-MON-YYYY HH:MM:SS", "%d-%b-%Y %H:%M:%S"),
    ],
)
@given(given_moments=moments)
@pytest.mark.second_opinion
def test_every_stamp_is_read_as_the_standard_library_reads_it(
    written: str, standard: str, given_moments: list[datetime]
) -> None:
    texts = [each.strftime(standard) for each in given_moments]
    again = [datetime.strptime(text, standard) for text in texts]
    found = times_of_texts(pa.array(texts), written, "")
    expected = [(each - again[0]).total_seconds() for each in again]
    np.testing.assert_allclose(found.time_s, expected, atol=1e-5)
    assert datetime.fromisoformat(found.start) == again[0]


def read(texts: list[str], written: str, zone: str = "") -> list[float]:
    return times_of_texts(pa.array(texts, pa.string()), written, zone).time_s.tolist()


def test_a_stamp_that_no_calendar_has_is_no_time() -> None:
    found = read(["30.02.2026 10:00:00", "28.02.2026 10:00:00", "28.02.2026 25:00:00"], "DD.MM.YYYY HH:MM:SS")
    assert np.isnan(found).tolist() == [True, False, True]


def test_fields_may_have_one_digit_and_the_fraction_may_lack() -> None:
    assert read(["1/2/2026 9:05:07", "1/2/2026 9:05:08.5"], "DD/MM/YYYY HH:MM:SS.f") == [0.0, 1.5]


def test_milliseconds_in_a_column_of_their_own_are_counted() -> None:
    assert read(["10:00:00 7", "10:00:00 40", "10:00:01 0"], "HH:MM:SS fff") == pytest.approx([0.0, 0.033, 0.993])


def test_noon_and_midnight_of_twelve_hours() -> None:
    found = read(["1/1/2026 12:00:00 AM", "1/1/2026 1:00:00 am", "1/1/2026 12:00:00 p.m."], "DD/MM/YYYY HH:MM:SS AM")
    assert found == [0.0, 3600.0, 43200.0]


def test_months_have_names_in_several_languages() -> None:
    texts = ["01-Okt-2026 00:00", "01-oct-2026 00:00", "01-Mai-2026 00:00", "01-xyz-2026 00:00"]
    found = read(texts, "DD-MON-YYYY HH:MM")
    assert found[:2] == [0.0, 0.0]
    assert found[2] < 0.0
    assert np.isnan(found[3])


def test_a_time_of_day_passes_midnight() -> None:
    found = times_of_texts(pa.array(["23:59:59", "00:00:01", "00:00:02"]), "HH:MM:SS", "")
    assert found.time_s.tolist() == [0.0, 2.0, 3.0]
    assert found.midnights == (1,)
    assert found.start == ""


def test_a_time_of_day_that_steps_back_a_little_is_of_the_same_day() -> None:
    assert read(["10:00:05", "10:00:00"], "HH:MM:SS") == [0.0, -5.0]


def test_the_end_of_summer_time_is_known_by_the_zone() -> None:
    autumn = ["25.10.2026 02:59:59", "25.10.2026 02:00:00", "25.10.2026 02:00:01"]
    assert read(autumn, "DD.MM.YYYY HH:MM:SS", "Europe/Berlin") == [0.0, 1.0, 2.0]
    assert read(autumn, "DD.MM.YYYY HH:MM:SS") == [0.0, -3599.0, -3598.0]


def test_the_beginning_of_summer_time_is_known_by_the_zone() -> None:
    spring = ["29.03.2026 01:59:59", "29.03.2026 03:00:00"]
    assert read(spring, "DD.MM.YYYY HH:MM:SS", "Europe/Berlin") == [0.0, 1.0]
    assert read(spring, "DD.MM.YYYY HH:MM:SS", "+01:00") == [0.0, 3601.0]


def test_the_start_has_the_offset_of_its_zone() -> None:
    found = times_of_texts(pa.array(["01.07.2026 10:00:00"]), "DD.MM.YYYY HH:MM:SS", "Europe/Berlin")
    assert found.start == "2026-07-01T10:00:00+02:00"


def test_days_of_a_spreadsheet_count_from_1899_12_30() -> None:
    found = times_of_numbers(np.array([46098.5, 46098.5 + 0.1 / 86400.0, np.nan]), "serial days", "UTC")
    assert found.start == "2026-03-17T12:00:00+00:00"
    np.testing.assert_allclose(found.time_s, [0.0, 0.1, np.nan], atol=1e-4)


@pytest.mark.parametrize(("written", "seconds"), [("ms", 0.001), ("min", 60.0), ("d", 86400.0)])
def test_numbers_are_of_their_unit(written: str, seconds: float) -> None:
    assert times_of_numbers(np.array([2.0]), written, "").time_s.tolist() == [2.0 * seconds]


def test_minutes_without_an_hour_go_on_counting() -> None:
    assert read(["59:59.5", "60:00.0", "120:00.5"], "MM:SS.f") == [0.0, 0.5, 3601.0]


def test_hours_without_a_date_go_on_counting_beyond_a_day() -> None:
    assert read(["23:59:59", "24:00:00", "25:10:03", "100:00:00"], "HH:MM:SS") == [0.0, 1.0, 4204.0, 273601.0]
    assert read(["25:10:03", "25:10:04.5"], "HH:MM:SS.f") == [0.0, 1.5]


@pytest.mark.parametrize(
    "texts",
    [
        ["13:10:02", "73:10:03", "13:10:04"],  # a digit that is wrong
        ["13:10:02", "13:10:03", "73:10:04"],
        ["24:00:00", "00:00:01", "00:00:02"],  # midnight as some write it
    ],
)
def test_an_hour_beyond_23_among_times_of_day_is_no_time(texts: list[str]) -> None:
    found = times_of_texts(pa.array(texts), "HH:MM:SS", "")
    assert np.isnan(found.time_s).tolist() == [int(each[:2]) > 23 for each in texts]
    assert found.midnights == ()


def test_with_a_date_or_a_half_of_the_day_no_hour_is_beyond_23() -> None:
    assert np.isnan(read(["28.02.2026 25:00:00"], "DD.MM.YYYY HH:MM:SS")).all()
    assert np.isnan(read(["25:00:00 AM"], "HH:MM:SS AM")).all()
