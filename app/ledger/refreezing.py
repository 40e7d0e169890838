"""In and out of freezers: thawed food is not refrozen unasked, frozen food not taken out unsaid."""

from collections.abc import Iterable

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.ledger.errors import ProblemKind, refuse
from app.ledger.lots import kind_of
from app.ledger.models import Lot, Operation
from app.ledger.queries.trace import upstream_of
from app.ledger.safety import Applied, gate
from app.ledger.stages import half_cooked
from app.ledger.stock import StockRef
from app.ledger.windows import treatments_of
from app.ledger.words import OperationKind, PlaceKind
from app.science.classes import DRIED, Treatment
from app.science.safety.thawing import ThawWay
from app.science.safety.verdicts import may_refreeze


def refreezing(
    session: Session, refs: Iterable[StockRef], place_id: int, reason: str
) -> list[Applied]:
    """The checkpoints of putting food into a place, if that is a freezer.

    Raises:
        Refused: raw food that thawed warm or of which nobody said that it stayed cold; half-cooked
            food without a reason.
    """
    if kind_of(session, place_id) is not PlaceKind.FREEZER:
        return []
    checkpoints: list[Applied] = []
    for ref in dict.fromkeys(refs):
        lot = session.get(Lot, ref.lot_id)
        coming_out = kind_of(session, ref.place_id, "ref") is not PlaceKind.FREEZER
        treatments = treatments_of(session, ref.lot_id)
        thawed = Treatment.THAWED in treatments and not treatments & DRIED
        if lot is None or not lot.is_raw or not coming_out:
            continue
        checkpoints += gate(half_cooked(session, lot), reason)
        if thawed:
            checkpoints += gate(may_refreeze(_way(session, ref.lot_id)), reason)
    return checkpoints


def need_thawing(session: Session, refs: Iterable[StockRef], place_id: int, field: str) -> None:
    """Frozen food that is not dry leaves a freezer by thawing, so that its days are counted.

    Raises:
        Refused: it would come out of a freezer by another step.
    """
    if kind_of(session, place_id) is PlaceKind.FREEZER:
        return
    for ref in refs:
        frozen = kind_of(session, ref.place_id, "ref") is PlaceKind.FREEZER
        if frozen and not treatments_of(session, ref.lot_id) & DRIED:
            raise refuse(field, ProblemKind.WRONG_PLACE, why="thaw_it")


def _way(session: Session, lot_id: int) -> ThawWay:
    """How a lot was thawed: by the newest thawing upstream."""
    ids = {lot_id} | upstream_of(session, lot_id)
    method = session.scalar(
        select(Operation.method)
        .join(Lot, Lot.operation_id == Operation.id)
        .where(Lot.id.in_(ids), Operation.kind == OperationKind.THAW)
        .order_by(Operation.id.desc())
        .limit(1)
    )
    return ThawWay(method) if method else ThawWay.REFRIGERATOR
