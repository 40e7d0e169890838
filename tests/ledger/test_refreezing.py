"""Thawed raw food goes back into a freezer only with a reason, by whichever step it goes."""

from dataclasses import replace
from datetime import timedelta

import pytest
from sqlalchemy.orm import Session

from app.ledger.errors import ProblemKind, Refused
from app.ledger.operations.move import Move, move
from app.ledger.operations.pack import pack
from app.ledger.operations.portion import Portion, portion
from app.ledger.operations.thaw import Thaw, thaw
from app.ledger.stock import StockRef
from app.science.safety.thawing import ThawWay
from tests.builders import FREEZER, FRIDGE, TODAY, VACUUM_BAG, G, a_pack, do, made, take_in

COLD = "thawed in the refrigerator, cold all along"


def thawed(session: Session, way: ThawWay = ThawWay.REFRIGERATOR) -> StockRef:
    yesterday = TODAY - timedelta(days=1)
    frozen = take_in(session, place=FREEZER, on=yesterday)
    mass_mg = 1000 * G
    request = Thaw(frozen, mass_mg, way, FRIDGE, yesterday, reason="in a tight bag")
    return made(do(session, thaw, request), FRIDGE)


def steps(ref: StockRef, reason: str):
    packing = a_pack(
        ref,
        500,
        packaging_id=VACUUM_BAG,
        absorber_id=None,
        pressure_fraction=0.3,
        place_id=FREEZER,
        done_on=TODAY,
        reason=reason,
    )
    return [
        (move, Move((ref,), FREEZER, TODAY, reason=reason)),
        (portion, Portion(ref, 500 * G, "Half", FREEZER, TODAY, reason=reason)),
        (pack, packing),
    ]


@pytest.mark.parametrize("step", range(3))
def test_no_step_refreezes_thawed_raw_food_without_a_reason(session: Session, step: int) -> None:
    use_case, request = steps(thawed(session), "")[step]
    with pytest.raises(Refused) as refused:
        do(session, use_case, request)
    assert {p.kind for p in refused.value.problems} == {ProblemKind.NEEDS_REASON}


@pytest.mark.parametrize("step", range(3))
def test_every_step_refreezes_it_with_a_reason(session: Session, step: int) -> None:
    use_case, request = steps(thawed(session), COLD)[step]
    assert do(session, use_case, request).operation_id


@pytest.mark.parametrize("step", range(3))
def test_what_thawed_in_cold_water_is_never_refrozen_raw(session: Session, step: int) -> None:
    use_case, request = steps(thawed(session, ThawWay.COLD_WATER), COLD)[step]
    with pytest.raises(Refused) as refused:
        do(session, use_case, request)
    assert ProblemKind.GATE in {p.kind for p in refused.value.problems}


def test_food_that_never_thawed_goes_into_the_freezer_unasked(session: Session) -> None:
    ref = take_in(session, place=FRIDGE)
    request = Move((ref,), FREEZER, TODAY)
    assert do(session, move, replace(request, note="fresh")).operation_id
