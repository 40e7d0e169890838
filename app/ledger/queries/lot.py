"""One lot, with everything its page shows."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.ledger.codes import code_of, lot_id_of
from app.ledger.errors import NotFound
from app.ledger.holds import ActiveHold, holds_on
from app.ledger.makeup import MeasuredValue, makeup_of
from app.ledger.models import Lot, LotAllergen, LotMark, Source
from app.ledger.queries.history import OperationLine, operations
from app.ledger.queries.stock import StockLine, stock_lines
from app.ledger.queries.trace import Became, Origin, became, origins_of
from app.ledger.queries.trials import TrialLine, TrialSide, best_for
from app.ledger.windows import start_span, treatments_of
from app.ledger.words import CompositionBasis, Mark, Presence
from app.science.classes import FoodClass, Form, Treatment
from app.science.composition import Composition


@dataclass(frozen=True, slots=True)
class LotPage:
    """What is known of a lot: marks, composition, stock, history and trace."""

    id: int
    code: str
    name: str
    food_ndb: str | None
    food_class: FoodClass
    form: Form
    is_raw: bool
    treatments: frozenset[Treatment]
    contains: tuple[str, ...]
    may_contain: tuple[str, ...]
    marks: frozenset[Mark]
    holds: tuple[ActiveHold, ...]
    harvest: tuple[date, date] | None
    kept_since: date
    kept_until: date  # last day on which that may have begun; the same where the day is known
    composition: Composition
    computed: Composition  # as it was computed, before what was measured
    measured: tuple[MeasuredValue, ...]
    basis: CompositionBasis
    water_range: tuple[float, float] | None
    water_is_measured: bool
    fresh_water: float | None
    share_used: float
    source: Source | None
    lines: tuple[StockLine, ...]  # packages that lie together share a line
    packages: tuple[StockLine, ...]  # and each of them alone
    history: tuple[OperationLine, ...]
    origins: tuple[Origin, ...]
    became: Became
    soaked_best: tuple[TrialLine, TrialSide] | None


def lot_by_code(session: Session, code: str) -> Lot:
    """The lot with a code as typed, scanned or heard; NotFound when there is none."""
    lot = session.get(Lot, lot_id_of(code))
    if lot is None:
        raise NotFound(code)
    return lot


def lot_page(
    session: Session, code: str, *, made_from: int = 0, left_from: int = 0, most: int | None = None
) -> LotPage:
    """Everything the page of one lot shows; NotFound when there is no such lot.

    Args:
        made_from, left_from, most: which part of what became of it; see `became`.
    """
    lot = lot_by_code(session, code)
    makeup = makeup_of(session, lot)
    allergens = session.scalars(select(LotAllergen).where(LotAllergen.lot_id == lot.id)).all()
    return LotPage(
        id=lot.id,
        code=code_of(lot.id),
        name=lot.name,
        food_ndb=lot.food_ndb,
        food_class=FoodClass(lot.food_class),
        form=Form(lot.form),
        is_raw=lot.is_raw,
        treatments=treatments_of(session, lot.id),
        contains=_named(allergens, Presence.CONTAINS),
        may_contain=_named(allergens, Presence.MAY_CONTAIN),
        marks=marks_on(session, lot.id),
        holds=holds_on(session, lot.id),
        harvest=(lot.harvest_from, lot.harvest_to) if lot.harvest_from and lot.harvest_to else None,
        kept_since=lot.kept_since,
        kept_until=start_span(session, lot)[1],
        composition=makeup.composition,
        computed=makeup.computed,
        measured=makeup.measured,
        basis=makeup.basis,
        water_range=(makeup.water_low, makeup.water_high)
        if makeup.water_low is not None and makeup.water_high is not None
        else None,
        water_is_measured=makeup.water_is_measured,
        fresh_water=lot.fresh_water,
        share_used=lot.share_used,
        source=session.get(Source, lot.source_id) if lot.source_id else None,
        lines=tuple(stock_lines(session, lot_id=lot.id)),
        packages=tuple(
            line
            for line in stock_lines(session, lot_id=lot.id, one_by_one=True)
            if line.package_count
        ),
        history=tuple(operations(session, lot_id=lot.id)),
        origins=origins_of(session, lot.id),
        became=became(session, lot.id, made_from=made_from, left_from=left_from, most=most),
        soaked_best=best_for(session, lot) if lot.fresh_water is not None else None,
    )


def marks_on(session: Session, lot_id: int) -> frozenset[Mark]:
    """What one lot may carry."""
    rows = session.scalars(select(LotMark.mark).where(LotMark.lot_id == lot_id))
    return frozenset(map(Mark, rows))


def _named(allergens: Sequence[LotAllergen], presence: str) -> tuple[str, ...]:
    return tuple(sorted(a.allergen for a in allergens if a.presence == presence))
