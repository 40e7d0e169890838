"""Eat first, narrowed: by place, food, raw or ready, package, and what is to be avoided."""

from datetime import date, timedelta

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from app.ledger.models import Checkpoint
from app.ledger.operations.blend import Blend, blend
from app.ledger.operations.cook import cook
from app.ledger.operations.correct import Correct, correct
from app.ledger.operations.hold import PutOnHold, hold
from app.ledger.operations.intake import SourceIn
from app.ledger.operations.mix import Mix, MixPart, mix_lots
from app.ledger.operations.open import Open, open_package
from app.ledger.operations.portion import Portion, portion
from app.ledger.operations.unload import DryMade, Unload, unload
from app.ledger.queries.allergens import is_fully_known
from app.ledger.queries.eat_first import (
    PORTION_KG,
    EatFirst,
    Group,
    Readiness,
    Serves,
    Wanted,
    eat_first,
    served_kg,
)
from app.ledger.queries.labels import label_records
from app.ledger.queries.stock import StockLine
from app.ledger.stock import StockRef
from app.ledger.words import HoldCause, SourceKind
from app.science.classes import FoodClass
from app.science.safety.allergens import AllergenGroup
from tests.builders import (
    BACK_FAT,
    BEANS,
    BENCH,
    CELERY,
    FREEZER,
    FRIDGE,
    OLD,
    PANTRY,
    SWEETCORN,
    TODAY,
    TROUT,
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

STEW, MILK = "22905", "01077"
UNSURE = "Allergens not fully known."
SHOP = SourceIn(SourceKind.SHOP, "Village shop")


def refs(found: EatFirst) -> set[StockRef]:
    return {ref for _, lines in found.groups for line in lines for ref in line.refs}


def groups(session: Session, today: date = TODAY) -> dict[Group, list[StockLine]]:
    return {group: list(lines) for group, lines in eat_first(session, today).groups}


def without(session: Session, *avoided: AllergenGroup) -> EatFirst:
    return eat_first(session, TODAY, Wanted(without=frozenset(avoided)))


def mince(session: Session, spice: str, allergens: frozenset[str] | None, reason: str) -> StockRef:
    """Meat and fat with a seasoning, blended in the fridge."""
    meat, fat = take_in(session), take_in(session, BACK_FAT, 500)
    request = Blend(
        ref=meat,
        mass_mg=1000 * G,
        other_ref=fat,
        other_mass_mg=500 * G,
        made_mg=1520 * G,
        name="Mince",
        place_id=FRIDGE,
        done_on=TODAY,
        seasoning_mg=20 * G,
        seasoning_words=spice,
        seasoning_allergens=allergens,
        reason=reason,
    )
    return made(do(session, blend, request), FRIDGE)


# -- groups --------------------------------------------------------------------------------------


def test_dry_food_past_its_late_end_stands_by_itself(session: Session) -> None:
    take_in(session, place=FRIDGE)
    assert list(groups(session, TODAY + timedelta(days=60))) == [Group.PAST]


def test_frozen_food_past_its_late_end_is_to_be_processed_all_the_more(session: Session) -> None:
    take_in(session, place=FREEZER)
    assert list(groups(session, TODAY + timedelta(days=4000))) == [Group.PROCESS]


def test_what_gets_no_date_until_it_is_seen_to_stands_for_today(session: Session) -> None:
    warm = cooked(session)
    (line,) = groups(session)[Group.NOW]
    assert line.ref == warm
    assert line.limit_word == "perishable_at_room"


def test_what_is_opened_comes_before_all_else(session: Session) -> None:
    take_in(session, place=FRIDGE)
    first, *_ = pouches(session)
    day = TODAY + timedelta(days=1)
    do(session, open_package, Open((first,), day))
    assert next(iter(groups(session, day))) is Group.OPENED


def test_a_published_limit_goes_before_an_estimate_that_ends_sooner(session: Session) -> None:
    """A pouch whose early end was yesterday can wait; the refrigerator cannot."""
    pouch, *_ = pouches(session)
    window = groups(session)[Group.LATER][0].window
    assert window is not None
    assert not window.is_fixed
    day = window.early + timedelta(days=1)
    meat = take_in(session, place=FRIDGE, on=day)
    found = groups(session, day)[Group.THIS_WEEK]
    assert [line.ref for line in found] == [meat, pouch]


# -- what is wanted ------------------------------------------------------------------------------


def test_a_place_a_food_and_raw_or_ready_each_narrow_the_list(session: Session) -> None:
    meat, corn = take_in(session, place=FREEZER), take_in(session, SWEETCORN, place=FREEZER)
    pot = a_pot(session)
    wanted = {
        Wanted(place_id=FREEZER): {meat, corn},
        Wanted(place_id=PANTRY): set(),
        Wanted(foods=frozenset({FoodClass.VEGETABLE})): {corn},
        Wanted(readiness=Readiness.RAW): {meat},
        Wanted(readiness=Readiness.READY): {corn, pot},
        Wanted(place_id=FREEZER, readiness=Readiness.READY): {corn},
    }
    for asked, expected in wanted.items():
        assert refs(eat_first(session, TODAY, asked)) == expected, asked


def test_what_there_is_to_choose_from_does_not_shrink_with_the_choice(session: Session) -> None:
    take_in(session, place=FREEZER)
    take_in(session, BEANS, place=FRIDGE)
    found = eat_first(session, TODAY, Wanted(place_id=FREEZER))
    assert [place for place, _ in found.places] == [FREEZER, FRIDGE]
    assert found.foods == {FoodClass.GAME, FoodClass.VEGETABLE}
    assert found.lot_count == 1


@pytest.mark.parametrize(
    ("net_kg", "water", "fresh"), [(0.08, 0.02, 0.65), (0.2, 0.04, 0.9), (0.5, 0.1, 0.7)]
)
def test_dried_food_counts_with_water_but_never_more_than_it_lost(
    net_kg: float, water: float, fresh: float
) -> None:
    """The solids stay: as served it weighs at most m (1 - w) / (1 - w0)."""
    served = served_kg(net_kg, water, fresh)
    assert net_kg < served <= net_kg * (1 - water) / (1 - fresh) + 1e-9


def test_food_that_was_not_dried_counts_as_it_weighs() -> None:
    assert served_kg(0.3, 0.7, None) == 0.3
    assert served_kg(0.3, 0.7, 0.5) == 0.3  # wetter now than before: nothing is taken back


def test_small_dry_pouches_feed_more_than_their_weight(session: Session) -> None:
    """By weight alone 80 g would be a fourth of a portion; with its water it is near one."""
    small = set(pouches(session, 80, 80))
    big = set(pouches(session, 300, 300))
    assert 3.0 * PORTION_KG.value > 2 * 0.300  # by net weight it would not feed four
    found = {s: refs(eat_first(session, TODAY, Wanted(serves=s))) for s in Serves}
    assert small <= found[Serves.ONE]
    assert not small & (found[Serves.TWO] | found[Serves.FOUR])
    assert not big & found[Serves.ONE]
    assert big <= found[Serves.TWO] | found[Serves.FOUR]


def test_of_loose_food_any_amount_is_taken_if_there_is_enough(session: Session) -> None:
    much, little = take_in(session, mass_g=5000), take_in(session, BEANS, 200)
    found = {s: refs(eat_first(session, TODAY, Wanted(serves=s))) for s in Serves}
    assert {s for s, found_refs in found.items() if much in found_refs} == set(Serves)
    assert {s for s, found_refs in found.items() if little in found_refs} == {Serves.ONE}


# -- what is to be avoided -----------------------------------------------------------------------


def test_what_contains_an_allergen_is_left_out_and_counted(session: Session) -> None:
    fish, meat = take_in(session, TROUT), take_in(session)
    celery = take_in(session, CELERY)
    found = without(session, AllergenGroup.FISH)
    assert refs(found) == {meat, celery}
    assert (found.with_allergen, found.untold, found.lot_count) == (1, (), 2)
    assert refs(without(session, AllergenGroup.FISH, AllergenGroup.CELERY)) == {meat}
    assert fish in refs(without(session, AllergenGroup.MILK))


def test_what_may_contain_it_is_left_out_too(session: Session) -> None:
    """Crumbs of the neighbour's tray: the fish went through the dryer beside the meat."""
    fish, meat = take_in(session, TROUT), cooked(session)
    run = loaded(session, a_tray(fish, 1000), a_tray(meat, 1000), reason="both at once")
    request = Unload(
        run, (DryMade(fish.lot_id, 250 * G), DryMade(meat.lot_id, 260 * G)), BENCH, TODAY
    )
    posted = do(session, unload, request)
    dry = {made(posted, BENCH, nth) for nth in (0, 1)}
    assert not dry & refs(without(session, AllergenGroup.FISH))
    assert without(session, AllergenGroup.FISH).with_allergen == 2


def test_a_seasoning_that_nobody_told_of_is_no_proof_of_anything(session: Session) -> None:
    untold = mince(session, "Sausage spice", None, "the packet is gone")
    told = mince(session, "Herbs", frozenset(), "")
    mustard = mince(session, "Rub", frozenset({"mustard"}), "")
    salted = mince(session, "Salt", None, "")
    found = without(session, AllergenGroup.MUSTARD)
    assert refs(found) == {told, salted}
    assert [line.ref for line in found.untold] == [untold]
    assert refs(without(session)) == {untold, told, mustard, salted}  # nothing to avoid


def test_what_was_made_of_it_is_not_known_either_until_that_is_taken_back(
    session: Session,
) -> None:
    untold = mince(session, "Sausage spice", None, "the packet is gone")
    posted = do(session, cook, a_cook(untold, 1520, 1500))
    found = without(session, AllergenGroup.MUSTARD)
    assert [line.lot_id for line in found.untold] == list(posted.lot_ids)
    do(session, correct, Correct(posted.operation_id, TODAY))
    assert [line.ref for line in without(session, AllergenGroup.MUSTARD).untold] == [untold]


def test_a_bought_dish_without_a_ticked_allergen_is_not_known(session: Session) -> None:
    stew = take_in(session, STEW, name="Beef stew", source=SHOP)
    ticked = take_in(session, STEW, source=SHOP, allergens=frozenset({"gluten"}))
    plain = take_in(session, MILK, source=SHOP)
    found = without(session, AllergenGroup.MUSTARD)
    assert refs(found) == {ticked, plain}
    assert [line.ref for line in found.untold] == [stew]
    assert refs(without(session, AllergenGroup.GLUTEN)) == {plain}


def test_a_bought_dish_whose_packet_names_none_is_free_of_all(session: Session) -> None:
    stew = take_in(session, STEW, name="Beef stew", source=SHOP, allergens=frozenset())
    posted = do(session, portion, Portion(stew, 300 * G, "Beef stew", FRIDGE, TODAY))
    found = without(session, *AllergenGroup)
    assert refs(found) == {stew, made(posted, FRIDGE)}
    assert found.untold == ()
    spoken = session.scalars(select(Checkpoint.sentence).where(Checkpoint.rule == "ALG-NONE"))
    assert spoken.one().startswith("None of the fourteen allergens")


def test_a_mixture_with_something_that_nobody_looked_at_is_not_known(session: Session) -> None:
    told = take_in(session, STEW, source=SHOP, allergens=frozenset())
    untold = take_in(session, STEW, source=SHOP)
    parts = (MixPart(told, 100 * G), MixPart(untold, 100 * G))
    both = made(do(session, mix_lots, Mix(parts, "Both", 200 * G, FRIDGE, TODAY)), FRIDGE)
    found = without(session, AllergenGroup.MUSTARD)
    assert both in {line.ref for line in found.untold}


def test_fish_is_fish_whatever_was_ticked(session: Session) -> None:
    take_in(session, TROUT, source=SHOP, allergens=frozenset())
    spoken = session.scalars(select(Checkpoint.sentence).where(Checkpoint.rule == "ALG-NONE"))
    assert spoken.all() == []


def test_label_and_page_know_as_much_as_the_list_does(session: Session) -> None:
    told = take_in(session, STEW, source=SHOP, allergens=frozenset())
    untold = take_in(session, STEW, source=SHOP)
    parts = (MixPart(told, 100 * G), MixPart(untold, 100 * G))
    both = made(do(session, mix_lots, Mix(parts, "Both", 200 * G, FRIDGE, TODAY)), FRIDGE)
    known = {ref: is_fully_known(session, ref.lot_id) for ref in (told, untold, both)}
    assert known == {told: True, untold: False, both: False}
    words = {ref: label_records(session, ref.lot_id)[0].may_contain for ref in known}
    assert words == {told: "", untold: UNSURE, both: UNSURE}


def test_bought_salt_is_what_it_is(session: Session) -> None:
    salt = take_in(session, "02047", name="Salt", source=SHOP, place=PANTRY)
    assert salt in refs(without(session, AllergenGroup.MUSTARD))


def test_held_food_stays_on_hold_whatever_is_wanted(session: Session) -> None:
    meat = take_in(session, place=FREEZER, kept_since=OLD)
    do(session, hold, PutOnHold((meat.lot_id,), HoldCause.RECALL, TODAY, words="the bags"))
    found = eat_first(session, TODAY, Wanted(place_id=FREEZER))
    assert [group for group, _ in found.groups] == [Group.ON_HOLD]


def test_nothing_chosen_is_everything() -> None:
    assert Wanted().is_any
    assert not Wanted(serves=Serves.ONE).is_any


def test_dried_food_that_lies_loose_is_there(session: Session) -> None:
    dry = dried(session)
    assert dry in refs(eat_first(session, TODAY, Wanted(serves=Serves.ONE)))
