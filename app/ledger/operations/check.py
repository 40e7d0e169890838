"""Check: a look that was due, and what it found."""

from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy.orm import Session

from app.ledger.calendar import today_of
from app.ledger.errors import Problem, ProblemKind, Refused, refuse
from app.ledger.lots import kind_of
from app.ledger.models import CheckDone, Lot, PlaceReading
from app.ledger.operations._post import Posted, Posting, post
from app.ledger.operations.climate import ReadingIn
from app.ledger.safety import Applied, gate, noted
from app.ledger.words import CheckKind, Finding, OperationKind, PlaceKind
from app.science.safety.checks import freezer_cold
from app.science.safety.readings import Reading
from app.science.safety.verdicts import checked_next_day, held_cold, unit_ask

_READ_OF = {PlaceKind.FREEZER: Reading.FREEZER, PlaceKind.FRIDGE: Reading.FRIDGE}


@dataclass(frozen=True, slots=True)
class Looked:
    """What was looked at (a lot, or the thermometer of a place), and whether all was well."""

    kind: CheckKind
    finding: Finding
    done_on: date
    lot_id: int | None = None
    place_id: int | None = None
    reading: ReadingIn | None = None
    note: str = ""
    reason: str = ""


def check(session: Session, request: Looked, *, at: datetime, by: int | None) -> Posted:
    """Record a look. A refrigerator that reads too warm asks what was done about it.

    Raises:
        Refused: a lot or place that does not exist, a thermometer without its reading or read in
            the future, or a reason that is missing.
    """
    _need_subject(session, request)
    _need_reading(session, request, at)
    posting = Posting(
        OperationKind.CHECK,
        request.done_on,
        note=request.note,
        method=request.kind,
        checkpoints=_checkpoints(session, request),
    )
    posted = post(session, posting, at=at, by=by)
    session.add(
        CheckDone(
            operation_id=posted.operation_id,
            kind=request.kind,
            finding=request.finding,
            lot_id=request.lot_id,
            place_id=request.place_id,
        )
    )
    if request.reading is not None and request.place_id is not None:
        reading = request.reading
        session.add(
            PlaceReading(
                operation_id=posted.operation_id,
                place_id=request.place_id,
                at=reading.at,
                temp_c=reading.temp_c,
                relative_humidity=reading.relative_humidity,
                typed=reading.typed,
            )
        )
    session.flush()
    return posted


def _need_subject(session: Session, request: Looked) -> None:
    if request.kind is CheckKind.THERMOMETER:
        if request.place_id is None:
            raise refuse("place_id", ProblemKind.MISSING)
        kind_of(session, request.place_id)
    elif request.lot_id is None or session.get(Lot, request.lot_id) is None:
        raise refuse("lot_id", ProblemKind.UNKNOWN_LOT)


def _need_reading(session: Session, request: Looked, at: datetime) -> None:
    """A look at a thermometer that nobody read is no evidence."""
    reading = request.reading
    if reading is None:
        if request.kind is CheckKind.THERMOMETER:
            raise refuse("reading", ProblemKind.MISSING)
    elif reading.at > at:
        numbers = {"date": today_of(session, reading.at), "today": today_of(session, at)}
        raise Refused(Problem("reading", ProblemKind.IN_FUTURE, numbers))


def _checkpoints(session: Session, request: Looked) -> list[Applied]:
    if request.kind is CheckKind.SEAL:
        fine = request.finding is Finding.FINE
        return [Applied(v, "", request.lot_id) for v in checked_next_day(is_tight=fine)]
    if request.place_id is None or request.reading is None:
        return []
    value, unit = request.reading.value, request.reading.unit
    insists = bool(request.reason.strip())
    kind = kind_of(session, request.place_id)
    if kind is PlaceKind.FRIDGE:
        return gate(held_cold(value, unit, insisted=insists), request.reason)
    asked = unit_ask(_READ_OF.get(kind, Reading.ROOM), value, unit)
    if asked:
        return gate([asked], request.reason)
    return noted(freezer_cold(value, unit)) if kind is PlaceKind.FREEZER else []
