"""What is watched over: how warm the places are, who looked, and the night the power was out."""

from datetime import date, datetime, timedelta
from hashlib import sha256
from math import pi, sin

from app.ledger.climates import Warmth
from app.ledger.operations.check import Looked, check
from app.ledger.operations.climate import (
    ChangeClimate,
    LoggerIn,
    ReadingIn,
    SaidClimate,
    change_climate,
)
from app.ledger.operations.incident import LotFate, WentWrong, went_wrong
from app.ledger.queries.due import Due, DueKind, due
from app.ledger.queries.stock import stock_lines
from app.ledger.queries.what_it_means import Seen, Told, meanings
from app.ledger.words import CheckKind, ClimateBasis, Finding, IncidentKind, PlaceKind
from seed_demo.clock import instant
from seed_demo.household import CELLAR, ELNA, FREEZER, JONAS, LEFT_SHELF, MARIT, RIGHT_SHELF, TOBI
from seed_demo.kitchen import Kitchen
from seed_demo.plan import Plan

_PANTRY_C = (13.0, 13.0, 14.0, 16.0, 18.0, 20.5, 22.0, 21.5, 19.0, 17.0, 15.0, 13.5)
_CELLAR_C = (5.0, 5.0, 5.5, 7.0, 9.0, 10.5, 12.0, 12.5, 11.5, 9.5, 7.5, 6.0)
_USUAL_C = {PlaceKind.FREEZER: -17.8, PlaceKind.FRIDGE: 3.9}
_LOOKS = {DueKind.SEAL: CheckKind.SEAL, DueKind.LOOK: CheckKind.LOOK}
_ROUNDS = 9  # Sundays of this autumn; before them, one of each month
_LOGGED_DAYS = 21
_EVERY_HOURS = 3


def plan_watch(plan: Plan, year: int) -> None:
    """A thermometer hung for a year shows the seasons; a logger lay in the freezer in August."""
    plan.on(date(year, 6, 14), _say_the_seasons, MARIT)
    plan.on(date(year, 8, 23), _read_the_logger, JONAS)
    plan.on(date(year, 9, 4), _power_was_out, MARIT)
    plan.on(date(year, 5, 30), _take_stock, ELNA)


def plan_rounds(plan: Plan, today: date) -> None:
    """Somebody looks after what is due, the last time a week ago."""
    sunday = today - timedelta(days=6 + (today.weekday() + 1) % 7)
    sundays = [sunday - timedelta(weeks=weeks) for weeks in range(70)]
    monthly = [day for day in sundays[_ROUNDS:] if day.day <= 7]
    for day in [*sundays[:_ROUNDS], *monthly]:
        plan.on(day, _round, TOBI)


def _round(k: Kitchen) -> None:
    for item in due(k.session, k.now(20.0)):
        if item.kind in (*_LOOKS, DueKind.THERMOMETER):
            check(k.session, _looked(k, item), at=k.now(), by=k.by)


def _looked(k: Kitchen, item: Due) -> Looked:
    if item.kind is not DueKind.THERMOMETER or item.place_kind is None:
        return Looked(_LOOKS[item.kind], Finding.FINE, k.day, lot_id=item.number)
    temp_c = round(_USUAL_C[item.place_kind] + k.noise.uniform(-0.7, 0.7), 1)
    reading = ReadingIn(k.now(), temp_c, typed=f"{temp_c} °C")
    return Looked(CheckKind.THERMOMETER, Finding.FINE, k.day, place_id=item.number, reading=reading)


def _take_stock(k: Kitchen) -> None:
    """The right shelf in spring: all is there but a jar of apple rings."""
    why = "Eaten on a walk, and nobody wrote it down"
    k.take_stock(RIGHT_SHELF, f"apple rings {k.day.year - 1}", 3, why)


def _power_was_out(k: Kitchen) -> None:
    """Nine hours at night; in the morning everything was still hard."""
    begins, ends = instant(k.day - timedelta(days=1), 22.0), instant(k.day, 7.0)
    place_id = k.places[FREEZER]
    lines = [
        line
        for line in stock_lines(k.session, place_id=place_id, one_by_one=True)
        if line.made_on < k.day
    ]
    told = Told(
        IncidentKind.POWER_OUT,
        tuple(Seen(line, is_icy=True) for line in lines),
        at=k.now(9.0),
        from_at=begins,
        to_at=ends,
        temp=(-6.0, "C"),
        warm_hours=0.0,
        is_full=True,
    )
    request = WentWrong(
        IncidentKind.POWER_OUT,
        k.day,
        tuple(
            LotFate(m.line.ref, m.fate, m.verdicts, m.is_icy, m.warm_hours, m.temp_c)
            for m in meanings(k.session, told)
        ),
        place_id=place_id,
        from_at=begins,
        to_at=ends,
        temp_c=-6.0,
        warm_hours=0.0,
        note="Storm over the ridge; the line was down all night. Everything was still hard.",
    )
    went_wrong(k.session, request, at=k.now(), by=k.by)


def _say_the_seasons(k: Kitchen) -> None:
    for place in (LEFT_SHELF, RIGHT_SHELF):
        _by_month(k, place, _PANTRY_C, spread=2.0, humidity=0.55)
    _by_month(k, CELLAR, _CELLAR_C, spread=1.0, humidity=0.85)


def _by_month(
    k: Kitchen, place: str, temps_c: tuple[float, ...], *, spread: float, humidity: float
) -> None:
    months = tuple(Warmth(t - spread, t, t + spread, humidity) for t in temps_c)
    said = SaidClimate(instant(date(k.day.year - 1, 6, 1), 0.0), months)
    note = "From the minimum and maximum thermometer, written down each month for a year"
    request = ChangeClimate(k.places[place], k.day, (said,), note=note)
    change_climate(k.session, request, at=k.now(), by=k.by)


def _read_the_logger(k: Kitchen) -> None:
    """Three weeks of the hottest summer: the freezer hardly kept up."""
    begins = instant(k.day - timedelta(days=_LOGGED_DAYS + 1), 18.0)
    count = _LOGGED_DAYS * 24 // _EVERY_HOURS
    readings = tuple(_logged(k, begins, number) for number in range(count))
    temps_c = sorted(reading.temp_c for reading in readings)
    low_c, high_c = temps_c[count // 10], temps_c[-1 - count // 10]
    mean_c = round(sum(temps_c) / count, 1)
    said = SaidClimate(begins, (Warmth(low_c, mean_c, high_c, 0.55),), ClimateBasis.LOGGED)
    logger = LoggerIn("freezer-august.csv", sha256(repr(readings).encode()).hexdigest())
    request = ChangeClimate(k.places[FREEZER], k.day, (said,), readings, logger)
    change_climate(k.session, request, at=k.now(), by=k.by)


def _logged(k: Kitchen, begins: datetime, number: int) -> ReadingIn:
    hours = number * _EVERY_HOURS
    temp_c = -17.2 + 0.9 * sin(2 * pi * hours / 24) + k.noise.uniform(-0.6, 0.6)
    return ReadingIn(begins + timedelta(hours=hours), round(temp_c, 1))
