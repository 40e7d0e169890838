"""Trace: upstream to every source, downstream to what became of it."""

from collections.abc import Sequence
from datetime import timedelta
from pathlib import Path

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from app.ledger import schema
from app.ledger.book import Book
from app.ledger.codes import code_of
from app.ledger.errors import NotFound
from app.ledger.models import Lot
from app.ledger.operations._post import Posted
from app.ledger.operations.blend import Blend, blend
from app.ledger.operations.correct import Correct, correct
from app.ledger.operations.drain import Drain, drain
from app.ledger.operations.grind import Grind, Part, grind
from app.ledger.operations.hold import PutOnHold, hold
from app.ledger.operations.intake import SourceIn, intake
from app.ledger.operations.leave import Leave, discard, eat, give
from app.ledger.operations.move import Move, move
from app.ledger.operations.pack import pack
from app.ledger.operations.portion import Portion, portion
from app.ledger.operations.stocktake import Counted, Stocktake, stocktake
from app.ledger.operations.trim import Trim, trim
from app.ledger.queries.sources import recall, sources
from app.ledger.queries.trace import trace
from app.ledger.queries.whole_way import WholeWay, whole_way
from app.ledger.stock import StockRef
from app.ledger.words import HoldCause, SourceKind
from tests.builders import (
    BACK_FAT,
    FREEZER,
    FRIDGE,
    OLD,
    PANTRY,
    TODAY,
    G,
    a_pack,
    a_pot,
    an_intake,
    cooked,
    do,
    dried,
    made,
    on_hand,
    pouches,
    take_in,
    units,
)
from tests.migrations.test_released_files import unpack


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


# -- the whole way, to the milligram --------------------------------------------------------------


def way_of(session: Session, ref: StockRef, number: int | None = None) -> WholeWay:
    way = whole_way(session, code_of(ref.lot_id), number)
    assert sum(way.sums.values()) == sum(b.mass_mg for b in way.beginnings) == way.mass_mg
    return way


def came(way: WholeWay) -> dict[str, int]:
    return {b.source or str(b.kind): b.mass_mg for b in way.beginnings}


def test_losses_on_the_way_are_losses_of_the_lot_in_the_share_it_had(session: Session) -> None:
    """A third of the mince is old meat; so is a third of what stuck and of what was given."""
    old = take_in(session, mass_g=500, source=named("old"))
    new = take_in(session, mass_g=1000, source=named("new"))
    mince = ground(session, (old, 500), (new, 1000), stuck_g=30)
    do(session, give, Leave((mince,), TODAY, mass_mg=300 * G, words="Morag"))
    way = way_of(session, old)
    assert way.sums == {None: 390 * G, "stuck": 10 * G, "given": 100 * G}
    (given,) = [end for end in way.ends if end.kind == "given"]
    assert (given.words, given.done_on, given.person) == ("Morag", TODAY, "Ailsa")
    assert [(lot.code, lot.mass_mg) for lot in way.downstream] == [(code_of(mince.lot_id), 490 * G)]
    assert way.downstream[0].places == ("Fridge",)
    assert came(way_of(session, mince)) == {"new": 980 * G, "old": 490 * G}


def test_water_and_seasoning_are_told_as_what_was_added(session: Session) -> None:
    lean = take_in(session, mass_g=800, source=named("lean"))
    fat = take_in(session, BACK_FAT, 200, source=named("fat"))
    request = Blend(
        lean, 800 * G, fat, 200 * G, "Burgers", 1100 * G, FRIDGE, TODAY, seasoning_mg=100 * G
    )
    burgers = made(do(session, blend, request), FRIDGE)
    way = way_of(session, burgers)
    assert came(way) == {"lean": 800 * G, "fat": 200 * G, "seasoning": 100 * G}
    assert way_of(session, lean).sums == {None: 800 * G}


def test_one_package_has_its_own_way_and_all_of_them_make_up_the_lot(session: Session) -> None:
    one, two, three = pouches(session, 80, 81, 82)
    later = TODAY + timedelta(days=2)
    do(session, eat, Leave((one,), later))
    do(session, give, Leave((two,), later, mass_mg=40 * G, words="Morag"))
    do(session, move, Move((three,), FREEZER, later))
    first, second, third = (way_of(session, one, number) for number in (1, 2, 3))
    assert first.sums == {"eaten": 80 * G}
    assert second.sums == {None: 41 * G, "given": 40 * G}
    assert [(end.words, end.number) for end in third.ends] == [("Chest freezer", 3)]
    whole = way_of(session, one)
    assert whole.mass_mg == sum(way.mass_mg for way in (first, second, third))
    assert [(p.number, p.on_hand_mg, p.place) for p in whole.packages] == [
        (1, 0, ""), (2, 41 * G, "Pantry"), (3, 82 * G, "Chest freezer")
    ]  # fmt: skip
    with pytest.raises(NotFound):
        whole_way(session, whole.code, 4)


def test_a_package_that_went_into_something_is_followed_into_it(session: Session) -> None:
    one, two, _ = pouches(session, 80, 80, 80)
    later = TODAY + timedelta(days=2)
    soup = made(do(session, portion, Portion(one, 60 * G, "Soup", FRIDGE, later)), FRIDGE)
    do(session, portion, Portion(two, 20 * G, "Crumbs", FRIDGE, later))
    way = way_of(session, one, 1)
    assert [(lot.code, lot.mass_mg) for lot in way.downstream] == [(code_of(soup.lot_id), 60 * G)]


