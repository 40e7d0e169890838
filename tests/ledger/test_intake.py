"""Intake: food comes in, weighed bowl by bowl."""

from datetime import date, timedelta
from typing import Any

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from app.ledger.models import Checkpoint, Source, Weighing
from app.ledger.operations.intake import SourceIn, intake
from app.ledger.words import CompositionBasis, SourceKind
from app.science.foods import food
from app.science.packaging import PackagingKind
from tests.builders import (
    AILSA,
    APPLES,
    BACK_FAT,
    CELERY,
    FREEZER,
    FRIDGE,
    MOOSE,
    TODAY,
    TROUT,
    G,
    added,
    allergens,
    an_intake,
    bowl,
    do,
    evening,
    lot_of,
    made,
    on_hand,
    operation_of,
    refusal,
    refused_kinds,
    take_in,
)


def test_the_bowls_of_a_tally_sum_to_the_lot_to_the_milligram(session: Session) -> None:
    bowls = tuple(bowl(net_g) for net_g in (853, 2721, 1862, 1759, 1585))
    posted = do(session, intake, an_intake(bowls=bowls))
    assert on_hand(session, made(posted, FRIDGE)) == 8_780_000
    assert added(session, posted) == {"intake": 8_780_000}


def test_each_bowl_is_kept_as_it_was_typed(session: Session) -> None:
    posted = do(session, intake, an_intake(bowls=(bowl(853, 120), bowl(2721, 0))))
    of_this = select(Weighing).where(Weighing.operation_id == posted.operation_id)
    rows = session.scalars(of_this.order_by(Weighing.ordinal))
    assert [(r.ordinal, r.gross_typed, r.tare_typed, r.gross_mg - r.tare_mg) for r in rows] == [
        (1, "973 g", "120 g", 853 * G),
        (2, "2721 g", "0 g", 2721 * G),
    ]


def test_it_says_who_wrote_it_and_when(session: Session) -> None:
    operation = operation_of(session, do(session, intake, an_intake(note="hung for five days")))
    session.expire_all()
    assert (operation.person_id, operation.done_on) == (AILSA, TODAY)
    assert operation.recorded_at == evening(TODAY)
    assert operation.note == "hung for five days"


def test_the_source_keeps_tag_and_giver(session: Session) -> None:
    told = SourceIn(SourceKind.ANIMAL, "Moose share", "A-117", "Hunting team", taken_with_lead=True)
    ref = take_in(session, source=told)
    source = session.get_one(Source, lot_of(session, ref).source_id)
    assert (source.kind, source.tag, source.from_whom) == ("animal", "A-117", "Hunting team")
    assert source.taken_with_lead


def test_animal_food_is_raw_unless_said_otherwise_and_produce_never_is(session: Session) -> None:
    assert lot_of(session, take_in(session)).is_raw
    assert not lot_of(session, take_in(session, is_raw=False)).is_raw
    assert not lot_of(session, take_in(session, APPLES)).is_raw
    assert not lot_of(session, take_in(session, APPLES, is_raw=True)).is_raw


def test_composition_comes_from_the_table(session: Session) -> None:
    lot = lot_of(session, take_in(session))
    assert (lot.water, lot.protein, lot.fat) == (
        food(MOOSE).composition.water,
        food(MOOSE).composition.protein,
        food(MOOSE).composition.fat,
    )
    assert lot.composition_basis == CompositionBasis.TABLE


def test_a_known_fat_content_replaces_the_table_and_leaves_the_lean_in_proportion(
    session: Session,
) -> None:
    lot, table = lot_of(session, take_in(session, fat_fraction=0.10)), food(MOOSE).composition
    assert lot.fat == 0.10
    assert lot.water / lot.protein == pytest.approx(table.water / table.protein)
    assert lot.composition_basis == CompositionBasis.MEASURED
    parts = lot.water + lot.protein + lot.fat + lot.carbohydrate + lot.ash
    table_parts = table.water + table.protein + table.fat + table.carbohydrate + table.ash
    assert parts == pytest.approx(0.10 + 0.90 * (table_parts - table.fat) / (1 - table.fat))


