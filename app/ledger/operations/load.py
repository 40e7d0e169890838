"""Load: food onto the trays of a dryer, each tray weighed; a run begins."""

from collections import Counter
from dataclasses import dataclass, replace
from datetime import date, datetime

from sqlalchemy.orm import Session

from app.ledger.codes import code_of
from app.ledger.errors import Problem, ProblemKind, Refused, refuse
from app.ledger.lots import kind_of, known_lot
from app.ledger.makeup import composition_of
from app.ledger.mass import to_mg
from app.ledger.models import Lot, Run, Tray
from app.ledger.operations._post import Make, Posted, Posting, Take, post
from app.ledger.queries.trace import raw_classes
from app.ledger.refrigerated import in_its_days
from app.ledger.residues import crossing, in_dryer, with_cleaning
from app.ledger.runs import open_runs
from app.ledger.safety import Applied, gate, rule_set_of, together
from app.ledger.stages import half_cooked, rehydrated_again
from app.ledger.stock import StockRef
from app.ledger.temperatures import Typed, mistyped
from app.ledger.windows import treatments_of
from app.ledger.words import OperationKind, PlaceKind
from app.science.classes import FoodClass, Treatment
from app.science.drying import DryerKind
from app.science.dryness import LEAST_LOAD_KG, LEAST_SOLIDS
from app.science.safety.low_oxygen import Kept
from app.science.safety.readings import Reading
from app.science.safety.rule import Verdict
from app.science.safety.verdicts import dried_meat, dried_produce, dryer_load

_HEATED = frozenset({Treatment.COOKED, Treatment.BLANCHED})


@dataclass(frozen=True, slots=True)
class TrayLoaded:
    """What lies on one tray: gross less tare, exact and as typed."""

    ref: StockRef
    gross_mg: int
    gross_typed: str
    tare_mg: int
    tare_typed: str

    @property
    def net_mg(self) -> int:
        """The food alone."""
        return self.gross_mg - self.tare_mg


@dataclass(frozen=True, slots=True)
class Load:
    """The trays of one run, numbered from 1 in their order."""

    place_id: int
    trays: tuple[TrayLoaded, ...]
    done_on: date
    air: Typed | None = None  # warm air of a dehydrator, as it is set
    cleaned: bool | None = None  # the dryer, since the load before; None: nobody was asked
    note: str = ""
    reason: str = ""


def load(session: Session, request: Load, *, at: datetime, by: int | None) -> tuple[Posted, int]:
    """Start a run; gives what was posted and the number of the run.

    Raises:
        Refused: no tray, a tray heavier empty than full or with less than a scale can follow or
            with nothing but water on it, more than is on hand, a place that is no dryer or is
            running, or raw and ready food together or food whose days are over without a reason.
    """
    place = kind_of(session, request.place_id)
    if not place.is_dryer:
        raise refuse("place_id", ProblemKind.WRONG_PLACE, why="no_dryer")
    if any(run.place_id == request.place_id for run in open_runs(session)):
        raise refuse("place_id", ProblemKind.WRONG_STATE, why="dryer_is_running")
    checkpoints = looked_over(session, request, at)
    net: Counter[StockRef] = Counter()
    for tray in request.trays:
        net[tray.ref] += tray.net_mg
    posting = Posting(
        OperationKind.LOAD,
        request.done_on,
        note=with_cleaning(request.note, request.cleaned),
        method=place,
        takes=[Take(ref, mass_mg, _field(request, ref)) for ref, mass_mg in net.items()],
        makes=[Make(request.place_id, mass_mg, ref=ref) for ref, mass_mg in net.items()],
        checkpoints=checkpoints,
        balance_field="trays",
    )
    posted = post(session, posting, at=at, by=by)
    run = Run(operation_id=posted.operation_id, place_id=request.place_id, started_at=at)
    session.add(run)
    session.flush()
    session.add_all(_rows(run.id, request))
    session.flush()
    return posted, run.id


