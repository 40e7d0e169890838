"""What is proposed next and what a form starts from: by what people did last time."""

from datetime import timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sqlalchemy.orm import Session

from app.ledger.operations.cook import cook
from app.ledger.operations.correct import Correct, correct
from app.ledger.operations.grind import Grind, Part, grind
from app.ledger.operations.leave import Leave, eat
from app.ledger.operations.move import Move, move
from app.ledger.operations.pack import pack
from app.ledger.queries import last_time as asked
from app.ledger.queries.last_time import (
    habit,
    last_intake,
    last_intakes,
    last_packed,
    last_time,
)
from app.ledger.queries.next_steps import next_steps, often, proposed
from app.ledger.queries.stock import StockLine, find_line
from app.ledger.stock import StockRef
from app.ledger.words import OperationKind, PlaceKind
from app.science.classes import FoodClass, Form
from tests import builders as b

Step = OperationKind
PASTS = st.lists(st.sampled_from(list(Step)), max_size=6)


def line_of(session: Session, ref: StockRef) -> StockLine:
    line = find_line(session, ref)
    assert line is not None
    return line


# -- the proposed step, a pure function ------------------------------------------------------------


@pytest.mark.parametrize(
    ("past", "usual"),
    [
        ([], None),
        ([Step.GRIND], None),  # once is no habit
        ([Step.GRIND, Step.COOK, Step.COOK], Step.COOK),
        ([Step.GRIND, Step.COOK, Step.COOK, Step.GRIND], Step.GRIND),  # as often, and newer
    ],
)
def test_what_was_done_most_often_and_twice_at_least_is_usual(
    past: list[Step], usual: Step | None
) -> None:
    assert often(past) is usual


def test_a_habit_comes_first_and_every_other_step_stays(session: Session) -> None:
    line = line_of(session, b.take_in(session))
    steps = proposed(line, [Step.PACK, Step.PACK, Step.GRIND])
    assert steps[0] is Step.PACK
    assert sorted(steps) == sorted(next_steps(line))


@pytest.mark.parametrize(
    "usual", [Step.DISCARD, Step.GIVE, Step.MOVE, Step.MEASURE, Step.EAT, Step.OPEN, Step.UNLOAD]
)
def test_no_habit_proposes_to_throw_away_give_move_measure_or_eat_raw_meat(
    session: Session, usual: Step
) -> None:
    line = line_of(session, b.take_in(session))
    assert proposed(line, [usual] * 5) == next_steps(line)


def test_a_hot_pot_is_chilled_whatever_was_done_before(session: Session) -> None:
    line = line_of(session, b.cooked(session))
    assert proposed(line, [Step.LOAD] * 5)[0] is Step.CHILL


@settings(max_examples=60, deadline=None)
@given(past=PASTS)
def test_a_habit_only_reorders(past: list[Step]) -> None:
    line = _LINE
    steps = proposed(line, past)
    assert sorted(steps) == sorted(next_steps(line))


_LINE = StockLine(
    **dict.fromkeys(StockLine._fields)
    | {
        "units": ((1, None),),
        "name": "Moose",
        "is_raw": True,
        "food_class": FoodClass.GAME,
        "form": Form.PIECES,
        "treatments": frozenset(),
        "marks": frozenset(),
        "made_by": Step.INTAKE,
        "place_kind": PlaceKind.FRIDGE,
        "mass_mg": 1,
        "package_count": 0,
        "holds": (),
    }
)  # type: ignore[arg-type]


# -- what was done last time -----------------------------------------------------------------------


def test_the_last_steps_of_such_food_are_found_newest_first(session: Session) -> None:
    one, two, three = (b.take_in(session) for _ in range(3))
    corn = b.take_in(session, b.SWEETCORN)
    b.do(session, cook, b.a_cook(one, 1000, 1000))
    b.do(session, cook, b.a_cook(corn, 1000, 1000))  # another food: no matter
    b.do(session, move, Move((two,), b.FREEZER, b.TODAY))
    assert habit(session, line_of(session, three)) == [Step.MOVE, Step.COOK]


