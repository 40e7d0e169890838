"""Cook: only a centre reading at the target takes the raw mark away."""

import pytest
from sqlalchemy import select, update
from sqlalchemy.orm import Session

from app.ledger.models import Checkpoint, Household, Reading
from app.ledger.operations._post import Posted
from app.ledger.operations.cook import CentreAt, CookMethod, cook
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


def probe(*temps: float | None, every: float = 1.0, unit: str = "C") -> tuple[CentreAt, ...]:
    """The centre as a probe wrote it down, at equal steps in minutes."""
    return tuple(
        CentreAt(n * every, None if t is None else centre(t, unit)) for n, t in enumerate(temps)
    )


def test_a_history_that_stayed_at_the_target_takes_the_raw_mark(session: Session) -> None:
    """FSIS safe minimum temperatures: ground meat and game 160 °F (71.1 °C)."""
    told = probe(60.0, 68.0, 71.5, 72.0, 71.0)
    posted = do(session, cook, a_cook(take_in(session), 1000, 900, centre=None, history=told))
    assert not lot_of(session, made(posted, BENCH)).is_raw
    rows = session.execute(
        select(Reading.hours, Reading.value)
        .where(Reading.operation_id == posted.operation_id)
        .order_by(Reading.hours)
    ).all()
    assert [(round(hours * 60), value) for hours, value in rows] == [
        (0, 60.0), (1, 68.0), (2, 71.5), (3, 72.0), (4, 71.0)
    ]  # fmt: skip


@pytest.mark.parametrize(
    "history",
    [
        probe(60.0, 72.0, 60.0),  # never two neighbours at the target
        probe(60.0, None, 75.0, None, 60.0),  # a probe that fails proves nothing
        probe(72.0, 72.0, every=20.0),  # twenty minutes without a reading
        (CentreAt(5.0, centre(72.0)), CentreAt(2.0, centre(72.0))),  # a clock that went back
    ],
)
def test_what_a_history_does_not_show_leaves_it_raw(
    session: Session, history: tuple[CentreAt, ...]
) -> None:
    request = a_cook(take_in(session), 1000, 900, centre=None, history=history, reason="eaten now")
    assert lot_of(session, made(do(session, cook, request), BENCH)).is_raw


def test_seventy_degrees_for_two_minutes_counts_in_the_british_set(session: Session) -> None:
    """Food Standards Agency: 70 °C for 2 minutes, of which a single reading says nothing."""
    session.execute(update(Household).values(rule_set="uk"))
    alone = a_cook(take_in(session, PORK), 1000, 900, centre=centre(70.0), reason="eaten now")
    assert lot_of(session, made(do(session, cook, alone), BENCH)).is_raw
    held = a_cook(take_in(session, PORK), 1000, 900, centre=None, history=probe(70, 71, 70))
    assert not lot_of(session, made(do(session, cook, held), BENCH)).is_raw


def test_a_reading_at_the_end_counts_as_ever_beside_a_history(session: Session) -> None:
    request = a_cook(take_in(session), 1000, 900, centre=centre(80.0), history=probe(20.0, 40.0))
    assert not lot_of(session, made(do(session, cook, request), BENCH)).is_raw


def test_a_history_in_fahrenheit_is_held_to_the_limit_printed_in_fahrenheit(
    session: Session,
) -> None:
    told = probe(158.0, 160.0, 160.0, unit="F")
    posted = do(session, cook, a_cook(take_in(session), 1000, 900, centre=None, history=told))
    assert rules_of(session, posted)["COOK-FORM"] == "pass"


def test_a_history_of_fahrenheit_typed_as_celsius_is_asked_about(session: Session) -> None:
    request = a_cook(take_in(session), 1000, 900, centre=None, history=probe(150.0, 160.0, 161.0))
    assert refusal(session, cook, request).numbers["rule"] == "UNIT-ASK"


def test_a_note_on_colour_without_a_reading_is_answered(session: Session) -> None:
    """Lyon and others, J. Food Prot. 2000: patties turned brown from 135 °F (57 °C) on."""
    request = a_cook(take_in(session), 1000, 900, centre=None, note="brown right through")
    posted = do(session, cook, request)
    assert rules_of(session, posted)["COOK-COLOUR"] == "note"
    read = a_cook(take_in(session), 1000, 900, note="brown right through")
    assert "COOK-COLOUR" not in rules_of(session, do(session, cook, read))


def test_a_note_on_canning_points_to_the_official_guide(session: Session) -> None:
    request = a_cook(take_in(session), 1000, 900, note="then pressure canned, 75 min")
    assert rules_of(session, do(session, cook, request))["CAN-NONE"] == "note"
