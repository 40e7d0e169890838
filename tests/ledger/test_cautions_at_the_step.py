"""Rules that speak at the step itself: seasonings, machines, packages, thawing, eating."""

from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest
from sqlalchemy import select, update
from sqlalchemy.orm import Session

from app.ledger.game import GameIn
from app.ledger.models import Checkpoint, Household, Operation
from app.ledger.operations._post import Posted
from app.ledger.operations.blend import Blend, blend
from app.ledger.operations.cook import cook
from app.ledger.operations.grind import Grind, Part, grind
from app.ledger.operations.intake import intake
from app.ledger.operations.leave import FishEaten, Leave, eat, give
from app.ledger.operations.load import Load, load
from app.ledger.operations.mix import Mix, MixPart, Seasoning, Stuff, mix_lots
from app.ledger.operations.move import Move, move
from app.ledger.operations.pack import pack
from app.ledger.operations.portion import Portion, portion
from app.ledger.operations.thaw import Thaw, thaw
from app.ledger.operations.unload import DryMade, Unload, unload
from app.ledger.queries.allergens import is_fully_known
from app.ledger.queries.labels import label_records
from app.ledger.stock import StockRef
from app.ledger.temperatures import Typed
from app.ledger.words import Ammunition, Presence
from app.science.safety.fish import FishUse
from app.science.safety.game import CwdStatus
from app.science.safety.thawing import ThawWay
from tests.builders import (
    APPLES,
    BACK_FAT,
    BENCH,
    CC_300,
    CELERY,
    DEHYDRATOR,
    FOIL_POUCH,
    FREEZE_DRYER,
    FREEZER,
    FRIDGE,
    JAR,
    MOOSE,
    PANTRY,
    PORK,
    SWEETCORN,
    TODAY,
    TROUT,
    VACUUM_BAG,
    G,
    a_cook,
    a_pack,
    a_tray,
    allergens,
    an_intake,
    cooked,
    do,
    dried,
    loaded,
    lot_of,
    made,
    operation_of,
    refusal,
    refused_kinds,
    take_in,
    units,
)

MAY_CONTAIN = Presence.MAY_CONTAIN


def spoken(session: Session, operation_id: int) -> dict[str, str]:
    """Every rule that spoke at an operation, with its outcome."""
    query = select(Checkpoint.rule, Checkpoint.outcome).where(
        Checkpoint.operation_id == operation_id
    )
    return dict(session.execute(query).all())


def rule_against(session: Session, use_case: Any, request: Any) -> str:
    """The rule for which a request is refused."""
    return str(refusal(session, use_case, request).numbers["rule"])


def celsius(temp_c: float) -> Typed:
    """A temperature typed in degrees Celsius."""
    return Typed(temp_c, "C", temp_c)


# -- seasonings --------------------------------------------------------------------------------


def a_blend(session: Session, **changes: Any) -> Blend:
    lean, fat = take_in(session), take_in(session, BACK_FAT)
    request = Blend(
        lean, 1000 * G, fat, 200 * G, "Sausage", 1220 * G, FRIDGE, TODAY, seasoning_mg=20 * G
    )
    return replace(request, **changes)


def test_a_spice_whose_allergens_nobody_told_needs_a_reason(session: Session) -> None:
    request = a_blend(session, seasoning_words="sausage spice")
    assert rule_against(session, blend, request) == "ALG-UNKNOWN"
    written = made(do(session, blend, replace(request, reason="the packet is gone")), FRIDGE)
    assert not is_fully_known(session, written.lot_id)
    minced = grind_of(session, written)
    assert not is_fully_known(session, minced.lot_ids[0])
    (label,) = label_records(session, minced.lot_ids[0])
    assert label.may_contain == "Allergens not fully known."


def test_told_allergens_of_a_spice_go_into_the_blend(session: Session) -> None:
    told = frozenset({"mustard", "celery"})
    request = a_blend(session, seasoning_words="sausage spice", seasoning_allergens=told)
    posted = do(session, blend, request)
    sausage = made(posted, FRIDGE)
    assert allergens(session, sausage) == {"mustard", "celery"}
    assert spoken(session, posted.operation_id)["ALG-UNION"] == "note"
    assert is_fully_known(session, sausage.lot_id)


