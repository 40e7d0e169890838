"""Chill: cooked food into the cold, with the readings that show it cooled fast enough."""

from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy.orm import Session

from app.ledger.errors import ProblemKind, refuse
from app.ledger.lots import known_lot, made_from
from app.ledger.makeup import composition_of
from app.ledger.mass import to_kg
from app.ledger.operations._post import (
    Make,
    Measured,
    Posted,
    Posting,
    Take,
    losses,
    post,
)
from app.ledger.safety import gate, rule_set_of
from app.ledger.stages import half_cooked
from app.ledger.stock import StockRef
from app.ledger.words import LossKind, OperationKind, ReadingKind
from app.science.classes import Treatment
from app.science.composition import with_lost_water
from app.science.errors import ScienceError
from app.science.safety.rule import Outcome, Verdict
from app.science.safety.verdicts import cooled


@dataclass(frozen=True, slots=True)
class CoolingReading:
    """A temperature, hours after the end of cooking; None where the probe failed."""

    hours: float
    temp_c: float | None
    typed: str


@dataclass(frozen=True, slots=True)
class Chill:
    """What is chilled, where, and the readings if any were taken."""

    ref: StockRef
    mass_mg: int
    made_mg: int
    place_id: int
    done_on: date
    readings: tuple[CoolingReading, ...] = ()
    is_reconstituted: bool = False  # soaked or mixed at room temperature, not cooked
    note: str = ""
    reason: str = ""


def chill(session: Session, request: Chill, *, at: datetime, by: int | None) -> Posted:
    """Record a chilling; what is missing afterwards has evaporated.

    Raises:
        Refused: the readings show that it cooled too slowly, no reading was taken or the food is
            half cooked and no reason given, or the masses do not fit.
    """
    lot = known_lot(session, request.ref)
    evaporated_mg = request.mass_mg - request.made_mg
    verdicts = _verdicts(session, request)
    checkpoints = gate([*half_cooked(session, lot), *verdicts], request.reason)
    try:
        composition = with_lost_water(
            composition_of(session, lot),
            to_kg(max(request.mass_mg, 1)),
            to_kg(max(evaporated_mg, 0)),
        )
    except ScienceError as error:
        raise refuse(
            "made_mg", ProblemKind.IMPOSSIBLE, reason="more_evaporated_than_water"
        ) from error
    posting = Posting(
        OperationKind.CHILL,
        request.done_on,
        note=request.note,
        takes=[Take(request.ref, request.mass_mg)],
        makes=[
            Make(
                request.place_id,
                request.made_mg,
                made_from(
                    session,
                    lot,
                    lot.kept_since,  # the days of the refrigerator count from the cooking
                    composition=composition,
                    treatments=frozenset({Treatment.CHILLED}),
                    share_used=lot.share_used,
                ),
            )
        ],
        losses=losses((LossKind.EVAPORATED, evaporated_mg)),
        readings=[
            Measured(ReadingKind.COOLING, reading.temp_c, reading.typed, reading.hours)
            for reading in request.readings
            if reading.temp_c is not None
        ],
        checkpoints=checkpoints,
    )
    return post(session, posting, at=at, by=by)


def _verdicts(session: Session, request: Chill) -> tuple[Verdict, ...]:
    """What the readings show; one that cannot be and is insisted on proves nothing."""
    readings = [(reading.hours, reading.temp_c) for reading in request.readings]
    rule_set = rule_set_of(session)
    verdicts = cooled(readings, request.is_reconstituted, rule_set)
    if not request.reason.strip() or verdicts[0].outcome is not Outcome.ASK:
        return verdicts
    believed = [(hours, None if _is_odd(t) else t) for hours, t in readings]
    return (*verdicts, *cooled(believed, request.is_reconstituted, rule_set))


def _is_odd(temp_c: float | None) -> bool:
    """Can no cooling food have this temperature?"""
    return bool(cooled([(0.0, temp_c)])[0].outcome is Outcome.ASK)
