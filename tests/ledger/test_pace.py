"""How fast food goes, and what is left: hand-worked years, and what holds for all of them."""

from datetime import date, timedelta

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from app.ledger.pace import (
    LEAST_DAYS,
    MonthTaken,
    balances,
    closings_kg,
    days_there,
    left_kg,
    month_end,
    month_of,
    months_on,
    outlasting,
    rate_of,
)

TODAY = date(2026, 11, 30)
START = date(2025, 11, 1)


def a_month(
    nth: int, *takings: float, put: float = 0.0, first: int = 1, last: int = 0
) -> MonthTaken:
    """The nth month of thirteen, with these takings (kg), on days of that month."""
    begin = months_on(START, nth)
    return MonthTaken(
        begin,
        sum(takings),
        sum(x * x for x in takings),
        len(takings),
        put,
        begin.replace(day=first),
        begin.replace(day=last) if last else month_end(begin),
    )


def a_year(**months: MonthTaken) -> list[MonthTaken]:
    """Thirteen months, quiet but for those named m0 to m12."""
    return [months.get(f"m{nth}", a_month(nth)) for nth in range(13)]


def test_a_year_is_added_up_from_its_end() -> None:
    # now 4; 3 came in this month, 2 were eaten the month before, 5 came in before that
    assert balances(4, [5, -2, 3]) == [3, 1, 4]


def test_months_are_counted_over_the_turn_of_the_year() -> None:
    assert [months_on(date(2025, 11, 1), i) for i in (0, 1, 2, 14)] == [
        date(2025, 11, 1),
        date(2025, 12, 1),
        date(2026, 1, 1),
        date(2027, 1, 1),
    ]
    assert month_end(date(2028, 2, 1)) == date(2028, 2, 29)


def test_the_rate_counts_only_days_on_which_there_was_any() -> None:
    # 10 kg came on 1 September, 3 kg went in each of three months: 9 kg in 91 days.
    # By takings of 1 kg each: root of 9 = 3 kg either way.
    months = a_year(
        m10=a_month(10, 1.0, 1.0, 1.0, put=10.0),
        m11=a_month(11, 1.0, 1.0, 1.0),
        m12=a_month(12, 1.0, 1.0, 1.0),
    )
    rate = rate_of(1.0, months, TODAY)
    assert rate is not None
    assert rate.days == 30 + 31 + 30
    assert rate.takings == 9
    assert rate.central == pytest.approx(9 / 91)
    assert rate.low == pytest.approx(6 / 91)
    assert rate.high == pytest.approx(12 / 91)


def test_months_after_it_ran_out_do_not_slow_the_rate() -> None:
    # 4 kg there when the year began, 2 kg on 10 November and 2 kg on 10 December: 40 days
    months = a_year(m0=a_month(0, 2.0, last=10), m1=a_month(1, 2.0, last=10))
    rate = rate_of(0.0, months, TODAY)
    assert rate is not None
    assert (rate.days, rate.central) == (40, pytest.approx(0.1))


def test_a_household_that_began_to_eat_faster_widens_the_range() -> None:
    slow = {f"m{nth}": a_month(nth, 0.5) for nth in range(10)}
    fast = {f"m{nth}": a_month(nth, *[0.5] * 6) for nth in (10, 11, 12)}
    both = rate_of(5.0, a_year(**slow, **fast), TODAY)
    even = rate_of(5.0, a_year(**{f"m{nth}": a_month(nth, 0.5) for nth in range(13)}), TODAY)
    assert both is not None
    assert even is not None
    assert both.high > 9.0 / 91  # what went in the last three months
    assert both.low < both.central < both.high
    assert both.high - both.low > even.high - even.low


def test_one_taking_may_mean_anything_from_nothing_to_twice_as_much() -> None:
    rate = rate_of(3.0, a_year(m3=a_month(3, 1.2)), TODAY)
    assert rate is not None
    assert rate.low == 0.0
    assert rate.high == pytest.approx(2 * rate.central)