@pytest.mark.parametrize("words", ["salt", "", "Sea salt"])
def test_salt_is_asked_for_nothing(session: Session, words: str) -> None:
    do(session, blend, a_blend(session, seasoning_words=words))


def test_each_spice_of_a_mix_is_asked_for_its_allergens(session: Session) -> None:
    parts = (MixPart(take_in(session), 500 * G), MixPart(take_in(session, PORK), 500 * G))
    told = Seasoning("mustard seed", Stuff.SPICE, 0.01, frozenset({"mustard"}))
    untold = Seasoning("curry", Stuff.SPICE, 0.01)
    request = Mix(parts, "Sausage", 1020 * G, FRIDGE, TODAY, seasonings=(told, untold))
    problem = refusal(session, mix_lots, request)
    assert problem.numbers["rule"] == "ALG-UNKNOWN"
    assert "curry" in str(problem.numbers["sentence"])
    written = made(do(session, mix_lots, replace(request, reason="a market stall")), FRIDGE)
    assert allergens(session, written) == {"mustard"}


# -- machines ----------------------------------------------------------------------------------


def grind_of(session: Session, ref: StockRef, **changes: Any) -> Posted:
    request = Grind((Part(ref, 500 * G),), "Minced", 500 * G, FRIDGE, TODAY)
    posted: Posted = do(session, grind, replace(request, **changes))
    return posted


def test_a_grinder_that_was_not_cleaned_passes_allergens_on(session: Session) -> None:
    grind_of(session, take_in(session, PORK, allergens=frozenset({"mustard"})))
    after = grind_of(session, take_in(session), cleaned=False)
    assert allergens(session, made(after, FRIDGE), MAY_CONTAIN) == {"mustard"}
    assert spoken(session, after.operation_id)["ALG-CROSS"] == "note"


def test_a_clean_grinder_passes_nothing_on_and_says_so(session: Session) -> None:
    grind_of(session, take_in(session, PORK, allergens=frozenset({"mustard"})))
    after = grind_of(session, take_in(session), cleaned=True, note="for burgers")
    assert allergens(session, made(after, FRIDGE), MAY_CONTAIN) == set()
    assert operation_of(session, after).note == "Cleaned down before. for burgers"


def test_ready_food_after_raw_in_an_uncleaned_grinder_is_raw_if_at_all(session: Session) -> None:
    """MMWR 73(20) 2024: two fell ill who had eaten only the vegetables beside raw bear meat."""
    grind_of(session, take_in(session))
    ready = take_in(session, SWEETCORN)
    request = Grind((Part(ready, 500 * G),), "Corn", 500 * G, FRIDGE, TODAY, cleaned=False)
    assert rule_against(session, grind, request) == "RAW-SEPARATE"
    written = made(do(session, grind, replace(request, reason="for the same stew")), FRIDGE)
    assert lot_of(session, written).is_raw


def dry(session: Session, food: str, place: int = FREEZE_DRYER, **changes: Any) -> StockRef:
    """Food of the garden dried alone, from loading to unloading."""
    changes = {"cleaned": False} | changes
    ref = take_in(session, food, 500, **changes.pop("intake", {}))
    request = Load(place, (a_tray(ref, 500),), TODAY, **changes)
    _, run_id = do(session, load, request)
    done = do(session, unload, Unload(run_id, (DryMade(ref.lot_id, 60 * G),), BENCH, TODAY))
    return made(done, BENCH)


def test_walnuts_dried_before_pears_leave_their_trace_unless_it_was_cleaned(
    session: Session,
) -> None:
    dry(session, APPLES, intake={"allergens": frozenset({"nuts:walnut"})})
    assert allergens(session, dry(session, APPLES), MAY_CONTAIN) == {"nuts:walnut"}
    # the run before this one carried the trace on, and may have left it there again
    assert allergens(session, dry(session, APPLES), MAY_CONTAIN) == {"nuts:walnut"}
    assert allergens(session, dry(session, APPLES, cleaned=True), MAY_CONTAIN) == set()
    assert allergens(session, dry(session, APPLES, DEHYDRATOR), MAY_CONTAIN) == set()


