"""Eat first, the bench, and finding a lot: what a household sees of its stock."""

from datetime import date, timedelta

import pytest
from sqlalchemy.orm import Session

from app.ledger.codes import code_of, spoken
from app.ledger.operations.cook import cook
from app.ledger.operations.intake import SourceIn
from app.ledger.operations.leave import Leave, eat
from app.ledger.operations.move import Move, move
from app.ledger.operations.open import Open, open_package
from app.ledger.queries.bench import bench
from app.ledger.queries.eat_first import Group, _rank, eat_first
from app.ledger.queries.next_steps import next_steps
from app.ledger.queries.places import place_contents, place_lines
from app.ledger.queries.search import find_lots
from app.ledger.queries.stock import StockLine, find_line, stock_lines
from app.ledger.stock import StockRef
from app.ledger.words import OperationKind, SourceKind
from tests.builders import (
    APPLES,
    BEANS,
    BENCH,
    FREEZE_DRYER,
    FREEZER,
    FRIDGE,
    OLD,
    PANTRY,
    SWEETCORN,
    TODAY,
    G,
    a_cook,
    a_pot,
    a_tray,
    cooked,
    do,
    dried,
    loaded,
    made,
    pouches,
    take_in,
)


def groups(session: Session, today: date = TODAY) -> dict[Group, list[StockLine]]:
    return {group: list(lines) for group, lines in eat_first(session, today).groups}


def line_of(session: Session, ref: StockRef) -> StockLine:
    line = find_line(session, ref)
    assert line is not None
    return line


def test_an_empty_ledger_has_nothing_to_eat(session: Session) -> None:
    page = eat_first(session, TODAY)
    assert (page.groups, page.lot_count, page.mass_mg) == ((), 0, 0)


def test_fridge_food_is_for_this_week_and_old_frozen_food_is_to_be_processed(
    session: Session,
) -> None:
    fresh = take_in(session, place=FRIDGE)
    old = take_in(session, mass_g=1600, place=FREEZER, kept_since=OLD)
    corn = take_in(session, SWEETCORN, place=FREEZER)
    found = {group: [line.ref for line in lines] for group, lines in groups(session).items()}
    assert found == {
        Group.THIS_WEEK: [fresh],
        Group.PROCESS: [old],
        Group.LATER: [corn],
    }


def test_the_frozen_packet_moves_up_as_its_end_comes_near(session: Session) -> None:
    corn = take_in(session, SWEETCORN, place=FREEZER)
    window = line_of(session, corn).window
    assert window is not None
    for days, group in ((61, Group.LATER), (60, Group.PROCESS), (-10, Group.PROCESS)):
        assert list(groups(session, window.early - timedelta(days=days))) == [group]


def test_a_shelf_pouch_is_for_this_week_when_its_early_end_is_a_week_away(
    session: Session,
) -> None:
    one, *_ = pouches(session)
    window = line_of(session, one).window
    assert window is not None
    for days, group in ((8, Group.LATER), (7, Group.THIS_WEEK)):
        assert list(groups(session, window.early - timedelta(days=days))) == [group]


def test_an_opened_pouch_stands_alone_at_the_top(session: Session) -> None:
    refs = pouches(session, 80, 81, 82)
    day = TODAY + timedelta(days=1)
    do(session, open_package, Open((refs[1],), day))
    lines = [line for line in stock_lines(session) if line.package_count]
    assert [line.refs for line in lines] == [(refs[0], refs[2]), (refs[1],)]
    assert (lines[0].package_count, lines[0].mass_mg) == (2, 162 * G)
    assert (lines[1].package_number, lines[1].opened_on) == (2, day)
    found = groups(session, day)
    assert next(iter(found)) is Group.OPENED
    assert [line.ref for line in found[Group.OPENED]] == [refs[1]]


def test_within_a_group_the_soonest_early_end_comes_first(session: Session) -> None:
    """Whichever of them came into the ledger first."""
    since = [date(2024, 5, 1), date(2023, 10, 1), date(2025, 3, 1), date(2024, 1, 1)]
    for days, day in enumerate(since):
        take_in(session, place=FREEZER, kept_since=day, on=TODAY - timedelta(days=days))
    early = [line.window.early for line in groups(session)[Group.PROCESS] if line.window]
    assert len(early) == 4
    assert early == sorted(early)


