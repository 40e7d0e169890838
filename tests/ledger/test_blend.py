"""Blend: fat worked into lean, to the fat content wanted."""

import pytest
from sqlalchemy.orm import Session

from app.ledger.operations.blend import Blend, blend, fat_needed_mg
from app.ledger.stock import StockRef
from tests.builders import (
    BACK_FAT,
    FREEZER,
    FRIDGE,
    PORK,
    TODAY,
    G,
    added,
    allergens,
    do,
    flows_into,
    lost,
    lot_of,
    made,
    on_hand,
    refusal,
    take_in,
)


def a_blend(lean: StockRef, fat: StockRef, fat_g: float, **changes: float) -> Blend:
    seasoning = round(changes.pop("seasoning_mg", 0) * G)
    out = {name: round(value * G) for name, value in changes.items()}
    made_mg = 2000 * G + round(fat_g * G) + seasoning - sum(out.values())
    return Blend(
        lean,
        2000 * G,
        fat,
        round(fat_g * G),
        "Burgers",
        made_mg,
        FRIDGE,
        TODAY,
        seasoning_mg=seasoning,
        seasoning_words="salt",
        **out,
    )


def test_the_fat_needed_brings_the_blend_to_its_target_by_real_composition(
    session: Session,
) -> None:
    """By Pearson's square: lean parts : fat parts = (back-fat - target) : (target - lean)."""
    lean, fat = take_in(session, mass_g=2000), take_in(session, BACK_FAT)
    lean_fat, back_fat = lot_of(session, lean).fat, lot_of(session, fat).fat
    needed_mg = fat_needed_mg(session, lean, 2000 * G, fat, 0.15)
    square_g = 2000 * (0.15 - lean_fat) / (back_fat - 0.15)
    assert needed_mg == pytest.approx(square_g * G, abs=1)
    assert needed_mg != pytest.approx(300 * G, rel=0.05)  # it is not "15 % of 2 kg"
    burgers = made(do(session, blend, a_blend(lean, fat, needed_mg / G)), FRIDGE)
    assert lot_of(session, burgers).fat == pytest.approx(0.15, abs=1e-6)


@pytest.mark.parametrize("target", [0.001, 0.95])
def test_a_target_that_the_two_cannot_reach_is_refused_with_the_limits(
    session: Session, target: float
) -> None:
    lean, fat = take_in(session, mass_g=2000), take_in(session, BACK_FAT)

    def ask(session: Session, request: Blend, *, at: object, by: int) -> int:
        return fat_needed_mg(session, lean, request.mass_mg, fat, target)

    problem = refusal(session, ask, a_blend(lean, fat, 100))
    assert (problem.field, problem.kind) == ("target_fat", "impossible")
    low, high = lot_of(session, lean).fat, lot_of(session, fat).fat
    assert (problem.numbers["low"], problem.numbers["high"]) == (low, high)


def test_seasoning_comes_in_from_outside_and_thins_the_fat(session: Session) -> None:
    lean, fat = take_in(session, mass_g=2000), take_in(session, BACK_FAT)
    posted = do(session, blend, a_blend(lean, fat, 400, seasoning_mg=40, stuck_mg=12))
    burgers = made(posted, FRIDGE)
    assert added(session, posted) == {"seasoning": 40 * G}
    assert lost(session, posted) == {"stuck": 12 * G}
    assert on_hand(session, burgers) == 2428 * G
    pure = (2000 * lot_of(session, lean).fat + 400 * lot_of(session, fat).fat) / 2440
    assert lot_of(session, burgers).fat == pytest.approx(pure)
    assert sum(flows_into(session, burgers).values()) < on_hand(session, burgers)


def test_the_blend_keeps_the_marks_of_both(session: Session) -> None:
    lean = take_in(session, mass_g=2000, is_raw=False)
    pork = take_in(session, PORK, allergens=frozenset({"milk"}))
    burgers = made(do(session, blend, a_blend(lean, pork, 500)), FRIDGE)
    assert lot_of(session, burgers).is_raw
    assert allergens(session, burgers) == {"milk"}


def test_more_fat_than_is_on_hand_is_refused_beside_the_fat(session: Session) -> None:
    lean, fat = take_in(session, mass_g=2000), take_in(session, BACK_FAT, 100, place=FREEZER)
    problem = refusal(session, blend, a_blend(lean, fat, 300))
    assert (problem.field, problem.kind) == ("other_mass_mg", "not_on_hand")


def test_blending_with_nothing_is_refused(session: Session) -> None:
    lean, fat = take_in(session, mass_g=2000), take_in(session, BACK_FAT, 100)
    problem = refusal(session, blend, a_blend(lean, fat, 0))
    assert (problem.field, problem.kind) == ("other_mass_mg", "not_positive")