def test_produce_after_raw_meat_in_an_uncleaned_dryer_is_raw(session: Session) -> None:
    meat = take_in(session)
    run_id = loaded(session, a_tray(meat, 1000))
    do(session, unload, Unload(run_id, (DryMade(meat.lot_id, 260 * G),), BENCH, TODAY))
    corn = take_in(session, SWEETCORN, 500)
    request = Load(FREEZE_DRYER, (a_tray(corn, 500),), TODAY, cleaned=False)
    assert rule_against(session, load, request) == "RAW-SEPARATE"
    _, run_id = do(session, load, replace(request, reason="cooked together later"))
    done = do(session, unload, Unload(run_id, (DryMade(corn.lot_id, 120 * G),), BENCH, TODAY))
    assert lot_of(session, made(done, BENCH)).is_raw


def test_what_shares_a_load_takes_up_nothing_of_the_run_before_when_nobody_was_asked(
    session: Session,
) -> None:
    dry(session, APPLES, intake={"allergens": frozenset({"nuts:walnut"})})
    assert allergens(session, dry(session, APPLES, cleaned=None), MAY_CONTAIN) == set()


def test_raw_produce_is_told_that_drying_does_not_clean(session: Session) -> None:
    """Journal of Food Protection 2021: freeze-drying takes at most 1 log of hepatitis A away."""
    posted, _ = do(
        session, load, Load(FREEZE_DRYER, (a_tray(take_in(session, APPLES), 500),), TODAY)
    )
    assert spoken(session, posted.operation_id) == {"FD-PRODUCE": "note"}


def test_air_too_cool_for_jerky_is_noted(session: Session) -> None:
    """FSIS, Jerky and Food Safety: heated strips are dried at 130 to 140 °F (54 to 60 °C)."""
    request = Load(
        DEHYDRATOR, (a_tray(cooked(session), 500),), TODAY, air=celsius(45.0), reason="frozen"
    )
    posted, _ = do(session, load, request)
    assert spoken(session, posted.operation_id)["JERKY-HEAT"] == "note"


def test_dryer_air_typed_in_the_wrong_unit_is_asked_about(session: Session) -> None:
    tray = a_tray(take_in(session, APPLES), 500)
    request = Load(DEHYDRATOR, (tray,), TODAY, air=celsius(140.0))
    assert "140 °F (60 °C)" in str(refusal(session, load, request).numbers["sentence"])
    do(session, load, replace(request, air=Typed(140.0, "F", 60.0)))


# -- half cooked, rehydrated -------------------------------------------------------------------


def half_cooked(session: Session) -> StockRef:
    """Meat that was heated, and nobody read its centre."""
    return made(do(session, cook, a_cook(take_in(session), 1000, 950, centre=None)), BENCH)


def test_half_cooked_food_is_frozen_dried_or_packed_only_with_a_reason(session: Session) -> None:
    ref = half_cooked(session)
    frozen = Move((ref,), FREEZER, TODAY)
    tray = Load(FREEZE_DRYER, (a_tray(ref, 500),), TODAY)
    vacuum = a_pack(ref, 500, packaging_id=VACUUM_BAG, place_id=FREEZER, reason="",
                    absorber_id=None, pressure_fraction=0.1)  # fmt: skip
    part = Portion(ref, 200 * G, "Supper", FREEZER, TODAY)
    for use_case, request in ((move, frozen), (load, tray), (pack, vacuum), (portion, part)):
        assert rule_against(session, use_case, request) == "COOK-PARTIAL"
    do(session, move, replace(frozen, reason="finished on Sunday"))


def test_food_cooked_through_after_all_is_asked_nothing(session: Session) -> None:
    finished = made(do(session, cook, a_cook(half_cooked(session), 950, 900)), BENCH)
    do(session, move, Move((finished,), FREEZER, TODAY))


def test_rehydrated_food_is_dried_or_sealed_again_only_with_a_reason(session: Session) -> None:
    dry_ref = dried(session)
    soaked = made(do(session, cook, a_cook(dry_ref, 260, 900, water_mg=640 * G,
                                           done_on=TODAY + timedelta(days=1))), BENCH)  # fmt: skip
    tray = Load(FREEZE_DRYER, (a_tray(soaked, 500),), TODAY + timedelta(days=1))
    assert rule_against(session, load, tray) == "REHY-REDRY"
    sealed = a_pack(soaked, 500, packaging_id=VACUUM_BAG, place_id=FREEZER, absorber_id=None,
                    pressure_fraction=0.1, reason="")  # fmt: skip
    assert rule_against(session, pack, sealed) == "REHY-REDRY"
    do(session, pack, replace(sealed, pressure_fraction=1.0))  # a bag with air in it


