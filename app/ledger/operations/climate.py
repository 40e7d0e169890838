"""Climate: how warm and damp a place is from an instant on, as somebody said or a logger showed."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.ledger import windows
from app.ledger.calendar import today_of
from app.ledger.climates import Warmth, fault_of
from app.ledger.errors import Problem, ProblemKind, Refused, refuse
from app.ledger.lots import known_place
from app.ledger.models import Climate, LoggerFile, PlaceReading
from app.ledger.operations._post import Posted, Posting, post
from app.ledger.safety import Applied
from app.ledger.stock import kept_at, stands, stock_of
from app.ledger.words import ClimateBasis, OperationKind

MONTHS = 12


@dataclass(frozen=True, slots=True)
class ReadingIn:
    """One temperature of a place; `typed` as the person wrote it, empty for a logger's."""

    at: datetime
    temp_c: float
    relative_humidity: float | None = None
    typed: str = ""
    unit: str = "C"  # it was typed in, "C" or "F"

    @property
    def value(self) -> float:
        """The number that was typed: rules compare it with the limit printed in that unit."""
        return self.temp_c if self.unit == "C" else round(1.8 * self.temp_c + 32.0, 6)


@dataclass(frozen=True, slots=True)
class SaidClimate:
    """From an instant on: one warmth for all the year, or twelve from January on."""

    since: datetime
    by_month: tuple[Warmth, ...]
    basis: ClimateBasis = ClimateBasis.STATED


@dataclass(frozen=True, slots=True)
class LoggerIn:
    """The file that readings came in; its hash stops it from being read in twice."""

    name: str
    sha256: str
    gap_count: int = 0


@dataclass(frozen=True, slots=True)
class ChangeClimate:
    """What is said of a place: how warm it is from when on, readings, and where they came from."""

    place_id: int
    done_on: date
    climates: tuple[SaidClimate, ...] = ()
    readings: tuple[ReadingIn, ...] = ()
    logger: LoggerIn | None = None
    note: str = ""


def change_climate(
    session: Session,
    request: ChangeClimate,
    *,
    at: datetime,
    by: int | None,
    checkpoints: Sequence[Applied] = (),
) -> Posted:
    """Record the climate of a place, and work out again the window of all that lay there.

    Past days count as well as those to come: a lot's page shows both.

    Raises:
        Refused: nothing said, temperatures out of order or of reach, neither one month nor twelve,
            an instant in the future, or a file that was read in before.
    """
    known_place(session, request.place_id)
    _check(session, request, at)
    posting = Posting(
        OperationKind.CLIMATE, request.done_on, note=request.note, checkpoints=checkpoints
    )
    posted = post(session, posting, at=at, by=by)
    session.add_all(_rows(request, posted.operation_id))
    session.flush()
    windows.refresh(session, stock_of(session, kept_at(session, [request.place_id])))
    return posted


def _check(session: Session, request: ChangeClimate, at: datetime) -> None:
    if not request.climates and not request.readings:
        raise refuse("readings", ProblemKind.MISSING)
    for said in request.climates:
        if len(said.by_month) not in (1, MONTHS):
            raise refuse("by_month", ProblemKind.MISSING)
        faults = filter(None, map(fault_of, said.by_month))
        if (fault := next(faults, None)) is not None:
            raise refuse("usual", ProblemKind.IMPOSSIBLE, reason=fault)
    instants = [said.since for said in request.climates] + [r.at for r in request.readings]
    late = max(instants)
    if late > at:
        numbers = {"date": today_of(session, late), "today": today_of(session, at)}
        raise Refused(Problem("since", ProblemKind.IN_FUTURE, numbers))
    if request.logger is not None and _is_known(session, request.logger.sha256):
        raise refuse("file", ProblemKind.ALREADY_READ, name=request.logger.name)


def _is_known(session: Session, sha256: str) -> bool:
    query = select(LoggerFile.operation_id).where(
        LoggerFile.sha256 == sha256, stands(LoggerFile.operation_id)
    )
    return session.scalar(query) is not None


def _rows(request: ChangeClimate, operation_id: int) -> list[Climate | PlaceReading | LoggerFile]:
    rows: list[Climate | PlaceReading | LoggerFile] = [
        Climate(
            operation_id=operation_id,
            place_id=request.place_id,
            since=said.since,
            month=month if len(said.by_month) > 1 else None,
            temp_low_c=warmth.temp_low_c,
            temp_c=warmth.temp_c,
            temp_high_c=warmth.temp_high_c,
            relative_humidity=warmth.relative_humidity,
            basis=said.basis,
        )
        for said in {said.since: said for said in request.climates}.values()
        for month, warmth in enumerate(said.by_month, start=1)
    ]
    rows += [
        PlaceReading(
            operation_id=operation_id,
            place_id=request.place_id,
            at=reading.at,
            temp_c=reading.temp_c,
            relative_humidity=reading.relative_humidity,
            typed=reading.typed,
        )
        for reading in request.readings
    ]
    if request.logger is not None:
        rows.append(
            LoggerFile(
                operation_id=operation_id,
                place_id=request.place_id,
                name=request.logger.name,
                sha256=request.logger.sha256,
                reading_count=len(request.readings),
                gap_count=request.logger.gap_count,
            )
        )
    return rows
