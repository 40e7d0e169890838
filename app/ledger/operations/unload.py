"""Unload: dry food out of the dryer; what is missing is the water that left."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.ledger.errors import Problem, ProblemKind, Refused, refuse
from app.ledger.lots import known_place, made_from
from app.ledger.makeup import composition_of
from app.ledger.mass import to_kg
from app.ledger.models import Checkpoint, Lot, LotAllergen, Place, Run, RunEnd, Stock
from app.ledger.operations._post import Make, NewLot, Posted, Posting, Take, losses, post
from app.ledger.residues import Residue, in_dryer, passed_on
from app.ledger.runs import (
    TrayState,
    dryer_kind,
    is_over,
    known_run,
    scale_step_of,
    trays_of,
)
from app.ledger.stock import ref_of
from app.ledger.words import CompositionBasis, LossKind, OperationKind
from app.science.classes import Treatment
from app.science.composition import with_water
from app.science.drying import DryerKind
from app.science.dryness import Dryness, TrayWeighing, judge
from app.science.safety.allergens import ALG_CROSS
from app.science.safety.drying_rules import RAW_SEPARATE

LEAST_WATER = 0.003  # nothing leaves a household dryer with less; our judgement


@dataclass(frozen=True, slots=True)
class DryMade:
    """What the dry food of one lot weighs."""

    lot_id: int
    made_mg: int


@dataclass(frozen=True, slots=True)
class Unload:
    """The run that ends, the dry weights, and where the food goes."""

    run_id: int
    made: tuple[DryMade, ...]
    place_id: int
    done_on: date
    spilled_mg: int = 0
    note: str = ""


def unload(session: Session, request: Unload, *, at: datetime, by: int | None) -> Posted:
    """End a run: each lot on the trays becomes a dry lot.

    Food that shared the dryer with raw animal food is raw as well; what the load before left in a
    dryer that was not cleaned down passes on. The water left is taken from the weigh-backs where
    there are any, else from the mass balance.

    Raises:
        NotFound: no such run. Refused: it is over, a lot is missing, or weighs more than before.
    """
    run = known_run(session, request.run_id)
    if is_over(session, run.id):
        raise refuse("run_id", ProblemKind.WRONG_STATE, why="run_is_over")
    place = known_place(session, run.place_id)
    known_place(session, request.place_id)
    trays = trays_of(session, run)
    rows = _rows(session, run.place_id, {state.lot.id for state in trays})
    weights = {made.lot_id: made.made_mg for made in request.made}
    loaded: Counter[int] = Counter()  # a lot may lie on the trays as several of its packages
    for row in rows:
        loaded[row.lot_id] += row.mass_mg
    _check(loaded, request.made)
    around = _around(session, run, trays)
    takes = [Take(ref_of(row), row.mass_mg, f"made[{i}]") for i, row in enumerate(rows)]
    makes = [
        Make(
            request.place_id,
            weights[lot_id],
            _dry_lot(session, lot_id, loaded_mg, weights, place, trays, request, around),
            of_lot_id=lot_id,
        )
        for lot_id, loaded_mg in loaded.items()
    ]
    lost_mg = sum(take.mass_mg for take in takes) - sum(make.mass_mg for make in makes)
    posting = Posting(
        OperationKind.UNLOAD,
        request.done_on,
        note=request.note,
        method=place.kind,
        takes=takes,
        makes=makes,
        losses=losses(
            (LossKind.EVAPORATED, lost_mg - request.spilled_mg),
            (LossKind.SPILLED, request.spilled_mg),
        ),
        balance_field="made",
    )
    posted = post(session, posting, at=at, by=by)
    session.add(RunEnd(operation_id=posted.operation_id, run_id=run.id))
    session.flush()
    return posted


def _rows(session: Session, place_id: int, lot_ids: set[int]) -> Sequence[Stock]:
    return session.scalars(
        select(Stock)
        .where(Stock.place_id == place_id, Stock.lot_id.in_(lot_ids))
        .order_by(Stock.lot_id)
    ).all()


def _check(loaded: Mapping[int, int], made: Sequence[DryMade]) -> None:
    problems = []
    given = {dry.lot_id: (f"made[{i}]", dry.made_mg) for i, dry in enumerate(made)}
    for i, (lot_id, loaded_mg) in enumerate(loaded.items()):
        field, made_mg = given.get(lot_id, (f"made[{i}]", 0))
        if made_mg <= 0:
            problems.append(Problem(field, ProblemKind.MISSING))
        elif made_mg > loaded_mg:
            numbers = {"in_mg": loaded_mg, "out_mg": made_mg}
            problems.append(Problem(field, ProblemKind.MORE_OUT_THAN_IN, numbers))
    if problems:
        raise Refused(*problems)


def _dry_lot(
    session: Session,
    lot_id: int,
    loaded_mg: int,
    weights: Mapping[int, int],
    place: Place,
    trays: list[TrayState],
    request: Unload,
    around: Residue,
) -> NewLot:
    lot = session.get_one(Lot, lot_id)
    made_mg = weights[lot_id]
    own = [state for state in trays if state.lot.id == lot.id]
    low, central, high, measured = _residual_water(session, lot, loaded_mg, made_mg, place, own)
    freeze = dryer_kind(place) is DryerKind.FREEZE
    return made_from(
        session,
        lot,
        request.done_on,
        composition=with_water(composition_of(session, lot), central),
        basis=CompositionBasis.COMPUTED,
        treatments=frozenset({Treatment.DRIED_FREEZE if freeze else Treatment.DRIED_AIR}),
        is_raw=around.is_raw,
        may_contain=_from_neighbours(session, lot_id, weights)
        | frozenset(map(str, passed_on(session, around, [lot_id]))),
        water_low=low,
        water_high=high,
        water_is_measured=measured,
        fresh_water=composition_of(session, lot).water,
    )


def _around(session: Session, run: Run, trays: Iterable[TrayState]) -> Residue:
    """What can cling to all food of a run: raw on a tray, or left there by the load before."""
    spoken = set(
        session.scalars(select(Checkpoint.rule).where(Checkpoint.operation_id == run.operation_id))
    )
    before = Residue()
    if ALG_CROSS.id in spoken:
        before = in_dryer(session, run.place_id, before_run=run.id)
    is_raw = RAW_SEPARATE.id in spoken or any(state.lot.is_raw for state in trays)
    return Residue(before.allergens, is_raw)


def _from_neighbours(session: Session, lot_id: int, lots: Iterable[int]) -> frozenset[str]:
    """Allergens of the other lots of the same load: crumbs and juice do not keep to their tray."""
    others = set(lots) - {lot_id}
    return frozenset(
        session.scalars(select(LotAllergen.allergen).where(LotAllergen.lot_id.in_(others)))
    )


def _residual_water(
    session: Session, lot: Lot, loaded_mg: int, made_mg: int, place: Place, trays: list[TrayState]
) -> tuple[float, float, float, bool]:
    """Low, central and high water fraction of the dry lot, and whether weigh-backs say so.

    With weigh-backs the wettest tray speaks for the lot: a pouch may be filled from it alone.
    """
    judged = [state.dryness for state in trays if state.dryness is not None]
    if len(judged) == len(trays) and all(len(state.weighings) >= 2 for state in trays):
        wettest = max(judged, key=lambda dryness: dryness.residual_water.high)
        return _spread(wettest, is_measured=True)
    alone = judge(
        [TrayWeighing(0.0, to_kg(made_mg))],
        scale_step_kg=to_kg(scale_step_of(session)),
        loaded_kg=to_kg(loaded_mg),
        loaded_water=composition_of(session, lot).water,
        dryer=dryer_kind(place),
    )
    return _spread(alone, is_measured=False)


def _spread(dryness: Dryness, *, is_measured: bool) -> tuple[float, float, float, bool]:
    water = dryness.residual_water
    central = max(water.central, LEAST_WATER)
    return min(water.low, central), central, max(water.high, central), is_measured