@pytest.mark.parametrize(
    "months",
    [
        a_year(),  # nothing was ever taken
        a_year(m12=a_month(12, 1.0, put=5.0, first=10)),  # 4 kg there for three weeks
    ],
    ids=["nothing taken", "too short"],
)
def test_too_little_is_known_to_tell_a_rate(months: list[MonthTaken]) -> None:
    assert rate_of(4.0, months, TODAY) is None


def test_lots_are_eaten_one_after_the_other() -> None:
    # 0.05 kg a day: 3 kg in 60 days. Of 2 + 2 + 2 kg the first is gone, half the second.
    assert outlasting([2.0, 2.0, 2.0], 0.05, [60, 60, 60]) == pytest.approx([0.0, 1.0, 2.0])


def test_nothing_is_eaten_before_today() -> None:
    assert outlasting([2.0], 0.05, [-10]) == [2.0]


amounts = st.floats(0.001, 20.0)
takings = st.lists(amounts, max_size=4)


@st.composite
def years(draw: st.DrawFn) -> tuple[float, list[MonthTaken]]:
    """What is left now, and thirteen months of which none takes more than there is."""
    there = draw(st.floats(0.0, 10.0))
    months = []
    for nth in range(13):
        put = draw(st.one_of(st.just(0.0), amounts))
        wanted = draw(takings)
        taken = [min(x, (there + put) / len(wanted)) for x in wanted]
        there = max(there + put - sum(taken), 0.0)
        days = sorted(draw(st.tuples(st.integers(1, 28), st.integers(1, 28))))
        months.append(
            a_month(nth, *(x for x in taken if x > 0), put=put, first=days[0], last=days[1])
        )
    return there, months


@given(years())
def test_no_rate_is_below_nothing_and_its_range_holds_it(
    year: tuple[float, list[MonthTaken]],
) -> None:
    on_hand, months = year
    rate = rate_of(on_hand, months, TODAY)
    assume(rate is not None)
    assert rate is not None
    assert 0.0 <= rate.low <= rate.central <= rate.high
    assert LEAST_DAYS <= rate.days <= (TODAY - START).days + 1


def test_a_month_without_any_has_no_days() -> None:
    assert days_there(a_month(3), 0.0, 0.0, TODAY) == 0


@given(years())
def test_no_month_ends_below_nothing(year: tuple[float, list[MonthTaken]]) -> None:
    assert all(kg >= 0.0 for kg in closings_kg(*year))


@given(years())
def test_a_month_has_no_more_days_than_the_calendar(year: tuple[float, list[MonthTaken]]) -> None:
    on_hand, months = year
    for month, closing in zip(months, closings_kg(on_hand, months), strict=True):
        length = (month_end(month.first) - month.first).days + 1
        assert 0 <= days_there(month, 1.0, closing, TODAY) <= length


@given(amounts, amounts, st.integers(0, 400), st.integers(0, 400))
def test_less_is_left_later(on_hand: float, rate: float, days: int, more: int) -> None:
    left = left_kg(on_hand, rate, days)
    assert 0.0 <= left_kg(on_hand, rate, days + more) <= left <= on_hand


@given(st.lists(amounts, min_size=1, max_size=6), amounts, st.integers(0, 400))
def test_lots_of_one_day_sum_to_what_is_left_in_all(
    masses: list[float], rate: float, days: int
) -> None:
    left = outlasting(masses, rate, [days] * len(masses))
    assert all(0.0 <= kg <= mass for kg, mass in zip(left, masses, strict=True))
    assert sum(left) == pytest.approx(left_kg(sum(masses), rate, days), abs=1e-9)


@given(st.integers(0, 10**9), st.lists(st.integers(-(10**8), 10**8), min_size=1, max_size=13))
def test_every_month_ends_where_the_next_began(now: int, changes: list[int]) -> None:
    ends = balances(now, changes)
    assert ends[-1] == now
    for before, end, change in zip(ends, ends[1:], changes[1:], strict=False):
        assert end - before == change


@given(st.dates(date(2000, 1, 1), date(2099, 1, 1)), st.integers(-30, 30))
def test_months_there_and_back_again(day: date, count: int) -> None:
    first = month_of(day)
    assert months_on(months_on(first, count), -count) == first
    assert month_end(first) + timedelta(days=1) == months_on(first, 1)
