"""The year of a household: each food by month, what was taken out of each place, what came in.

The database sums by month; nothing here reads row by row what was ever written. Entries that were
taken back count for nothing, as if they had never been made.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any, NamedTuple

from sqlalchemy import CTE, ColumnElement, Double, Text, case, cast, func, select, type_coerce
from sqlalchemy.orm import Session

from app.ledger.bulk import table_of
from app.ledger.food_kinds import kind_of
from app.ledger.models import Entry, Lot, Operation, Package, Stock
from app.ledger.pace import MonthTaken, balances, month_of, months_on
from app.ledger.stock import is_kept
from app.ledger.types import day_of
from app.ledger.words import OperationKind

MONTHS = 13  # the present one and the twelve before it
_SEASON_LATE = 2  # months between harvest and intake from which on it was "there already"

_entry, _lot, _operation, _package, _stock = (
    table_of(model).c for model in (Entry, Lot, Operation, Package, Stock)
)


class FoodMonth(NamedTuple):
    """One food in one month, mg: at its end, and what changed in it. Work is drying, trimming…"""

    first: date
    end_mg: int
    packages: int
    came_in_mg: int
    was_there_mg: int  # taken in late, as on the ledger's first day
    eaten_mg: int
    given_mg: int
    discarded_mg: int
    other_mg: int  # net: work on it, other food made of it, stocktakes

    @property
    def change_mg(self) -> int:
        """End less beginning."""
        gone = self.eaten_mg + self.given_mg + self.discarded_mg
        return self.came_in_mg + self.was_there_mg + self.other_mg - gone


@dataclass(frozen=True, slots=True)
class FoodYear:
    """One food over the year; `names` are those that people gave its lots."""

    kind: str
    names: frozenset[str]
    months: tuple[FoodMonth, ...]

    @property
    def now_mg(self) -> int:
        """On hand now."""
        return self.months[-1].end_mg


@dataclass(slots=True)
class _Gathered:
    """What the statements say of one food."""

    names: set[str] = field(default_factory=set)
    now_mg: int = 0
    packages: int = 0
    by_month: dict[date, dict[str, int]] = field(
        default_factory=lambda: defaultdict(lambda: defaultdict(int))
    )


def food_years(session: Session, today: date) -> list[FoodYear]:
    """Every food that was on hand at some time of the last year, the most first."""
    found: dict[str, _Gathered] = defaultdict(_Gathered)
    _gather_stock(session, found)
    start = first_month(today)
    _gather_entries(session, found, start)
    _gather_packages(session, found, start)
    years = [_year(kind, one, start) for kind, one in found.items()]
    return sorted(years, key=lambda year: (-max(m.end_mg for m in year.months), year.kind))


def first_month(today: date) -> date:
    """The month a year before the present one."""
    return months_on(month_of(today), 1 - MONTHS)


def _year(kind: str, one: _Gathered, start: date) -> FoodYear:
    firsts = [months_on(start, i) for i in range(MONTHS)]
    sums = [one.by_month[first] for first in firsts]
    ends = balances(one.now_mg, [s["all"] for s in sums])
    packages = balances(one.packages, [s["packed"] - s["gone"] for s in sums])
    months = tuple(
        FoodMonth(
            first=first,
            end_mg=end,
            packages=max(count, 0),
            came_in_mg=s["in"],
            was_there_mg=s["there"],
            eaten_mg=-s["eaten"],
            given_mg=-s["given"],
            discarded_mg=-s["discarded"],
            other_mg=s["other"],
        )
        for first, end, count, s in zip(firsts, ends, packages, sums, strict=True)
    )
    return FoodYear(kind, frozenset(one.names), months)


_LEAVING = {
    OperationKind.EAT: "eaten",
    OperationKind.GIVE: "given",
    OperationKind.DISCARD: "discarded",
}


def _gather_stock(session: Session, found: dict[str, _Gathered]) -> None:
    query = (
        select(
            *(_lot.food_ndb, _lot.food_class, _lot.name),
            *(func.sum(_stock.mass_mg), func.count(_stock.package_id)),
        )
        .join_from(table_of(Stock), table_of(Lot), _lot.id == _stock.lot_id)
        .group_by(_lot.food_ndb, _lot.food_class, _lot.name)
    )
    for ndb, food_class, name, mass_mg, packages in session.execute(query):
        one = found[kind_of(ndb, food_class)]
        one.names.add(name)
        one.now_mg += int(mass_mg)
        one.packages += int(packages)


def _standing(start: date) -> CTE:
    """The operations since a day that were not taken back and take none back.

    Found first, by their day: whether one takes another back is asked in a way that no index
    answers, since nearly none does, and going by that index would read all that was ever done.
    """
    takes_none_back = func.coalesce(_operation.reverses_id, 0) == 0
    return (
        select(_operation.id, _operation.kind, type_coerce(_operation.done_on, Text).label("day"))
        .where(_operation.done_on >= start, takes_none_back, is_kept(_operation.id))
        .cte("standing")
        .prefix_with("MATERIALIZED")
    )


def _month(day: ColumnElement[str]) -> ColumnElement[str]:
    """Days are stored as ISO 8601 text; the first seven letters are the month."""
    return func.substr(day, 1, 7)


def _first(month: str) -> date:
    return day_of(f"{month}-01")


def _gather_entries(session: Session, found: dict[str, _Gathered], start: date) -> None:
    done = _standing(start)
    kept_since = _month(type_coerce(_lot.kept_since, Text))
    since = case((done.c.kind == OperationKind.INTAKE, kept_since), else_="")
    keys = (_month(done.c.day), done.c.kind, since, _lot.food_ndb, _lot.food_class, _lot.name)
    query = (
        select(*keys, func.sum(_entry.mass_mg))
        .join_from(done, table_of(Entry), _entry.operation_id == done.c.id)
        .join(table_of(Lot), _lot.id == _entry.lot_id)
        .group_by(*keys)
    )
    for month, kind, kept, ndb, food_class, name, mass_mg in session.execute(query):
        one = found[kind_of(ndb, food_class)]
        one.names.add(name)
        sums = one.by_month[_first(month)]
        sums["all"] += int(mass_mg)
        sums[_sort(OperationKind(kind), _first(month), kept)] += int(mass_mg)


def _sort(kind: OperationKind, month: date, kept: str) -> str:
    if kind is OperationKind.INTAKE:
        late = month >= months_on(_first(kept), _SEASON_LATE)
        return "there" if late else "in"
    return _LEAVING.get(kind, "other")


def _gather_packages(session: Session, found: dict[str, _Gathered], start: date) -> None:
    """How many packages came into the ledger and left it in each month."""
    made = _standing(start)
    new = _month(made.c.day)
    packed = (
        select(_lot.food_ndb, _lot.food_class, new, func.count())
        .join_from(made, table_of(Lot), _lot.operation_id == made.c.id)
        .join(table_of(Package), _package.lot_id == _lot.id)
        .group_by(_lot.food_ndb, _lot.food_class, new)
    )
    last = _last_entries(start)
    end = _month(last.c.day)
    gone = (
        select(_lot.food_ndb, _lot.food_class, end, func.count())
        .join_from(last, table_of(Package), _package.id == last.c.package_id)
        .join(table_of(Lot), _lot.id == _package.lot_id)
        .group_by(_lot.food_ndb, _lot.food_class, end)
    )
    for word, query in (("packed", packed), ("gone", gone)):
        for ndb, food_class, month, count in session.execute(query):
            found[kind_of(ndb, food_class)].by_month[_first(month)][word] += int(count)


def _last_entries(start: date) -> CTE:
    """The day of the last entry of each package that is no longer there."""
    done = _standing(start)
    return (
        select(_entry.package_id, func.max(done.c.day).label("day"))
        .join_from(done, table_of(Entry), _entry.operation_id == done.c.id)
        .where(_entry.package_id.is_not(None), _entry.package_id.not_in(_packed_stock()))
        .group_by(_entry.package_id)
        .cte("last_entry")
    )


def _packed_stock() -> Any:
    return select(_stock.package_id).where(_stock.package_id.is_not(None))


# -- places ----------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class PlaceFood:
    """One food at one place: what lies there now, and each month of the last year."""

    place_id: int
    kind: str
    on_hand_mg: int
    months: tuple[MonthTaken, ...]


def place_foods(session: Session, today: date) -> list[PlaceFood]:
    """Every food at every place where some lies now or was in the last year."""
    start = first_month(today)
    now: dict[tuple[int, str], int] = defaultdict(int)
    for place_id, ndb, food_class, mass_mg in session.execute(_on_hand()):
        now[place_id, kind_of(ndb, food_class)] += int(mass_mg)
    taken: dict[tuple[int, str], dict[date, MonthTaken]] = defaultdict(dict)
    for month, place_id, ndb, food_class, *sums in session.execute(_takings(start)):
        months = taken[place_id, kind_of(ndb, food_class)]
        one = _taken(_first(month), sums)
        months[one.first] = _both(months[one.first], one) if one.first in months else one
    keys = sorted({*now, *taken})
    return [PlaceFood(*key, now[key], _every_month(taken[key], start)) for key in keys]


def _on_hand() -> Any:
    return (
        select(_stock.place_id, _lot.food_ndb, _lot.food_class, func.sum(_stock.mass_mg))
        .join_from(table_of(Stock), table_of(Lot), _lot.id == _stock.lot_id)
        .group_by(_stock.place_id, _lot.food_ndb, _lot.food_class)
    )


def _takings(start: date) -> Any:
    """By month, place and food: what each operation took out or put in there, on balance."""
    done = _standing(start)
    keys = (done.c.id, done.c.day, _entry.place_id, _lot.food_ndb, _lot.food_class)
    kg = cast(func.sum(_entry.mass_mg), Double) / 1e6
    each = (
        select(*keys, kg.label("kg"))
        .join_from(done, table_of(Entry), _entry.operation_id == done.c.id)
        .join(table_of(Lot), _lot.id == _entry.lot_id)
        .group_by(*keys)
        .having(func.sum(_entry.mass_mg) != 0)
        .cte("each")
    ).c
    taken = case((each.kg < 0, -each.kg), else_=0.0)
    by = (_month(each.day), each.place_id, each.food_ndb, each.food_class)
    return select(
        *by,
        *(func.sum(taken), func.sum(taken * taken), func.sum(case((each.kg < 0, 1), else_=0))),
        func.sum(case((each.kg > 0, each.kg), else_=0.0)),
        *(func.min(each.day), func.max(each.day)),
    ).group_by(*by)


def _taken(first: date, sums: Sequence[Any]) -> MonthTaken:
    taken, squares, takings, put, begun, ended = sums
    return MonthTaken(
        first,
        float(taken),
        float(squares),
        int(takings),
        float(put),
        day_of(begun),
        day_of(ended),
    )


def _both(a: MonthTaken, b: MonthTaken) -> MonthTaken:
    """Two foods of the table that count as one kind."""
    return MonthTaken(
        a.first,
        a.taken_kg + b.taken_kg,
        a.squares_kg2 + b.squares_kg2,
        a.takings + b.takings,
        a.put_kg + b.put_kg,
        min(a.first_day, b.first_day),
        max(a.last_day, b.last_day),
    )


def _every_month(known: Mapping[date, MonthTaken], start: date) -> tuple[MonthTaken, ...]:
    firsts = (months_on(start, i) for i in range(MONTHS))
    return tuple(known.get(f) or MonthTaken(f, 0.0, 0.0, 0, 0.0, f, f) for f in firsts)


def together(foods: Iterable[PlaceFood]) -> tuple[MonthTaken, ...]:
    """The months of several foods of one place as one."""
    columns = zip(*(food.months for food in foods), strict=True)
    return tuple(_sum(months) for months in columns)


def _sum(months: Sequence[MonthTaken]) -> MonthTaken:
    total = months[0]
    for month in months[1:]:
        total = _both(total, month)
    return total


def kinds_on_hand(session: Session) -> dict[int, str]:
    """The kind of every lot that is on hand."""
    query = select(_lot.id, _lot.food_ndb, _lot.food_class).where(
        _lot.id.in_(select(_stock.lot_id))
    )
    return {lot_id: kind_of(ndb, food_class) for lot_id, ndb, food_class in session.execute(query)}
