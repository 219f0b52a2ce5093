"""The order of visits."""

from __future__ import annotations

from kit.basis.visits import visit_key


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
