"""Mix: several lots to a content wanted, seasoned by percent of the meat."""

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from app.ledger.checks import check_all
from app.ledger.models import Addition
from app.ledger.operations.mix import Mix, MixPart, Seasoning, Stuff, amounts_for, mix_lots
from app.ledger.stock import StockRef
from app.science.blending import Component
from tests.builders import (
    BACK_FAT,
    FRIDGE,
    PORK,
    TODAY,
    G,
    allergens,
    do,
    flows_into,
    lot_of,
    made,
    on_hand,
    refusal,
    take_in,
)


def three(session: Session) -> list[StockRef]:
    """Lean moose, pork and back-fat."""
    pork = take_in(session, PORK, 1500, allergens=frozenset({"milk"}))
    return [take_in(session, mass_g=2000), pork, take_in(session, BACK_FAT, 800)]


def a_mix(refs: list[StockRef], *grams: int, **changes: object) -> Mix:
    parts = tuple(MixPart(ref, g * G) for ref, g in zip(refs, grams, strict=True))
    values: dict[str, object] = {"made_mg": sum(grams) * G} | changes
    return Mix(parts, "Sausage", place_id=FRIDGE, done_on=TODAY, **values)  # type: ignore[arg-type]


def test_three_lots_become_one_that_knows_them_all(session: Session) -> None:
    refs = three(session)
    sausage = made(do(session, mix_lots, a_mix(refs, 1000, 500, 200)), FRIDGE)
    fat = sum(lot_of(session, r).fat * g for r, g in zip(refs, (1000, 500, 200), strict=True))
    assert lot_of(session, sausage).fat == pytest.approx(fat / 1700)
    assert set(flows_into(session, sausage)) == {ref.lot_id for ref in refs}
    assert allergens(session, sausage) == {"milk"}
    assert lot_of(session, sausage).is_raw
    assert check_all(session) == []


def test_the_amounts_worked_out_meet_the_target_within_what_is_on_hand(session: Session) -> None:
    refs = three(session)
    amounts = amounts_for(session, refs, Component.FAT, 0.20, 2000 * G)
    assert sum(amounts) == pytest.approx(2000 * G, abs=3)
    fat = sum(lot_of(session, ref).fat * mg for ref, mg in zip(refs, amounts, strict=True))
    assert fat / sum(amounts) == pytest.approx(0.20, abs=1e-6)
    assert all(0 <= mg <= on_hand(session, r) for r, mg in zip(refs, amounts, strict=True))


def test_a_target_out_of_reach_names_the_nearest(session: Session) -> None:
    refs = three(session)
    problem = refusal_of_amounts(session, refs, 0.95)
    assert problem.field == "target"
    assert problem.numbers["nearest"] == pytest.approx(lot_of(session, refs[2]).fat)


def refusal_of_amounts(session: Session, refs: list[StockRef], target: float):  # type: ignore[no-untyped-def]
    from app.ledger.errors import Refused

    with pytest.raises(Refused) as caught:
        amounts_for(session, refs, Component.FAT, target)
    return caught.value.problems[0]


def test_seasoning_is_counted_by_percent_of_the_meat(session: Session) -> None:
    refs = three(session)
    seasonings = (
        Seasoning("salt", Stuff.SALT, 0.018),
        Seasoning("pepper", Stuff.SPICE, 0.003, frozenset()),
        Seasoning("ice", Stuff.WATER, 0.05),
    )
    request = a_mix(refs, 1000, 500, 500, seasonings=seasonings, made_mg=2142 * G)
    posted = do(session, mix_lots, request)
    query = select(Addition.words, Addition.mass_mg).where(
        Addition.operation_id == posted.operation_id
    )
    assert dict(session.execute(query).all()) == {"salt": 36 * G, "pepper": 6 * G, "ice": 100 * G}
    ash = sum(lot_of(session, r).ash * g for r, g in zip(refs, (1000, 500, 500), strict=True))
    assert lot_of(session, made(posted, FRIDGE)).ash == pytest.approx((ash + 36) / 2142)


@pytest.mark.parametrize("name", ["Curing salt", "pink salt no. 1", "Sodium nitrite 0.6 %"])
def test_a_curing_salt_is_never_worked_out(session: Session, name: str) -> None:
    refs = three(session)
    seasonings = (Seasoning(name, Stuff.SALT, 0.018),)
    request = a_mix(refs, 1000, 500, 500, seasonings=seasonings, made_mg=2036 * G)
    problem = refusal(session, mix_lots, request)
    assert (problem.field, problem.kind) == ("seasonings[0].name", "not_covered")
    assert "use the current official guide (rule CAN-NONE" in str(problem.numbers["sentence"])


def test_a_mix_of_one_and_of_more_than_is_on_hand_are_refused(session: Session) -> None:
    refs = three(session)
    assert refusal(session, mix_lots, a_mix(refs[:1], 100)).kind == "missing"
    problem = refusal(session, mix_lots, a_mix(refs, 100, 100, 900))
    assert (problem.field, problem.kind) == ("parts[2].mass", "not_on_hand")
