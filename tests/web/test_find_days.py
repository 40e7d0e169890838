"""Days as people tell them when they look for something."""

from datetime import date

import pytest

from app import language
from app.web.find.days import days_of

TODAY = date(2026, 11, 25)  # a Wednesday


@pytest.mark.parametrize(
    ("told", "first", "last"),
    [
        ("2025-10-11", "2025-10-11", "2025-10-11"),
        ("2025-10", "2025-10-01", "2025-10-31"),
        ("2024", "2024-01-01", "2024-12-31"),
        ("11.10.2025", "2025-10-11", "2025-10-11"),
        ("11 October 2025", "2025-10-11", "2025-10-11"),
        ("October 11, 2025", "2025-10-11", "2025-10-11"),
        ("11th oct", "2026-10-11", "2026-10-11"),
        ("26 november", "2025-11-26", "2025-11-26"),
        ("february 2024", "2024-02-01", "2024-02-29"),
        ("october", "2026-10-01", "2026-10-31"),
        ("november", "2026-11-01", "2026-11-30"),
        ("december", "2025-12-01", "2025-12-31"),
        ("last november", "2025-11-01", "2025-11-30"),
        ("autumn", "2026-09-01", "2026-11-30"),
        ("last autumn", "2025-09-01", "2025-11-30"),
        ("last fall", "2025-09-01", "2025-11-30"),
        ("winter", "2025-12-01", "2026-02-28"),
        ("winter 2023", "2023-12-01", "2024-02-29"),
        ("today", "2026-11-25", "2026-11-25"),
        ("yesterday", "2026-11-24", "2026-11-24"),
        ("this week", "2026-11-23", "2026-11-29"),
        ("last week", "2026-11-16", "2026-11-22"),
        ("last month", "2026-10-01", "2026-10-31"),
        ("last year", "2025-01-01", "2025-12-31"),
    ],
)
def test_days_are_understood_as_people_tell_them(told: str, first: str, last: str) -> None:
    assert days_of(told.split(), TODAY) == (date.fromisoformat(first), date.fromisoformat(last))


@pytest.mark.parametrize(
    "told",
    ["moose", "last moose", "31 february", "2025-13", "0000", "9999", "2025-10-32", "no 3",
     "11 moose 2025", "32 october", "99.99.2025", "２０２５x", "of october 2025 x"],
)  # fmt: skip
def test_what_tells_no_day_is_none(told: str) -> None:
    assert days_of(told.split(), TODAY) is None


def test_months_are_known_in_the_readers_language() -> None:
    token = language._language.set("de")
    try:
        assert days_of(["märz", "2025"], TODAY) == (date(2025, 3, 1), date(2025, 3, 31))
        assert days_of(["march", "2025"], TODAY) == (date(2025, 3, 1), date(2025, 3, 31))
    finally:
        language._language.reset(token)
