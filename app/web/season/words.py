"""What the season page says: one function for each sentence."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from app.language import _, month_words, ngettext
from app.ledger.food_kinds import called
from app.ledger.pace import DAYS_A_MONTH, Rate
from app.ledger.queries.season import FoodMonth, FoodYear
from app.web import messages
from app.web.places.fullness import fullness_words
from app.web.season.drawing import Span


def mass(mass_mg: int) -> str:
    """A mass that is not torn apart at the end of a line."""
    return messages.mass(mass_mg).replace(" ", "\u00a0")


def food_name(kind: str, names: Iterable[str]) -> str:
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


# -- the months to come ----------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Outlasts:
    """A lot of which some (kg) would still be there on the last or the middle day of its window."""

    code: str
    name: str
    left: Span
    on: date
    is_end: bool


def _kg(mass_kg: float) -> str:
    return mass(round(mass_kg * 1e6))


def _is_none(mass_kg: float) -> bool:
    """Less than the scale shows."""
    return mass_kg < 0.0005


def span_words(span: Span) -> str:
    """How much may be left: "1.2 kg to 3.4 kg"."""
    least, most = _kg(span.least), _kg(span.most)
    if _is_none(span.most):
        return _("nothing")
    if _is_none(span.least):
        return _("nothing to {most}", most=most)
    return most if least == most else _("{least} to {most}", least=least, most=most)


def known_words(rate: Rate) -> str:
    """From how much a rate is known: "4 takings in 13 months"."""
    months = round(rate.days / DAYS_A_MONTH)
    time = (
        ngettext("{number} month", "{number} months", months)
        if rate.days >= 2 * DAYS_A_MONTH
        else ngettext("{number} day", "{number} days", rate.days)
    )
    return ngettext(
        "known from {number} taking in {time}",
        "known from {number} takings in {time}",
        rate.takings,
        time=time,
    )


def rate_words(rate: Rate | None, was_taken: bool) -> str:
    """How fast it is taken out, as a range, and from how much that is known."""
    if rate is None and was_taken:
        return _("Here for less than four weeks: no rate is known yet.")
    if rate is None:
        return _("Nothing was taken out yet: no rate is known.")
    low, high = rate.low * DAYS_A_MONTH, rate.high * DAYS_A_MONTH
    if _is_none(low):
        return _("Up to {high} a month, {known}.", high=_kg(high), known=known_words(rate))
    return _(
        "{low} to {high} a month, {known}.", low=_kg(low), high=_kg(high), known=known_words(rate)
    )


def left_words(last: Span | None, until: date) -> str:
    """What would be left at the end of the last month that is drawn."""
    if last is None:
        return ""
    return _("At the end of {month}: {left}.", month=month_words(until), left=span_words(last))


def full_words(on_hand_mg: int, last: Span | None, capacity_l: float, until: date) -> str:
    """How full a freezer is, and how full it would be."""
    now = fullness_words(on_hand_mg / 1e6, capacity_l)
    if last is None:
        return _("Now {now}.", now=now)
    return _(
        "Now {now}; at the end of {month} {then}, by the rate itself.",
        now=now,
        month=month_words(until),
        then=fullness_words(last.central, capacity_l),
    )


def ahead_picture_words(name: str, on_hand_mg: int, last: Span | None, until: date) -> str:
    """A food or a place in the months to come, for those who do not see its columns."""
    if last is None:
        return _("{name}: {now} now; no rate is known.", name=name, now=mass(on_hand_mg))
    return _(
        "{name}: {now} now; at the end of {month} {left} would be left.",
        name=name,
        now=mass(on_hand_mg),
        month=month_words(until),
        left=span_words(last),
    )


def outlasts_words(found: Outlasts, lot: str) -> str:
    """What of a lot its window would outlast; lot: its name, as a link."""
    told = {
        "mass": _kg(found.left.central),
        "lot": lot,
        "month": month_words(found.on),
        "range": span_words(found.left),
    }
    is_sure = _kg(found.left.least) == _kg(found.left.most)
    if is_sure and found.is_end:
        return _("{mass} of {lot} would still be there when its window ends in {month}.", **told)
    if is_sure:
        return _(
            "{mass} of {lot} would still be there in {month}, the middle of its window.", **told
        )
    if found.is_end:
        return _(
            "About {mass} of {lot} would still be there when its window ends in {month} "
            "(range: {range}).",
            **told,
        )
    return _(
        "About {mass} of {lot} would still be there in {month}, the middle of its window "
        "(range: {range}).",
        **told,
    )


# -- what comes up ---------------------------------------------------------------------------------


def reached_words(lots: int, packages: int) -> str:
    """How many lots and packages reach a day: "3 lots, 7 packages"."""
    if not packages:
        return lot_words(lots)
    return _("{lots}, {packages}", lots=lot_words(lots), packages=package_words(packages))


def came_in_words(first: date, amounts: Iterable[tuple[str, int]]) -> str:
    """What came in a year ago: "November 2025: Pork 13.1 kg, Reindeer 3.14 kg"."""
    foods = ", ".join(
        _("{food} {mass}", food=food, mass=mass(mass_mg)) for food, mass_mg in amounts
    )
    return _("In {month} came in: {foods}.", month=month_words(first), foods=foods) if foods else ""


def coming_picture_words(
    firsts: Sequence[date], middles_mg: Sequence[float], ends_mg: Sequence[float]
) -> str:
    """The months to come, for those who do not see their columns."""
    together = [middle + end for middle, end in zip(middles_mg, ends_mg, strict=True)]
    if not any(together):
        return _("No window reaches its middle or its end in the next twelve months.")
    fullest = max(range(len(firsts)), key=lambda i: together[i])
    return _(
        "In the next twelve months the windows of {middles} reach their middle and those of {ends} "
        "their end; the most in {month}.",
        middles=mass(round(sum(middles_mg))),
        ends=mass(round(sum(ends_mg))),
        month=month_words(firsts[fullest]),
    )
