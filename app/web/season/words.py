"""What the season page says: one function for each sentence."""

from collections.abc import Sequence

from app.language import _, month_words, ngettext
from app.ledger.food_kinds import called
from app.ledger.queries.season import FoodMonth, FoodYear
from app.web.messages import mass


def food_name(kind: str, names: frozenset[str]) -> str:
    """The household's own words for a food where its names share some, else the kind."""
    return called(names) or _(kind)


def package_words(count: int) -> str:
    """How many packages."""
    return ngettext("{number} package", "{number} packages", count)


def lot_words(count: int) -> str:
    """How many lots."""
    return ngettext("{number} lot", "{number} lots", count)


def now_words(month: FoodMonth) -> str:
    """What is there now: "7.63 kg now, 7 packages"."""
    if not month.end_mg:
        return _("none now")
    if not month.packages:
        return _("{mass} now", mass=mass(month.end_mg))
    return _(
        "{mass} now, {packages}", mass=mass(month.end_mg), packages=package_words(month.packages)
    )


def low_words(months: Sequence[FoodMonth]) -> str:
    """Whether it ran out at some month's end of the year, else when there was least."""
    ends = months[:-1]
    out = [
        month
        for i, month in enumerate(ends)
        if not month.end_mg and any(before.end_mg for before in ends[:i])
    ]
    if len(out) == 1:
        return _("None was left at the end of {month}.", month=month_words(out[0].first))
    if out:
        return _(
            "None was left at {number} months’ ends, first in {month}.",
            number=len(out),
            month=month_words(out[0].first),
        )
    there = [month for month in ends if month.end_mg]
    if len(there) < 2:
        return ""
    least = min(there, key=lambda month: month.end_mg)
    return _(
        "Least: {mass} at the end of {month}.",
        mass=mass(least.end_mg),
        month=month_words(least.first),
    )


def flow_words(year: FoodYear) -> str:
    """What came in and what was eaten in the twelve months."""
    twelve = year.months[1:]
    came = sum(month.came_in_mg for month in twelve)
    eaten = sum(month.eaten_mg for month in twelve)
    if came and eaten:
        return _("{came} came in, {eaten} was eaten.", came=mass(came), eaten=mass(eaten))
    if came:
        return _("{came} came in, none was eaten.", came=mass(came))
    if eaten:
        return _("None came in, {eaten} was eaten.", eaten=mass(eaten))
    return _("None came in, none was eaten.")


def picture_words(name: str, year: FoodYear) -> str:
    """A food's year in one sentence, for those who do not see its columns."""
    months = year.months
    most = max(months, key=lambda month: month.end_mg)
    return _(
        "{name}: {first} at the end of {first_month}, most {most} in {most_month}, {now}.",
        name=name,
        first=mass(months[0].end_mg) if months[0].end_mg else _("none"),
        first_month=month_words(months[0].first),
        most=mass(most.end_mg),
        most_month=month_words(most.first),
        now=now_words(months[-1]),
    )


def lead_words(years: Sequence[FoodYear]) -> str:
    """What the year was, in masses."""
    twelve = [month for year in years for month in year.months[1:]]
    return _(
        "{now} is on hand. In the last twelve months {came} came in and {eaten} was eaten.",
        now=mass(sum(year.now_mg for year in years)),
        came=mass(sum(month.came_in_mg for month in twelve)),
        eaten=mass(sum(month.eaten_mg for month in twelve)),
    )