def looked_over(session: Session, request: Load, at: datetime | None = None) -> list[Applied]:
    """What the rules say of drying so, whether the dryer is free or not; nothing is written.

    Args:
        at: the instant of recording, where it is recorded.
    Raises:
        Refused: as `load` does, for what lies on the trays.
    """
    _check_trays(request)
    _check_solids(session, request)
    refs = [tray.ref for tray in request.trays]
    return together(
        lambda: _checkpoints(session, request, kind_of(session, request.place_id)),
        lambda: in_its_days(session, refs, request.done_on, request.reason, at),
    )


def _check_trays(request: Load) -> None:
    problems = [
        Problem(
            f"trays[{i}].tare",
            ProblemKind.TARE_ABOVE_GROSS,
            {"gross_mg": tray.gross_mg, "tare_mg": tray.tare_mg},
        )
        for i, tray in enumerate(request.trays)
        if tray.net_mg <= 0
    ]
    problems += [
        Problem(f"trays[{i}].gross", ProblemKind.IMPOSSIBLE, {"reason": "too_little_to_dry"})
        for i, tray in enumerate(request.trays)
        if 0 < tray.net_mg < to_mg(LEAST_LOAD_KG)
    ]
    if not request.trays:
        problems.append(Problem("trays", ProblemKind.MISSING))
    if problems:
        raise Refused(*problems)


def _check_solids(session: Session, request: Load) -> None:
    for i, tray in enumerate(request.trays):
        lot = known_lot(session, tray.ref, f"trays[{i}].ref")
        if composition_of(session, lot).water > 1.0 - LEAST_SOLIDS:
            raise refuse(f"trays[{i}].gross", ProblemKind.IMPOSSIBLE, reason="nothing_to_dry")


def _field(request: Load, ref: StockRef) -> str:
    last = max(i for i, tray in enumerate(request.trays) if tray.ref == ref)
    return f"trays[{last}].gross"


def _checkpoints(session: Session, request: Load, place: PlaceKind) -> list[Applied]:
    lots = {t.ref.lot_id: known_lot(session, t.ref, "trays") for t in request.trays}
    sharing, _ = dryer_load({code_of(lot_id): lot.is_raw for lot_id, lot in lots.items()})
    asked = mistyped(Reading.DRYER_AIR, request.air, request.reason)
    applied = gate([*asked, *sharing], request.reason)
    for lot in lots.values():
        verdicts = _verdicts(session, request, place, lot)
        applied += [replace(one, lot_id=lot.id) for one in gate(verdicts, request.reason)]
    if request.cleaned is False:
        residue = in_dryer(session, request.place_id)
        applied += crossing(session, residue, lots.values(), request.reason)
    return applied


def _verdicts(session: Session, request: Load, place: PlaceKind, lot: Lot) -> list[Verdict]:
    kind = DryerKind.FREEZE if place is PlaceKind.FREEZE_DRYER else DryerKind.AIR
    raw_produce = not treatments_of(session, lot.id) & _HEATED
    return [
        *dried_meat(
            raw_classes(session, lot),
            kind,
            was_cooked=not lot.is_raw,
            dryer_air_c=request.air.temp_c if request.air else None,
            kept=Kept.FREEZER,  # where it will be kept is asked when it is packed
            rule_set=rule_set_of(session),
        ),
        *(dried_produce(FoodClass(lot.food_class)) if raw_produce else ()),
        *half_cooked(session, lot),
        *rehydrated_again(session, lot),
    ]


def _rows(run_id: int, request: Load) -> list[Tray]:
    return [
        Tray(
            run_id=run_id,
            number=number,
            lot_id=tray.ref.lot_id,
            gross_mg=tray.gross_mg,
            gross_typed=tray.gross_typed,
            tare_mg=tray.tare_mg,
            tare_typed=tray.tare_typed,
        )
        for number, tray in enumerate(request.trays, start=1)
    ]
