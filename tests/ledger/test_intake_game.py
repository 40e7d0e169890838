"""Wild game and fish at the door: what is asked, what is kept of it, and what goes on hold."""

from typing import Any

import pytest
from sqlalchemy import select, update
from sqlalchemy.orm import Session

from app.ledger.game import GameIn
from app.ledger.holds import active_holds, held_lots
from app.ledger.models import Checkpoint, GameStory, Household, Lot, LotMark, Source
from app.ledger.operations._post import Posted
from app.ledger.operations.correct import Correct, correct
from app.ledger.operations.hold import PutOnHold, hold
from app.ledger.operations.intake import intake
from app.ledger.operations.leave import Leave, discard, eat
from app.ledger.temperatures import Typed
from app.ledger.words import Ammunition, HoldCause
from app.science.classes import Form
from app.science.safety.game import CwdStatus
from tests.builders import (
    APPLES,
    FRIDGE,
    MOOSE,
    TODAY,
    TROUT,
    an_intake,
    do,
    lot_of,
    made,
    refusal,
    refused_kinds,
)

HARE, HUTCH_RABBIT, BOAR = "17180", "17177", "17158"


def taken(session: Session, food: str, game: GameIn, **changes: Any) -> Posted:
    """Game taken in with its story."""
    name = {MOOSE: "Moose trim"}.get(food, "Found in the larder")
    request = an_intake(food, game=game, **({"name": name} | changes))
    posted: Posted = do(session, intake, request)
    return posted


def rules_of(session: Session, posted: Posted) -> dict[str, str]:
    """Every rule that spoke, with its outcome."""
    query = select(Checkpoint.rule, Checkpoint.outcome).where(
        Checkpoint.operation_id == posted.operation_id
    )
    return dict(session.execute(query).all())


def marks(session: Session, posted: Posted) -> set[str]:
    """The marks of the lot."""
    return set(session.scalars(select(LotMark.mark).where(LotMark.lot_id == posted.lot_ids[0])))


def causes(session: Session) -> list[str]:
    """Why food is on hold."""
    return [str(hold.cause) for hold in active_holds(session)]


def test_the_story_of_an_animal_is_kept_beside_its_source(session: Session) -> None:
    told = GameIn(
        Ammunition.LEAD,
        cwd_status=CwdStatus.NOT_DETECTED,
        cwd_listed=True,
        hours_to_cold=9.0,
        centre=Typed(38.0, "F", 3.3),
        taken_at="Upper valley",
    )
    source_id = lot_of(session, made(taken(session, MOOSE, told), FRIDGE)).source_id
    story = session.get_one(GameStory, source_id)
    assert (story.ammunition, story.cwd_status, story.cwd_listed) == ("lead", "not detected", True)
    assert (story.hours_to_cold, story.centre_c, story.taken_at) == (9.0, 3.3, "Upper valley")
    assert session.get_one(Source, source_id).taken_with_lead


def test_a_test_awaited_puts_the_animal_on_hold_at_once(session: Session) -> None:
    posted = taken(session, MOOSE, GameIn(cwd_status=CwdStatus.PENDING))
    assert causes(session) == ["test_awaited"]
    assert rules_of(session, posted)["CWD-HOLD"] == "note"
    held = Leave((made(posted, FRIDGE),), TODAY)
    assert refused_kinds(session, eat, held) == {"on_hold"}


def test_a_positive_test_and_a_sick_animal_are_kept_only_on_hold(session: Session) -> None:
    found = taken(session, MOOSE, GameIn(cwd_status=CwdStatus.POSITIVE))
    sick = taken(session, HARE, GameIn(looked_sick=True))
    assert causes(session) == ["test_positive", "looked_sick"]
    assert rules_of(session, found)["CWD-POS"] == "stop"
    assert rules_of(session, sick)["GAME-SICK"] == "stop"
    do(session, discard, Leave((made(sick, FRIDGE),), TODAY, words="looked sick"))


def test_an_animal_both_sick_and_awaiting_its_test_has_both_holds(session: Session) -> None:
    posted = taken(session, MOOSE, GameIn(looked_sick=True, cwd_status=CwdStatus.PENDING))
    held = held_lots(session)[posted.lot_ids[0]]
    assert {str(hold.cause) for hold in held} == {"looked_sick", "test_awaited"}


def test_taking_an_intake_back_takes_its_hold_back(session: Session) -> None:
    posted = taken(session, MOOSE, GameIn(cwd_status=CwdStatus.PENDING))
    do(session, correct, Correct(posted.operation_id, TODAY, "wrong animal"))
    assert causes(session) == []


def test_taking_an_intake_back_leaves_a_hold_that_other_food_is_under(session: Session) -> None:
    one, other = (do(session, intake, an_intake(APPLES)).lot_ids[0] for _ in range(2))
    do(session, hold, PutOnHold((one, other), HoldCause.RECALL, TODAY))
    do(session, correct, Correct(session.get_one(Lot, one).operation_id, TODAY, "twice written"))
    assert other in held_lots(session)