def test_of_two_that_end_on_one_day_the_one_that_is_used_up_further_comes_first(
    session: Session,
) -> None:
    def line(start: date) -> StockLine:
        ref = take_in(session, place=FREEZER, kept_since=OLD)
        found = line_of(session, ref)
        assert found.window is not None
        return found._replace(window=found.window._replace(start=start))

    slow, fast = line(OLD), line(OLD + timedelta(days=40))
    day = OLD + timedelta(days=41)
    assert sorted([fast, slow], key=lambda each: _rank(each, day)) == [slow, fast]


def test_food_without_a_window_comes_before_all_with_one(session: Session) -> None:
    take_in(session, place=FRIDGE)
    crumb = take_in(session, mass_g=1, place=FRIDGE)
    do(session, eat, Leave((crumb,), TODAY, mass_mg=1 * G - 1))
    lines = groups(session)[Group.THIS_WEEK]
    without = [line.window is None for line in lines]
    assert without == sorted(without, reverse=True)


def test_what_lies_in_a_dryer_is_on_the_bench_and_not_here(session: Session) -> None:
    ref = cooked(session)
    loaded(session, a_tray(ref, 600), a_tray(ref, 400))
    assert eat_first(session, TODAY).lot_count == 0
    (run,) = bench(session).runs
    assert [state.tray.number for state in run.trays] == [1, 2]
    line = line_of(session, StockRef(ref.lot_id, FREEZE_DRYER))
    assert (line.window, line.limit_word) == (None, "in_dryer")


def test_the_count_and_mass_are_of_everything_on_hand(session: Session) -> None:
    ref = take_in(session)
    do(session, move, Move((ref,), FREEZER, TODAY, mass_mg=400 * G))
    take_in(session, BEANS, 250)
    page = eat_first(session, TODAY)
    assert (page.lot_count, page.mass_mg) == (2, 1250 * G)
    assert sum(len(lines) for _, lines in page.groups) == 3


def test_the_bench_shows_what_waits_to_be_packed_and_what_is_begun(session: Session) -> None:
    dry, pot = dried(session), a_pot(session)
    take_in(session, place=FREEZER)
    found = bench(session)
    assert [line.ref for line in found.to_pack] == [dry]
    assert [line.ref for line in found.in_progress] == [pot]


def test_a_lot_is_found_by_code_name_tag_giver_and_place(session: Session) -> None:
    told = SourceIn(SourceKind.ANIMAL, "Moose share", "A-117", "Hunting team")
    moose = take_in(session, source=told, name="Trim 100%_lean")
    orchard = SourceIn(SourceKind.PLOT, "Orchard")
    apples = take_in(session, APPLES, name="Apples", place=PANTRY, source=orchard)
    wanted = {
        code_of(moose.lot_id): moose,
        spoken(code_of(moose.lot_id)).lower(): moose,
        "trim": moose,
        "a-117": moose,
        "hunting": moose,
        "100%_l": moose,
        "pantry": apples,
        " Apples ": apples,
    }
    for text, ref in wanted.items():
        assert [line.ref for line in find_lots(session, text)] == [ref], text
    assert len(find_lots(session, "")) == 2


@pytest.mark.parametrize("text", ["%", "_", "\\", "'; DROP TABLE lot; --", "zzz", "7K3MC"])
def test_what_is_not_there_is_not_found(session: Session, text: str) -> None:
    take_in(session, name="Apples", food=APPLES)
    assert find_lots(session, text) == []


def test_a_lot_that_was_eaten_is_on_no_list(session: Session) -> None:
    ref = take_in(session)
    do(session, eat, Leave((ref,), TODAY))
    assert stock_lines(session) == []
    assert find_line(session, ref) is None


def test_a_place_lists_what_it_holds(session: Session) -> None:
    take_in(session, place=FREEZER)
    take_in(session, BEANS, 250, place=FREEZER)
    place, lines = place_contents(session, FREEZER)
    assert (place.name, len(lines)) == ("Chest freezer", 2)
    held = {line.place.id: (line.lot_count, line.mass_mg) for line in place_lines(session)}
    assert held[FREEZER] == (2, 1250 * G)
    assert held[FRIDGE] == (0, 0)


def test_the_next_step_follows_the_work(session: Session) -> None:
    frozen, fresh = take_in(session, place=FREEZER), take_in(session)
    hot = made(do(session, cook, a_cook(take_in(session), 1000, 1000)), BENCH)
    first = {
        frozen: OperationKind.THAW,
        fresh: OperationKind.GRIND,
        hot: OperationKind.CHILL,
        a_pot(session): OperationKind.SKIM,
        take_in(session, BEANS): OperationKind.BLANCH,
        dried(session): OperationKind.PACK,
        pouches(session)[0]: OperationKind.EAT,
    }
    for ref, step in first.items():
        assert next_steps(line_of(session, ref))[0] is step