def test_what_was_taken_back_is_no_habit(session: Session) -> None:
    one, two = b.take_in(session), b.take_in(session)
    posted = b.do(session, move, Move((one,), b.FREEZER, b.TODAY))
    assert habit(session, line_of(session, two)) == [Step.MOVE]
    b.do(session, correct, Correct(posted.operation_id, b.TODAY, "a slip"))
    assert habit(session, line_of(session, two)) == []


def test_food_in_another_state_has_habits_of_its_own(session: Session) -> None:
    packs = b.pouches(session)
    b.do(session, eat, Leave((packs[0],), b.TODAY + timedelta(days=2)))
    assert habit(session, line_of(session, packs[1])) == [Step.EAT]
    assert Step.EAT not in habit(session, line_of(session, b.take_in(session)))


def test_last_time_tells_where_the_food_went_and_when(session: Session) -> None:
    meat = b.take_in(session)
    request = Grind(
        (Part(meat, 1000 * b.G),), "Moose, ground", 990 * b.G, b.FRIDGE, b.TODAY, stuck_mg=10 * b.G
    )
    b.do(session, grind, request)
    fresh = line_of(session, b.take_in(session))
    last = last_time(session, Step.GRIND, fresh)
    assert last is not None
    assert (last.on, last.place_id, last.place_kind) == (b.TODAY, b.FRIDGE, PlaceKind.FRIDGE)
    assert last_time(session, Step.GRIND, line_of(session, b.take_in(session, b.PORK))) is None
    assert last_time(session, Step.GRIND, line_of(session, b.cooked(session))) is None
    assert last_time(session, Step.MOVE, fresh) is None


def test_how_such_food_was_packed_last_is_known_with_the_middle_weight(session: Session) -> None:
    b.do(session, pack, b.a_pack(b.dried(session, 1200, 300), 70, 150, 80))
    line = line_of(session, b.dried(session))
    last = last_packed(session, line)
    assert last is not None
    assert (last.packaging_id, last.absorber_id, last.is_pumped_down) == (
        b.FOIL_POUCH,
        b.CC_300,
        False,
    )
    assert (last.net_mg, last.place_id) == (80 * b.G, b.PANTRY)


def test_how_moist_food_was_packed_tells_nothing_of_dried_food(session: Session) -> None:
    burgers = b.cooked(session)
    wet = b.a_pack(burgers, 500, packaging_id=b.VACUUM_BAG, absorber_id=None, place_id=b.FREEZER)
    b.do(session, pack, wet)
    assert last_packed(session, line_of(session, b.dried(session))) is None
    assert last_packed(session, line_of(session, b.cooked(session))) is not None


def test_what_came_in_lately_is_named_once_the_newest_first(session: Session) -> None:
    for name in ("Trim", "Corn", "Trim"):
        b.take_in(session, name=name)
    b.pouches(session)  # made, not taken in
    assert [one.name for one in last_intakes(session, 6)][-2:] == ["Trim", "Corn"]
    assert len(last_intakes(session, 1)) == 1


def test_a_lot_that_was_made_is_no_intake(session: Session) -> None:
    assert last_intake(session, b.cooked(session).lot_id) is None
    assert last_intake(session, 999_999) is None


def test_what_lies_further_back_is_found_once_and_in_order(
    session: Session, monkeypatch: pytest.MonkeyPatch
) -> None:
    lots = [b.take_in(session) for _ in range(4)]
    for place, ref in zip((b.FREEZER, b.PANTRY, b.BENCH), lots, strict=False):
        b.do(session, move, Move((ref,), place, b.TODAY))
    b.do(session, cook, b.a_cook(StockRef(lots[0].lot_id, b.FREEZER), 500, 500))
    line = line_of(session, lots[3])
    whole = habit(session, line)
    assert whole == [Step.COOK, Step.MOVE, Step.MOVE, Step.MOVE]
    for spans in ((1, 50), (2, 3, 50), (50,)):
        monkeypatch.setattr(asked, "HABIT_SPANS", spans)
        assert habit(session, line) == whole


def test_only_the_newest_entries_are_looked_through(
    session: Session, monkeypatch: pytest.MonkeyPatch
) -> None:
    one, two = b.take_in(session), b.take_in(session)
    b.do(session, move, Move((one,), b.FREEZER, b.TODAY))
    b.take_in(session, b.SWEETCORN)
    monkeypatch.setattr(asked, "HABIT_SPANS", (1,))
    assert habit(session, line_of(session, two)) == []
