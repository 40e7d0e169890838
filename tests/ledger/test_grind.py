"""Grind: several lots become one that knows them all."""

from datetime import date

import pytest
from sqlalchemy.orm import Session

from app.ledger.operations.grind import Grind, Part, grind
from app.ledger.operations.move import Move, move
from app.ledger.stock import StockRef
from app.science.classes import Treatment
from tests.builders import (
    CELERY,
    FREEZER,
    FRIDGE,
    OLD,
    PORK,
    TODAY,
    G,
    allergens,
    do,
    flows_into,
    lost,
    lot_of,
    made,
    on_hand,
    refusal,
    take_in,
    treatments,
)

AUTUMN = date(2025, 10, 12)


def a_grind(*parts: tuple[StockRef, int], made_g: int, **changes: int) -> Grind:
    return Grind(
        parts=tuple(Part(ref, mass_g * G) for ref, mass_g in parts),
        name="Mince",
        made_mg=made_g * G,
        place_id=FRIDGE,
        done_on=TODAY,
        **{name: value * G for name, value in changes.items()},
    )


def test_two_lots_become_one_with_named_losses(session: Session) -> None:
    new, old = take_in(session, mass_g=9200), take_in(session, mass_g=1565)
    posted = do(
        session,
        grind,
        a_grind(
            (new, 9200), (old, 1565), made_g=10_650, trimmed_mg=80, stuck_mg=30, unexplained_mg=5
        ),
    )
    assert on_hand(session, made(posted, FRIDGE)) == 10_650 * G
    assert lost(session, posted) == {"trim": 80 * G, "stuck": 30 * G, "unexplained": 5 * G}
    assert (on_hand(session, new), on_hand(session, old)) == (0, 0)


def test_the_mince_is_as_old_as_its_oldest_part(session: Session) -> None:
    new = take_in(session, harvest=(AUTUMN, AUTUMN))
    old = take_in(session, mass_g=200, harvest=(OLD, OLD))
    unknown = take_in(session, mass_g=200)
    posted = do(session, grind, a_grind((new, 1000), (old, 200), (unknown, 200), made_g=1400))
    lot = lot_of(session, made(posted, FRIDGE))
    assert (lot.harvest_from, lot.harvest_to) == (OLD, AUTUMN)


def test_every_allergen_and_the_raw_mark_come_along(session: Session) -> None:
    meat = take_in(session, allergens=frozenset({"milk"}))
    celery = take_in(session, CELERY, 100, allergens=frozenset({"celery"}))
    mince = made(do(session, grind, a_grind((meat, 1000), (celery, 100), made_g=1100)), FRIDGE)
    assert allergens(session, mince) == {"milk", "celery"}
    assert lot_of(session, mince).is_raw
    assert treatments(session, mince) == {"ground"}


def test_a_mixture_is_only_as_kept_as_its_least_kept_part(session: Session) -> None:
    """Half of it cooked does not make it cooked; half of it thawed makes it thawed."""
    boiled = frozenset({Treatment.COOKED, Treatment.THAWED})
    one = take_in(session, is_raw=False, treatments=boiled)
    two = take_in(session, is_raw=False, treatments=frozenset({Treatment.COOKED}))
    raw = take_in(session)
    both = made(do(session, grind, a_grind((one, 500), (two, 500), made_g=1000)), FRIDGE)
    mixed = made(do(session, grind, a_grind((one, 500), (raw, 500), made_g=1000)), FRIDGE)
    assert treatments(session, both) == {"ground", "cooked", "thawed"}
    assert treatments(session, mixed) == {"ground", "thawed"}


def test_composition_is_the_mass_weighted_mean(session: Session) -> None:
    moose, pork = take_in(session, mass_g=3000), take_in(session, PORK, 1000)
    mince = made(do(session, grind, a_grind((moose, 3000), (pork, 1000), made_g=4000)), FRIDGE)
    wanted = 0.75 * lot_of(session, moose).fat + 0.25 * lot_of(session, pork).fat
    assert lot_of(session, mince).fat == pytest.approx(wanted)
    assert lot_of(session, mince).food_class == "game"  # the heavier part's


def test_flows_share_the_mince_by_what_each_lot_gave(session: Session) -> None:
    one, two, three = (take_in(session, mass_g=1) for _ in range(3))
    posted = do(session, grind, a_grind((one, 1), (two, 1), (three, 1), made_g=2, stuck_mg=1))
    flows = flows_into(session, made(posted, FRIDGE))
    assert sum(flows.values()) == 2 * G
    assert sorted(flows.values()) == [666, 667, 667]


def test_the_same_lot_named_twice_is_counted_once_against_what_is_there(session: Session) -> None:
    ref = take_in(session)
    problem = refusal(session, grind, a_grind((ref, 600), (ref, 600), made_g=1200))
    assert (problem.field, problem.kind) == ("parts[1].mass", "not_on_hand")
    assert problem.numbers["on_hand_mg"] == 1000 * G
    assert problem.numbers["taken_mg"] == 1200 * G


def test_the_same_lot_from_two_places_is_one_source(session: Session) -> None:
    ref = take_in(session)
    do(session, move, Move((ref,), FREEZER, TODAY, mass_mg=400 * G))
    there = StockRef(ref.lot_id, FREEZER)
    posted = do(session, grind, a_grind((ref, 600), (there, 400), made_g=1000))
    assert flows_into(session, made(posted, FRIDGE)) == {ref.lot_id: 1000 * G}


def test_grinding_more_than_is_on_hand_is_refused(session: Session) -> None:
    ref = take_in(session, mass_g=2000)
    problem = refusal(session, grind, a_grind((ref, 2500), made_g=2500))
    assert (problem.field, problem.kind) == ("parts[0].mass", "not_on_hand")
    assert (problem.numbers["on_hand_mg"], problem.numbers["taken_mg"]) == (2000 * G, 2500 * G)


def test_nothing_to_grind_is_refused(session: Session) -> None:
    assert refusal(session, grind, a_grind(made_g=1)).field == "parts"


def test_an_unknown_lot_is_refused_at_its_own_line(session: Session) -> None:
    ref = take_in(session)
    problem = refusal(
        session, grind, a_grind((ref, 1000), (StockRef(999, FRIDGE), 10), made_g=1010)
    )
    assert (problem.field, problem.kind) == ("parts[1].ref", "unknown_lot")


@pytest.mark.parametrize("mass_g", [0, -5])
def test_a_part_of_nothing_is_refused(session: Session, mass_g: int) -> None:
    problem = refusal(session, grind, a_grind((take_in(session), mass_g), made_g=1))
    assert problem.kind == "not_positive"