# -- packages ----------------------------------------------------------------------------------


def test_absorbers_that_lay_open_or_are_spent_need_a_reason(session: Session) -> None:
    ref = dried(session)
    for told in ({"minutes_open": 45.0}, {"absorber_is_spent": True}):
        request = a_pack(ref, 80, reason="", place_id=FREEZER, **told)
        assert rule_against(session, pack, request) == "ABS-EXPOSE"
    do(session, pack, a_pack(ref, 80, reason="", place_id=FREEZER, minutes_open=10.0))


def test_a_sealed_jar_is_told_that_it_is_not_canned(session: Session) -> None:
    posted = do(session, pack, a_pack(dried(session), 80, packaging_id=JAR))
    rules = spoken(session, posted.operation_id)
    assert (rules["JAR-VAC"], rules["ABS-NOEAT"]) == ("note", "note")


def test_a_package_said_to_be_canned_is_stopped_and_points_to_the_official_guide(
    session: Session,
) -> None:
    request = a_pack(dried(session), 80, packaging_id=JAR, note="pressure canned for 75 min")
    problem = refusal(session, pack, request)
    assert (problem.kind, problem.numbers["rule"]) == ("gate", "CAN-NONE")
    assert "use the current official guide" in str(problem.numbers["sentence"])


def test_a_note_that_speaks_of_curing_is_noted_and_stops_nothing(session: Session) -> None:
    request = a_pack(dried(session), 80, note="cured for a week first")
    assert spoken(session, do(session, pack, request).operation_id)["CAN-NONE"] == "note"


def vacuum(ref: StockRef, place: int, **changes: Any) -> Any:
    """A vacuum bag, packed on the same day."""
    told = {"packaging_id": VACUUM_BAG, "absorber_id": None, "pressure_fraction": 0.1,
            "reason": "", "done_on": TODAY, "place_id": place}  # fmt: skip
    return a_pack(ref, 400, **(told | changes))


def test_raw_fish_without_air_stays_frozen(session: Session) -> None:
    """Food Code 3-502.12(C): fish is frozen before, during and after."""
    trout = take_in(session, TROUT)
    assert refused_kinds(session, pack, vacuum(trout, FRIDGE, reason="for tomorrow")) == {"gate"}
    do(session, pack, vacuum(trout, FREEZER))


def test_a_vacuum_adds_no_days_in_the_refrigerator(session: Session) -> None:
    fresh = take_in(session)
    assert rule_against(session, pack, vacuum(fresh, FRIDGE)) == "ROP-FRIDGE"
    do(session, pack, vacuum(fresh, FRIDGE, reason="eaten tomorrow"))
    old = take_in(session, on=TODAY - timedelta(days=6))
    assert rule_against(session, pack, vacuum(old, FRIDGE, reason="it looks fine")) == "FRIDGE-DAYS"


def test_garlic_in_oil_never_goes_onto_a_shelf(session: Session) -> None:
    """NCHFP (2015): at 40 °F (4.4 °C) for 4 days at most, or frozen."""
    garlic = take_in(session, CELERY, 500, name="Garlic in oil", place=FRIDGE)
    jar = a_pack(garlic, 200, packaging_id=JAR, absorber_id=None, done_on=TODAY, reason="it is old")
    assert rule_against(session, pack, jar) == "OIL-GARLIC"
    assert rule_against(session, move, Move((garlic,), PANTRY, TODAY)) == "OIL-GARLIC"
    do(session, pack, replace(jar, place_id=FRIDGE))
    late = replace(jar, place_id=FRIDGE, done_on=TODAY + timedelta(days=5))
    assert rule_against(session, pack, late) == "OIL-GARLIC"


# -- thawing and eating ------------------------------------------------------------------------


def frozen_fish(session: Session) -> StockRef:
    """Pond trout in a vacuum bag in the freezer."""
    posted = do(session, pack, vacuum(take_in(session, TROUT), FREEZER))
    return units(posted, FREEZER)[0]


def test_fish_sealed_without_air_is_opened_before_it_thaws(session: Session) -> None:
    """Michigan State University: type E botulism grows in it from 38 °F (3.3 °C)."""
    request = Thaw(frozen_fish(session), 400 * G, ThawWay.REFRIGERATOR, FRIDGE, TODAY)
    assert rule_against(session, thaw, request) == "THAW-VACFISH"
    warm = replace(request, warmest=celsius(9.0), reason="it smelled fine")
    assert refusal(session, thaw, warm).kind == "gate"
    do(session, thaw, replace(request, pack_opened=True))