@pytest.mark.parametrize("fraction", [-0.01, 1.01, float("nan")])
def test_a_fat_content_that_is_none_is_refused(session: Session, fraction: float) -> None:
    problem = refusal(session, intake, an_intake(BACK_FAT, fat_fraction=fraction))
    assert (problem.field, problem.kind) == ("fat_fraction", "impossible")


def test_allergens_named_at_intake_stay_with_the_lot(session: Session) -> None:
    ref = take_in(session, allergens=frozenset({"celery", "milk"}))
    assert allergens(session, ref) == {"celery", "milk"}


def test_food_that_is_an_allergen_marks_itself(session: Session) -> None:
    assert allergens(session, take_in(session, CELERY)) == {"celery"}
    assert "fish" in {
        mark.partition(":")[0] for mark in allergens(session, take_in(session, TROUT))
    }


def test_loose_food_is_bagged_in_the_freezer_and_in_a_tub_elsewhere(session: Session) -> None:
    assert lot_of(session, take_in(session, place=FREEZER)).wrap == PackagingKind.ZIP_BAG
    assert lot_of(session, take_in(session, place=FRIDGE)).wrap == PackagingKind.TUB
    paper = take_in(session, place=FREEZER, wrap=PackagingKind.BUTCHER_PAPER)
    assert lot_of(session, paper).wrap == PackagingKind.BUTCHER_PAPER


def test_an_old_packet_keeps_the_day_its_keeping_began(session: Session) -> None:
    frozen_on = date(2023, 11, 5)
    lot = lot_of(session, take_in(session, place=FREEZER, kept_since=frozen_on))
    assert lot.kept_since == frozen_on


def test_what_the_rules_say_of_game_is_recorded_with_it(session: Session) -> None:
    posted = do(session, intake, an_intake())
    rules = set(
        session.scalars(
            select(Checkpoint.rule).where(Checkpoint.operation_id == posted.operation_id)
        )
    )
    assert "CWD-HOLD" in rules


@pytest.mark.parametrize(
    ("changes", "field", "kind"),
    [
        ({"bowls": ()}, "bowls", "missing"),
        ({"bowls": (bowl(-20),)}, "bowls[0].tare", "tare_above_gross"),
        ({"bowls": (bowl(500), bowl(0))}, "bowls[1].tare", "tare_above_gross"),
        ({"on": TODAY + timedelta(days=1)}, "done_on", "in_future"),
        (
            {"harvest": (TODAY + timedelta(days=1), TODAY + timedelta(days=1))},
            "done_on",
            "before_harvest",
        ),
        ({"kept_since": TODAY + timedelta(days=1)}, "kept_since", "in_future"),
        ({"place": 99}, "place_id", "unknown_place"),
        ({"food": "99999"}, "food_ndb", "unknown_choice"),
    ],
)
def test_what_cannot_be_is_refused_beside_its_field(
    session: Session, changes: dict[str, Any], field: str, kind: str
) -> None:
    at_noon = {"on": TODAY} | changes
    request = an_intake(**at_noon)
    with pytest.MonkeyPatch.context() as clock:  # the evening of today, whatever day is typed
        clock.setattr("tests.builders.evening", lambda _on: evening(TODAY))
        problem = refusal(session, intake, request)
    assert (problem.field, problem.kind) == (field, kind)


def test_every_impossible_bowl_is_named_at_once(session: Session) -> None:
    kinds = refused_kinds(session, intake, an_intake(bowls=(bowl(-1), bowl(100), bowl(-2))))
    assert kinds == {"tare_above_gross"}


def test_today_is_the_households_day_not_utc(session: Session) -> None:
    """In June half past eleven in the evening UTC is tomorrow in London."""
    late = evening(date(2025, 6, 1)) + timedelta(hours=5, minutes=30)
    posted = intake(session, an_intake(on=date(2025, 6, 2)), at=late, by=AILSA)
    assert operation_of(session, posted).done_on == date(2025, 6, 2)
