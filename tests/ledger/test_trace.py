"""Trace: upstream to every source, downstream to what became of it."""

from collections.abc import Sequence

import pytest
from sqlalchemy.orm import Session

from app.ledger.operations._post import Posted
from app.ledger.operations.blend import Blend, blend
from app.ledger.operations.correct import Correct, correct
from app.ledger.operations.drain import Drain, drain
from app.ledger.operations.grind import Grind, Part, grind
from app.ledger.operations.intake import SourceIn
from app.ledger.operations.leave import Leave, discard, eat, give
from app.ledger.operations.portion import Portion, portion
from app.ledger.operations.trim import Trim, trim
from app.ledger.queries.trace import trace
from app.ledger.stock import StockRef
from app.ledger.words import SourceKind
from tests.builders import (
    BACK_FAT,
    FRIDGE,
    OLD,
    TODAY,
    G,
    a_pot,
    do,
    made,
    on_hand,
    take_in,
)


def ground(session: Session, *parts: tuple[StockRef, int], stuck_g: int = 0) -> StockRef:
    total_g = sum(mass_g for _, mass_g in parts)
    return made(grinding(session, parts, total_g, stuck_g), FRIDGE)


def grinding(
    session: Session, parts: Sequence[tuple[StockRef, int]], total_g: int, stuck_g: int = 0
) -> Posted:
    request = Grind(
        tuple(Part(ref, mass_g * G) for ref, mass_g in parts),
        "Mince",
        (total_g - stuck_g) * G,
        FRIDGE,
        TODAY,
        stuck_mg=stuck_g * G,
    )
    posted: Posted = do(session, grind, request)
    return posted


def split(session: Session, ref: StockRef, mass_g: int) -> StockRef:
    return made(do(session, portion, Portion(ref, mass_g * G, "Part", FRIDGE, TODAY)), FRIDGE)


def origins(session: Session, ref: StockRef) -> dict[str, float]:
    return {origin.name: origin.share for origin in trace(session, ref.lot_id).origins}


def named(name: str, kind: SourceKind = SourceKind.GIFT) -> SourceIn:
    return SourceIn(kind, name)


def test_a_lot_taken_in_is_its_own_origin(session: Session) -> None:
    told = SourceIn(SourceKind.ANIMAL, "Moose share", "A-117", "Hunting team")
    ref = take_in(session, source=told, harvest=(OLD, OLD))
    found = trace(session, ref.lot_id)
    (origin,) = found.origins
    assert (origin.name, origin.tag, origin.from_whom) == ("Moose share", "A-117", "Hunting team")
    assert (origin.share, origin.harvest) == (1.0, (OLD, OLD))
    assert (found.upstream, found.downstream, found.left) == ((), (), ())


def test_shares_are_what_each_source_gave_whatever_was_lost(session: Session) -> None:
    new = take_in(session, mass_g=9200, source=named("new"))
    old = take_in(session, mass_g=1565, source=named("old"))
    mince = ground(session, (new, 9200), (old, 1565), stuck_g=115)
    assert origins(session, mince) == pytest.approx({"new": 9200 / 10765, "old": 1565 / 10765})


def test_shares_go_through_splits_and_merges(session: Session) -> None:
    """Half a mince of one third old meat, ground again with as much fresh: a sixth is old."""
    old = take_in(session, mass_g=500, source=named("old"))
    new = take_in(session, mass_g=1000, source=named("new"))
    half = split(session, ground(session, (old, 500), (new, 1000)), 750)
    fresh = take_in(session, mass_g=750, source=named("fresh"))
    again = ground(session, (half, 750), (fresh, 750))
    shares = origins(session, again)
    assert shares == pytest.approx({"old": 1 / 6, "new": 1 / 3, "fresh": 1 / 2}, rel=1e-5)


def test_a_diamond_is_followed_once_and_adds_up(session: Session) -> None:
    one = take_in(session, source=named("one"))
    left, right = split(session, one, 400), split(session, one, 600)
    again = ground(session, (left, 400), (right, 600))
    assert origins(session, again) == {"one": 1.0}
    found = trace(session, one.lot_id)
    assert [lot.lot_id for lot in found.downstream] == [left.lot_id, right.lot_id, again.lot_id]
    shares = {lot.lot_id: lot.share for lot in trace(session, again.lot_id).upstream}
    assert shares == pytest.approx({left.lot_id: 0.4, right.lot_id: 0.6, one.lot_id: 1.0})