def test_loose_fish_and_meat_in_a_vacuum_thaw_without_that_question(session: Session) -> None:
    loose = take_in(session, TROUT, place=FREEZER)
    do(session, thaw, Thaw(loose, 400 * G, ThawWay.REFRIGERATOR, FRIDGE, TODAY))
    meat = units(do(session, pack, vacuum(take_in(session), FREEZER)), FREEZER)[0]
    do(session, thaw, Thaw(meat, 400 * G, ThawWay.REFRIGERATOR, FRIDGE, TODAY))


def raw_meal(ref: StockRef, **changes: Any) -> Leave:
    """Trout, eaten raw."""
    if "frozen_c" in changes:
        changes["frozen"] = celsius(changes.pop("frozen_c"))
    return Leave((ref,), TODAY, fish=FishEaten(FishUse.RAW, **changes))


def test_a_home_freezer_never_makes_fish_fit_to_eat_raw(session: Session) -> None:
    """Food Code 3-402.11: -20 °C for 7 days, in pieces up to 15 cm thick."""
    trout = take_in(session, TROUT)
    for frozen in ({}, {"frozen_c": -18.0, "frozen_days": 60.0, "thickness_m": 0.03}):
        assert rule_against(session, eat, raw_meal(trout, **frozen)) == "FISH-PARA"
    enough = {"frozen_c": -21.0, "frozen_days": 7.0}
    assert refusal(session, eat, raw_meal(trout, **enough)).kind == "needs_reason"  # how thick?
    posted = do(session, eat, raw_meal(trout, **enough, thickness_m=0.03))
    assert spoken(session, posted.operation_id) == {"FISH-PARA": "pass"}


def test_in_the_british_set_a_day_at_twenty_below_is_enough(session: Session) -> None:
    """Regulation (EC) 853/2004, Annex III: -20 °C for not less than 24 hours."""
    session.execute(update(Household).values(rule_set="uk"))
    do(session, eat, raw_meal(take_in(session, TROUT), frozen_c=-20.0, frozen_days=1.0,
                              thickness_m=0.03))  # fmt: skip


def test_minus_four_fahrenheit_typed_as_celsius_is_asked_about(session: Session) -> None:
    meal = raw_meal(take_in(session, TROUT), frozen_c=-4.0, frozen_days=8.0, thickness_m=0.03)
    assert rule_against(session, eat, meal) == "UNIT-ASK"


def test_cooked_fish_is_asked_nothing(session: Session) -> None:
    do(session, eat, Leave((take_in(session, TROUT),), TODAY))


@pytest.mark.parametrize("use_case", [eat, give])
def test_lead_is_said_wherever_such_meat_is_ground_eaten_or_given(
    session: Session, use_case: Any
) -> None:
    """Minnesota Department of Natural Resources 2008: fragments up to 18 inches from the wound."""
    story = GameIn(Ammunition.LEAD, cwd_status=CwdStatus.NOT_DETECTED)
    moose = made(do(session, intake, an_intake(MOOSE, game=story)), FRIDGE)
    ground = grind_of(session, moose)
    assert spoken(session, ground.operation_id)["LEAD"] == "note"
    left = do(session, use_case, Leave((made(ground, FRIDGE),), TODAY, words="Calum"))
    assert spoken(session, left.operation_id) == {"LEAD": "note"}
    (lot_id,) = session.scalars(
        select(Checkpoint.lot_id).where(Checkpoint.operation_id == left.operation_id)
    )
    assert lot_id == ground.lot_ids[0]


def test_every_rule_that_was_written_names_a_rule_and_its_version(session: Session) -> None:
    do(session, pack, a_pack(dried(session), 80, packaging_id=FOIL_POUCH, absorber_id=CC_300))
    rows = session.execute(
        select(Checkpoint.rule, Checkpoint.rule_version, Checkpoint.sentence)
        .join(Operation, Operation.id == Checkpoint.operation_id)
        .where(Operation.kind == "pack")
    ).all()
    assert rows
    assert all(version and sentence and "{" not in sentence for _, version, sentence in rows)