@pytest.mark.parametrize(
    "game",
    [
        GameIn(),  # nobody knows
        GameIn(cwd_listed=True, cwd_status=CwdStatus.NOT_PLANNED),
        GameIn(cwd_status=CwdStatus.NOT_PLANNED),  # region not known
    ],
)
def test_a_deer_without_a_test_needs_a_reason_where_the_disease_is_found(
    session: Session, game: GameIn
) -> None:
    problem = refusal(session, intake, an_intake(MOOSE, game=game))
    assert (problem.kind, problem.numbers["rule"]) == ("needs_reason", "CWD-HOLD")
    posted = taken(session, MOOSE, game, reason="a share of the team's animal")
    assert rules_of(session, posted)["CWD-HOLD"] in ("ask", "confirm")
    assert causes(session) == []


def test_a_region_that_is_not_listed_needs_no_reason(session: Session) -> None:
    taken(session, MOOSE, GameIn(cwd_listed=False, cwd_status=CwdStatus.NOT_PLANNED))


@pytest.mark.parametrize("rule_set", ["uk", "au"])
def test_elsewhere_nobody_is_asked_for_that_test(session: Session, rule_set: str) -> None:
    session.execute(update(Household).values(rule_set=rule_set))
    assert "CWD-HOLD" not in rules_of(session, taken(session, MOOSE, GameIn()))


@pytest.mark.parametrize(
    ("ammunition", "has_lead"),
    [
        (Ammunition.LEAD, True),
        (Ammunition.UNKNOWN, True),
        (Ammunition.LEAD_FREE, False),
        (Ammunition.NOT_SHOT, False),
    ],
)
def test_game_bears_the_mark_of_lead_unless_it_is_known_to_have_none(
    session: Session, ammunition: Ammunition, has_lead: bool
) -> None:
    posted = taken(session, HARE, GameIn(ammunition))
    assert ("lead" in marks(session, posted)) is has_lead


def test_a_wild_meat_eater_bears_the_mark_of_parasites(session: Session) -> None:
    posted = taken(session, BOAR, GameIn(Ammunition.LEAD_FREE))
    assert marks(session, posted) == {"parasite"}
    assert rules_of(session, posted)["TRICH-WILD"] == "note"


@pytest.mark.parametrize("food", [APPLES, TROUT, HUTCH_RABBIT, "10219"])
def test_what_nobody_hunted_has_neither_story_nor_marks(session: Session, food: str) -> None:
    posted = taken(session, food, GameIn(Ammunition.LEAD, looked_sick=True))
    assert marks(session, posted) == set()
    assert session.scalars(select(GameStory)).all() == []
    assert causes(session) == []


def test_a_carcass_that_was_slow_to_cool_needs_a_reason(session: Session) -> None:
    """Penn State Extension, venison (2022): to 40 °F (4.4 °C) as soon as possible; over a day
    asks how it was kept."""
    slow = GameIn(Ammunition.LEAD_FREE, cwd_status=CwdStatus.NOT_DETECTED, hours_to_cold=30.0)
    assert refusal(session, intake, an_intake(MOOSE, game=slow)).numbers["rule"] == "FIELD-COOL"


def test_fahrenheit_typed_as_celsius_is_asked_about_and_may_be_insisted_on(
    session: Session,
) -> None:
    story = GameIn(
        Ammunition.LEAD_FREE,
        cwd_status=CwdStatus.NOT_DETECTED,
        hours_to_cold=8.0,
        centre=Typed(38.0, "C", 38.0),
    )
    problem = refusal(session, intake, an_intake(MOOSE, game=story))
    assert problem.numbers["rule"] == "UNIT-ASK"
    assert "38 °F" in str(problem.numbers["sentence"])
    taken(session, MOOSE, story, reason="it was still warm")


def test_ground_game_says_that_lead_is_too_small_to_see(session: Session) -> None:
    story = GameIn(Ammunition.LEAD, cwd_status=CwdStatus.NOT_DETECTED)
    posted = taken(session, MOOSE, story, form=Form.GROUND)
    assert rules_of(session, posted)["LEAD"] == "note"


def test_mackerel_that_was_warm_too_long_is_not_taken_in(session: Session) -> None:
    """FDA Compliance Policy Guide 540.525 (2024): histamine is not removed by heat."""
    warm = an_intake(TROUT, name="Mackerel", warm_hours=3.0)
    assert refusal(session, intake, warm).numbers["rule"] == "FISH-HIST"
    do(session, intake, an_intake(TROUT, name="Mackerel", warm_hours=1.0))
    do(session, intake, an_intake(TROUT, name="Pond trout", warm_hours=3.0))