def test_many_diamonds_in_a_row_do_not_multiply(session: Session) -> None:
    """Twenty-four splits and merges have 2^24 paths and 73 lots."""
    ref = take_in(session, mass_g=1000, source=named("one"))
    first = ref
    for _ in range(24):
        ref = ground(session, (split(session, ref, 300), 300), (split(session, ref, 700), 700))
    found = trace(session, ref.lot_id)
    assert len(found.upstream) == 72
    assert [origin.share for origin in found.origins] == pytest.approx([1.0])
    assert len(trace(session, first.lot_id).downstream) == 72


def test_salt_and_water_are_no_share_of_the_origin(session: Session) -> None:
    lean = take_in(session, mass_g=800, source=named("lean"))
    fat = take_in(session, BACK_FAT, 200, source=named("fat"))
    request = Blend(
        lean, 800 * G, fat, 200 * G, "Burgers", 1100 * G, FRIDGE, TODAY, seasoning_mg=100 * G
    )
    burgers = made(do(session, blend, request), FRIDGE)
    assert origins(session, burgers) == pytest.approx({"lean": 0.8, "fat": 0.2}, rel=1e-5)


def test_meat_and_broth_of_one_pot_have_the_same_origin(session: Session) -> None:
    pot = a_pot(session, source=named("moose"))
    posted = do(session, drain, Drain(pot, 3000 * G, 1450 * G, 1550 * G, FRIDGE, TODAY))
    for nth in (0, 1):
        assert origins(session, made(posted, FRIDGE, nth)) == {"moose": 1.0}


def test_downstream_says_what_is_left_of_each_and_where_the_rest_went(session: Session) -> None:
    ref = take_in(session)
    part = split(session, ref, 400)
    do(session, eat, Leave((part,), TODAY, mass_mg=150 * G))
    do(session, give, Leave((part,), TODAY, mass_mg=50 * G, words="Morag at the mill"))
    do(session, discard, Leave((ref,), TODAY, mass_mg=20 * G, words="freezer burn"))
    found = trace(session, ref.lot_id)
    assert [(lot.lot_id, lot.on_hand_mg) for lot in found.downstream] == [(part.lot_id, 200 * G)]
    assert [(left.kind, left.words, left.mass_mg) for left in found.left] == [
        ("eaten", "", 150 * G),
        ("given", "Morag at the mill", 50 * G),
        ("discarded", "freezer burn", 20 * G),
    ]
    assert on_hand(session, ref) + on_hand(session, part) == (1000 - 220) * G


def test_an_operation_that_leaves_two_lots_is_told_for_each_with_its_own_mass(
    session: Session,
) -> None:
    one, two = take_in(session, mass_g=100), take_in(session, mass_g=30)
    do(session, eat, Leave((one, two), TODAY))
    assert [left.mass_mg for left in trace(session, one.lot_id).left] == [100 * G]
    assert [left.mass_mg for left in trace(session, two.lot_id).left] == [30 * G]


def test_what_was_taken_back_did_not_happen(session: Session) -> None:
    one, two = take_in(session, source=named("one")), take_in(session, source=named("two"))
    posted = grinding(session, ((one, 500), (two, 500)), 1000)
    eaten = do(session, eat, Leave((one,), TODAY, mass_mg=10 * G))
    for mistake in (eaten, posted):
        do(session, correct, Correct(mistake.operation_id, TODAY))
    found = trace(session, one.lot_id)
    assert (found.downstream, found.left) == ((), ())
    assert origins(session, made(posted, FRIDGE)) == {}


def test_a_long_way_is_followed_to_its_end(session: Session) -> None:
    ref = take_in(session, source=named("one"))
    for mass_g in range(1000, 940, -1):
        request = Trim(ref, mass_g * G, (mass_g - 1) * G, 1 * G, FRIDGE, TODAY)
        ref = made(do(session, trim, request), FRIDGE)
    assert origins(session, ref) == {"one": 1.0}