def test_two_packages_ground_together_each_lose_their_part_of_what_stuck(session: Session) -> None:
    one, two, _ = pouches(session, 80, 120, 80)
    parts = (Part(one, 80 * G), Part(two, 120 * G))
    later = TODAY + timedelta(days=2)
    request = Grind(parts, "Powder", 190 * G, FRIDGE, later, stuck_mg=10 * G)
    do(session, grind, request)
    assert way_of(session, one, 1).sums == {None: 76 * G, "stuck": 4 * G}
    assert way_of(session, two, 2).sums == {None: 114 * G, "stuck": 6 * G}


def test_what_a_stocktake_missed_and_found_is_part_of_the_balance(session: Session) -> None:
    ref = take_in(session)
    for found_g in (700, 950):
        counted = (Counted(ref, found_g * G),)
        do(session, stocktake, Stocktake(FRIDGE, counted, TODAY, reason="weighed again"))
    way = way_of(session, ref)
    assert way.sums == {None: 950 * G, "missing": 300 * G}
    assert came(way) == {"Moose share": 1000 * G, "found": 250 * G}


def test_the_way_of_a_lot_that_was_taken_back_is_empty(session: Session) -> None:
    one, two = take_in(session, source=named("one")), take_in(session, source=named("two"))
    posted = grinding(session, ((one, 500), (two, 500)), 1000)
    do(session, correct, Correct(posted.operation_id, TODAY))
    assert way_of(session, made(posted, FRIDGE)).mass_mg == 0
    assert way_of(session, one).sums == {None: 1000 * G}


def test_every_lot_and_package_of_a_year_is_accounted_for_to_the_milligram(tmp_path: Path) -> None:
    """A ledger that an earlier version wrote: about 200 lots, most of them merged and split."""
    path = unpack("0001", tmp_path)
    schema.bring_up(path)
    book = Book(path)
    with book.reading() as session:
        lots = session.scalars(select(Lot.id)).all()
        counted = 0
        for lot_id in lots:
            way = way_of(session, StockRef(lot_id, FRIDGE))
            counted += 1 + sum(
                way_of(session, StockRef(lot_id, FRIDGE), package.number) is not None
                for package in way.packages
            )
        on_hand = {line.id: line.on_hand_mg for line in sources(session)}
        for source_id, mass_mg in on_hand.items():
            assert abs(recall(session, source_id).source.on_hand_mg - mass_mg) <= len(lots)
    book.close()
    assert counted > len(lots) > 200


# -- sources -------------------------------------------------------------------------------------


def animal(tag: str) -> SourceIn:
    return SourceIn(SourceKind.ANIMAL, "moose", tag=tag)


def test_one_animal_is_one_source_however_often_it_was_written(session: Session) -> None:
    take_in(session, mass_g=900, source=animal("M-1"))
    shoulder = take_in(session, mass_g=600, source=SourceIn(SourceKind.ANIMAL, "elk", tag="m-1"))
    take_in(session, mass_g=300, source=animal("M-2"))
    do(session, eat, Leave((shoulder,), TODAY, mass_mg=100 * G))
    assert [(s.tag, s.lot_count, s.taken_in_mg, s.on_hand_mg) for s in sources(session)] == [
        ("M-2", 1, 300 * G, 300 * G), ("M-1", 2, 1500 * G, 1400 * G)
    ]  # fmt: skip


def test_a_recall_finds_every_pouch_that_holds_the_animal_and_who_was_given_some(
    session: Session,
) -> None:
    mine = cooked(session, 320, source=animal("M-1"))
    other = cooked(session, 320, source=animal("M-2"))
    pouch_of = {
        tag: units(do(session, pack, a_pack(dried(session, 320, 80, food=ref), 40, 40)), PANTRY)
        for tag, ref in (("M-1", mine), ("M-2", other))
    }
    later = TODAY + timedelta(days=2)
    do(session, give, Leave((pouch_of["M-1"][0],), later, words="Morag at the mill"))
    do(session, give, Leave((pouch_of["M-2"][0],), later, words="Ewan's aunt"))
    (line,) = [s for s in sources(session) if s.tag == "M-1"]
    found = recall(session, line.id)
    lies = [(end.code, end.number, end.words) for end in found.ends if end.kind is None]
    assert lies == [(code_of(pouch_of["M-1"][1].lot_id), 2, "Pantry")]
    assert [end.words for end in found.ends if end.kind == "given"] == ["Morag at the mill"]
    assert sum(found.sums.values()) == line.taken_in_mg
    assert not line.is_held
    do(session, hold, PutOnHold((mine.lot_id,), HoldCause.RECALL, later))
    assert recall(session, line.id).ends[0].is_held


def test_a_source_that_was_taken_back_or_never_was_is_not_found(session: Session) -> None:
    posted = do(session, intake, an_intake())
    (line,) = sources(session)
    do(session, correct, Correct(posted.operation_id, TODAY))
    assert sources(session) == []
    for number in (line.id, 999):
        with pytest.raises(NotFound):
            recall(session, number)
