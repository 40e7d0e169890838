"""Cook: only a centre reading at the target takes the raw mark away."""

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from app.ledger.models import Checkpoint, Reading
from app.ledger.operations._post import Posted
from app.ledger.operations.cook import CookMethod, cook
from app.ledger.operations.grind import Grind, Part, grind
from app.ledger.stock import StockRef
from app.science.foods import food
from tests.builders import (
    APPLES,
    BENCH,
    CHICKEN,
    FRIDGE,
    MOOSE,
    PORK,
    TODAY,
    G,
    a_cook,
    added,
    allergens,
    centre,
    do,
    lost,
    lot_of,
    made,
    on_hand,
    refusal,
    take_in,
    treatments,
)


def rules_of(session: Session, posted: Posted) -> dict[str, str]:
    query = select(Checkpoint.rule, Checkpoint.outcome).where(
        Checkpoint.operation_id == posted.operation_id
    )
    return dict(session.execute(query).all())


def test_water_added_and_steam_lost_balance_and_dilute(session: Session) -> None:
    meat = take_in(session, mass_g=8650)
    posted = do(session, cook, a_cook(meat, 8650, 9300, water_mg=1200 * G))
    pot = made(posted, BENCH)
    assert on_hand(session, pot) == 9300 * G
    assert added(session, posted) == {"water": 1200 * G}
    assert lost(session, posted) == {"evaporated": 550 * G}
    raw, lot = food(MOOSE).composition, lot_of(session, pot)
    assert lot.protein * 9300 == pytest.approx(raw.protein * 8650)
    assert lot.water * 9300 == pytest.approx(raw.water * 8650 + 1200 - 550)


def test_a_centre_at_the_target_takes_the_raw_mark(session: Session) -> None:
    posted = do(session, cook, a_cook(take_in(session), 1000, 900, centre=centre(71.1)))
    pot = made(posted, BENCH)
    assert not lot_of(session, pot).is_raw
    assert treatments(session, pot) == {"cooked"}
    assert rules_of(session, posted)["COOK-FORM"] == "pass"


def test_the_reading_is_kept_as_typed(session: Session) -> None:
    posted = do(session, cook, a_cook(take_in(session), 1000, 900, centre=centre(185, "F")))
    reading = session.scalars(
        select(Reading).where(Reading.operation_id == posted.operation_id)
    ).one()
    assert (reading.kind, reading.typed) == ("centre", "185 °F")
    assert reading.value == pytest.approx(85.0)


@pytest.mark.parametrize("method", list(CookMethod))
def test_without_a_reading_it_stays_raw_however_it_was_heated(
    session: Session, method: CookMethod
) -> None:
    request = a_cook(take_in(session), 1000, 900, centre=None, method=method)
    posted = do(session, cook, request)
    pot = made(posted, BENCH)
    assert lot_of(session, pot).is_raw
    assert treatments(session, pot) == set()
    assert "stop" in rules_of(session, posted).values()


def test_a_reading_below_the_target_keeps_the_raw_mark_even_with_a_reason(
    session: Session,
) -> None:
    request = a_cook(
        take_in(session), 1000, 900, centre=centre(65.0), reason="it looked done to us"
    )
    assert lot_of(session, made(do(session, cook, request), BENCH)).is_raw


def test_a_mixture_is_held_against_the_strictest_target_of_its_parts(session: Session) -> None:
    """Ground game needs 160 °F, poultry 165 °F: 162 °F will not do once chicken is in it."""
    moose, hen = take_in(session, mass_g=900), take_in(session, CHICKEN, 100)
    parts = (Part(moose, 900 * G), Part(hen, 100 * G))
    mince = made(do(session, grind, Grind(parts, "Mince", 1000 * G, FRIDGE, TODAY)), FRIDGE)
    assert lot_of(session, mince).food_class == "game"
    short = a_cook(mince, 500, 500, centre=centre(162, "F"), reason="kept for stock")
    assert lot_of(session, made(do(session, cook, short), BENCH)).is_raw
    through = a_cook(mince, 500, 500, centre=centre(165, "F"))
    assert not lot_of(session, made(do(session, cook, through), BENCH)).is_raw


def test_cooking_takes_no_allergen_and_no_age(session: Session) -> None:
    meat = take_in(session, allergens=frozenset({"milk"}), harvest=(TODAY, TODAY))
    pot = made(do(session, cook, a_cook(meat, 1000, 900)), BENCH)
    assert allergens(session, pot) == {"milk"}
    assert lot_of(session, pot).harvest_from == TODAY


def test_produce_is_cooked_without_a_reading(session: Session) -> None:
    apples = take_in(session, APPLES)
    posted = do(session, cook, a_cook(apples, 1000, 800, centre=None))
    assert treatments(session, made(posted, BENCH)) == {"cooked"}
    assert rules_of(session, posted) == {}


def test_more_out_than_in_is_refused_with_the_amounts(session: Session) -> None:
    problem = refusal(session, cook, a_cook(take_in(session), 1000, 1500, water_mg=400 * G))
    assert (problem.field, problem.kind) == ("made_mg", "more_out_than_in")
    assert (problem.numbers["in_mg"], problem.numbers["out_mg"]) == (1400 * G, 1500 * G)


def test_more_steam_than_there_was_water_is_refused(session: Session) -> None:
    problem = refusal(session, cook, a_cook(take_in(session), 1000, 150))
    assert (problem.field, problem.kind) == ("made_mg", "impossible")


def test_a_reading_that_looks_mistyped_is_asked_about(session: Session) -> None:
    meat = take_in(session, PORK)
    asked = refusal(session, cook, a_cook(meat, 1000, 900, centre=centre(160, "C")))
    assert (asked.field, asked.kind) == ("reason", "needs_reason")


def test_an_unknown_lot_is_refused(session: Session) -> None:
    problem = refusal(session, cook, a_cook(StockRef(77, FRIDGE), 100, 90))
    assert (problem.field, problem.kind) == ("ref", "unknown_lot")


def test_a_broth_can_be_reduced(session: Session) -> None:
    broth = take_in(session, "06170", 1000, is_raw=False)
    reduced = made(
        do(session, cook, a_cook(broth, 1000, 100, method=CookMethod.REDUCE, centre=None)), BENCH
    )
    lot = lot_of(session, reduced)
    assert lot.protein == pytest.approx(10 * lot_of(session, broth).protein)
    assert not lot.is_raw
