"""The order of visits."""

from __future__ import annotations

from kit.basis.visits import oldest_first, visit_key


def test_visits_sort_as_numbers_as_dates_and_naturally() -> None:
    visits = ["10", "9", "2026-10-02", "2026-03-04", "site visit 10", "Site visit 9", "9.5", ""]
    assert sorted(visits, key=visit_key) == [
        "9",
        "9.5",
        "10",
        "2026-03-04",
        "2026-10-02",
        "",
        "Site visit 9",
        "site visit 10",
    ]


def test_visits_are_in_order_of_their_dates_and_no_name_is_a_time() -> None:
    dates = {"FAT": "2026-01-20", "2": "2026-06-01", "2030-01-01": "2026-03-01", "10": "2026-06-01"}
    assert oldest_first([*dates, "0", "later"], dates) == ["0", "later", "FAT", "2030-01-01", "2", "10"]
