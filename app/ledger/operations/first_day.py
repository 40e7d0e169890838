"""The first day: what a household has already, taken in row by row in one transaction."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.ledger.errors import Problem, ProblemKind, Refused, refuse
from app.ledger.game import GameIn
from app.ledger.models import Operation
from app.ledger.operations._post import BowlWeighed, Posted
from app.ledger.operations.correct import Correct, correct
from app.ledger.operations.intake import Intake, SourceIn, intake
from app.ledger.stock import is_kept
from app.science.classes import Form, Treatment

NOT_OLDER_YEARS = 3  # where nobody knows; our judgement, and the person may say otherwise
MOST_PACKETS = 200
MOST_ROWS = 60  # in one sending

_FIELDS = {  # of the intake, as the row of a form has them
    "bowls": "weight",
    "food_ndb": "food",
    "kept_since": "since",
    "done_on": "since",
}
_FIRST_STEP = re.compile(r"[a-z_]+")


@dataclass(frozen=True, slots=True)
class Since:
    """Since when it has been kept: the first and last day it may have been."""

    first: date
    last: date
    is_known: bool = True


@dataclass(frozen=True, slots=True)
class AlreadyThere:
    """One row: a food that lies there in packets, with the mass of each or of all together."""

    name: str
    food_ndb: str
    since: Since
    packets: int
    mass_mg: int
    typed: str
    is_each: bool
    is_raw: bool
    form: Form = Form.PIECES
    treatments: frozenset[Treatment] = frozenset()


@dataclass(frozen=True, slots=True)
class FirstDay:
    """Everything that lies at one place, from one kind of source."""

    rows: tuple[AlreadyThere, ...]
    place_id: int
    source: SourceIn
    done_on: date
    note: str = ""
    game: GameIn | None = None  # of every wild animal among them; None: nobody was asked
    reason: str = ""


def not_older(today: date, years: int) -> Since:
    """Nobody knows since when: at most so many years, counted from the careful end.

    Example:
        >>> not_older(date(2028, 2, 29), 3).first
        datetime.date(2025, 2, 28)
    """
    leap = today.month == 2 and today.day == 29
    first = today.replace(year=today.year - years, day=28 if leap else today.day)
    return Since(first, today, is_known=False)


def first_day(session: Session, request: FirstDay, *, at: datetime, by: int | None) -> list[Posted]:
    """Take in every row as a lot of its own, loose: the packets stand in its note.

    A date known only to the month or the year is counted from its first day, the careful end; the
    span stays with the lot as that of its harvest.

    Raises:
        Refused: no row, or a fault in any of them; then none is written, and every faulty row is
            named by its place in the list.
    """
    if not request.rows:
        raise refuse("rows", ProblemKind.MISSING)
    if len(request.rows) > MOST_ROWS:
        raise refuse("rows", ProblemKind.UNKNOWN_CHOICE)
    posted: list[Posted] = []
    problems: list[Problem] = []
    for i, row in enumerate(request.rows):
        try:
            if not 1 <= row.packets <= MOST_PACKETS:
                raise refuse("packets", ProblemKind.NOT_POSITIVE)
            posted.append(intake(session, _intake_of(row, request), at=at, by=by))
        except Refused as refused:
            problems += [replace(p, field=_beside(i, p.field)) for p in refused.problems]
    if problems:
        raise Refused(*problems)
    return posted


def take_back(
    session: Session, operation_ids: Sequence[int], done_on: date, *, at: datetime, by: int | None
) -> int:
    """Take back what was taken in, newest first, in one transaction.

    Args:
        operation_ids: of one sending; those that were taken back before are passed over.
    Returns:
        How many were taken back.
    Raises:
        Refused: later work rests on one of them, or there is none left; none is taken back then.
    """
    kept = session.scalars(
        select(Operation.id)
        .where(Operation.id.in_(operation_ids), is_kept(Operation.id))
        .order_by(Operation.id.desc())
    ).all()
    if not kept:
        raise refuse("operation_id", ProblemKind.ALREADY_REVERSED)
    for number in kept:
        correct(session, Correct(number, done_on), at=at, by=by)
    return len(kept)


def _beside(i: int, field: str) -> str:
    step = _FIRST_STEP.match(field)
    first = step[0] if step else field
    if first in ("place_id", "reason", "gate"):
        return first
    return f"rows[{i}].{_FIELDS.get(first, first)}"


def _intake_of(row: AlreadyThere, request: FirstDay) -> Intake:
    last = min(row.since.last, request.done_on)
    mass_mg = row.mass_mg * row.packets if row.is_each else row.mass_mg
    typed = f"{row.packets} × {row.typed}" if row.is_each and row.packets > 1 else row.typed
    return Intake(
        name=row.name,
        food_ndb=row.food_ndb,
        form=row.form,
        source=replace(request.source, name=request.source.name or row.name),
        bowls=(BowlWeighed("", mass_mg, typed, 0, ""),),
        place_id=request.place_id,
        done_on=request.done_on,
        harvest=(row.since.first, max(last, row.since.first)),
        kept_since=row.since.first,
        is_raw=row.is_raw,
        treatments=row.treatments,
        game=request.game,
        reason=request.reason,
        note="\n".join(text for text in (_packets(row), _age(row), request.note) if text),
    )


def _packets(row: AlreadyThere) -> str:
    if row.packets == 1:
        return ""
    how = f" of {row.typed}" if row.is_each else ""
    return f"{row.packets} packets{how}"


def _age(row: AlreadyThere) -> str:
    if row.since.is_known:
        return ""
    return f"Age not known: taken as not older than {row.since.first.isoformat()}."
