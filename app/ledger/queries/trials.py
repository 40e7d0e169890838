"""Rehydration trials, and the soaking that did best for a food."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from sqlalchemy import func, or_, select
from sqlalchemy.orm import Session

from app.ledger.codes import code_of
from app.ledger.mass import to_kg
from app.ledger.models import Lot, SoakingDone, Trial
from app.science.rehydration import Better, Soaking, better_soaking


@dataclass(frozen=True, slots=True)
class TrialSide:
    """One side, with what the science says of it."""

    code: str
    name: str
    soaking: Soaking
    score: int | None


@dataclass(frozen=True, slots=True)
class TrialLine:
    """One trial with its verdict."""

    id: int
    done_on: date
    note: str
    sides: tuple[TrialSide, TrialSide]
    better: Better

    @property
    def best(self) -> TrialSide | None:
        """The side to repeat; None when both did alike."""
        if self.better is Better.NEITHER:
            return None
        return self.sides[0 if self.better is Better.FIRST else 1]


def trials(session: Session) -> list[TrialLine]:
    """Every trial, newest first."""
    rows = session.scalars(select(Trial).order_by(Trial.done_on.desc(), Trial.id.desc())).all()
    return [_line(session, row) for row in rows]


def best_for(session: Session, lot: Lot) -> tuple[TrialLine, TrialSide] | None:
    """The newest trial that decided something for the same food, and its better side.

    The same food is one of the same row of the composition table and of the same form, or of the
    same name.
    """
    same = func.lower(Lot.name) == lot.name.lower()
    if lot.food_ndb is not None:
        same = or_(same, (Lot.food_ndb == lot.food_ndb) & (Lot.form == lot.form))
    rows = session.scalars(
        select(Trial)
        .where(
            Trial.id.in_(
                select(SoakingDone.trial_id).join(Lot, Lot.id == SoakingDone.lot_id).where(same)
            )
        )
        .order_by(Trial.done_on.desc(), Trial.id.desc())
    )
    lines = (_line(session, row) for row in rows)
    return next(((line, line.best) for line in lines if line.best is not None), None)


def _line(session: Session, trial: Trial) -> TrialLine:
    rows: Sequence[tuple[SoakingDone, Lot]] = [
        (soaking, lot)
        for soaking, lot in session.execute(
            select(SoakingDone, Lot)
            .join(Lot, Lot.id == SoakingDone.lot_id)
            .where(SoakingDone.trial_id == trial.id)
            .order_by(SoakingDone.side)
        )
    ]
    first, second = (_side(soaking, lot) for soaking, lot in rows)
    verdict = better_soaking(first.soaking, second.soaking)
    return TrialLine(trial.id, trial.done_on, trial.note, (first, second), verdict)


def _side(row: SoakingDone, lot: Lot) -> TrialSide:
    soaking = Soaking(
        dry_kg=to_kg(row.dry_mg),
        dry_water=row.dry_water,
        fresh_water=row.fresh_water,
        water_kg=to_kg(row.water_mg),
        drained_kg=to_kg(row.drained_mg),
        hours=row.minutes / 60.0,
        temp_c=row.temp_c,
        score=row.score,
    )
    return TrialSide(code_of(lot.id), lot.name, soaking, row.score)
