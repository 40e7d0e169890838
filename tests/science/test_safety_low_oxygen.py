"""Packing without oxygen: the wet end decides, and unknown is never dry."""

from math import inf, nan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.science.classes import FoodClass
from app.science.errors import OutOfRange
from app.science.safety.low_oxygen import Kept, not_covered, oxygen_free_pack, under_oil
from app.science.safety.rule import Outcome, allows


def said(verdicts):
    return [(v.id, v.outcome.value) for v in verdicts]


def pack(food=FoodClass.GAME, fat=0.08, low=0.03, high=0.04, **more):
    known = {"moisture_is_measured": True} | more
    return oxygen_free_pack(food, fat_fraction=fat, water_low=low, water_high=high, **known)


def test_a_water_activity_of_0_86_stops():
    # 21 CFR 114.3: 0.85.
    verdicts = pack(low=None, high=None, water_activity=0.86)
    assert said(verdicts) == [("ROP-WET", "stop")]
    assert "cannot be seen or smelled" in verdicts[0].sentence
    assert said(pack(low=None, high=None, water_activity=0.85, planned_years=0.05))[0][1] == "pass"


def test_lean_meat_of_4_percent_water_passes():
    # Utah State University: 10 % of the fat-free part; 0.04 / 0.92 = 4.3 %.
    verdicts = pack()
    assert said(verdicts) == [("ROP-WET", "pass")]
    assert "4.3 % water" in verdicts[0].sentence


def test_fat_hides_no_water():
    # 0.08 / (1 − 0.20) is 10.0 %, at the line; with one more gram of fat it is over.
    at_the_line = pack(fat=0.20, low=0.08, high=0.08, water_activity=0.65)
    assert said(at_the_line) == [("ROP-WET", "pass"), ("ROP-MARGIN", "confirm")]
    assert said(pack(fat=0.21, low=0.08, high=0.08))[0] == ("ROP-WET", "stop")


def test_one_weighing_and_no_moisture_is_unknown():
    # Our judgement.
    assert said(pack(low=None, high=None)) == [("ROP-UNKNOWN", "stop")]
    assert said(pack(low=None, high=None, weighings_agree=True)) == [("ROP-UNKNOWN", "confirm")]


def test_fruit_of_0_72_for_two_years_asks_why():
    # No growth at or below 0.60: table after Beuchat 1981.
    fruit = pack(FoodClass.FRUIT, 0.0, 0.05, 0.08, water_activity=0.72, planned_years=2.0)
    assert said(fruit) == [("ROP-WET", "pass"), ("ROP-MARGIN", "confirm")]
    soon = pack(FoodClass.FRUIT, 0.0, 0.05, 0.08, water_activity=0.72, planned_years=0.05)
    assert said(soon) == [("ROP-WET", "pass")]


def test_a_computed_range_counts_by_its_wet_end():
    # Our judgement.
    verdicts = pack(fat=0.02, low=0.07, high=0.12, moisture_is_measured=False)
    assert said(verdicts) == [("ROP-WET", "stop"), ("ROP-COMPUTED", "note")]
    assert "7 to 12 % water" in verdicts[1].sentence


def test_sour_tomato_is_still_too_wet():
    # 21 CFR 114.3: pH 4.6, water activity 0.85.
    verdicts = pack(FoodClass.VEGETABLE, 0.0, 0.3, 0.4, water_activity=0.92, ph=4.3)
    assert said(verdicts) == [("ROP-WET", "stop"), ("ROP-ACID", "note")]


def test_walnuts_for_ten_years_are_a_question_of_taste():
    # Utah State University, foods not for long storage.
    nuts = pack(FoodClass.GRAIN_LEGUME, 0.65, 0.02, 0.03, planned_years=10.0)
    assert said(nuts) == [("ROP-WET", "pass"), ("ROP-FAT", "confirm")]
    rice = pack(FoodClass.GRAIN_LEGUME, 0.03, 0.05, 0.06, planned_years=10.0, is_oily=True)
    assert said(rice)[-1] == ("ROP-FAT", "confirm")


def test_raw_salmon_in_a_vacuum_stays_frozen():
    # Food Code 3-502.12(C).
    moist = {"fat": 0.1, "low": 0.7, "high": 0.72, "raw": True, "is_vacuum": True}
    assert ("ROP-FISH", "stop") in said(pack(FoodClass.FISH_FATTY, kept=Kept.FRIDGE, **moist))
    frozen = pack(FoodClass.FISH_FATTY, kept=Kept.FREEZER, **moist)
    assert ("ROP-FISH", "stop") not in said(frozen)


def test_a_vacuum_adds_no_fridge_days():
    # FoodSafety.gov, leftovers 3 to 4 days; 7 Pa. Code 46.402.
    stew = {"fat": 0.05, "low": 0.7, "high": 0.75, "is_vacuum": True, "kept": Kept.FRIDGE}
    fifth = said(pack(FoodClass.DISH, fridge_days=5, **stew))
    assert fifth == [("VAC-NOT", "note"), ("ROP-FRIDGE", "confirm"), ("FRIDGE-DAYS", "stop")]
    assert said(pack(FoodClass.DISH, fridge_days=None, **stew))[-1] == ("FRIDGE-DAYS", "confirm")
    assert said(pack(FoodClass.DISH, fridge_days=3, **stew))[-1] == ("ROP-FRIDGE", "confirm")


def test_raw_beef_in_a_shelf_vacuum_stops():
    # Utah State University; 21 CFR 114.3.
    beef = pack(FoodClass.RED_MEAT, 0.1, 0.68, 0.7, raw=True, is_vacuum=True)
    assert said(beef) == [("VAC-NOT", "note"), ("ROP-WET", "stop")]


def test_moist_beans_in_a_vacuum_jar_stop():
    # Utah State University: wet foods are not kept in sealed jars on the shelf.
    beans = pack(FoodClass.GRAIN_LEGUME, 0.01, 0.6, 0.65, is_vacuum=True)
    assert ("ROP-WET", "stop") in said(beans)


def test_canning_is_answered_with_the_official_guide():
    assert said(not_covered("pressure canning for 75 min")) == [("CAN-NONE", "stop")]


def test_raw_dry_meat_keeps_its_note_in_the_pouch():
    # Kansas State University 2021.
    assert said(pack(raw=True)) == [("ROP-WET", "pass"), ("FD-RAW", "note")]


@pytest.mark.parametrize(
    ("kept", "days", "fridge_c", "outcome"),
    [
        (Kept.SHELF, 1, None, "stop"),
        (Kept.FRIDGE, 4, None, "pass"),
        (Kept.FRIDGE, 4.1, None, "stop"),
        (Kept.FRIDGE, None, None, "stop"),
        (Kept.FRIDGE, 2, 6.0, "stop"),
    ],
)
def test_garlic_under_oil_has_four_cold_days(kept, days, fridge_c, outcome):
    # National Center for Home Food Preservation, reviewed 2015.
    assert said(under_oil(kept, days, fridge_c)) == [("OIL-GARLIC", outcome)]
    assert under_oil(Kept.FREEZER, None) == ()


@pytest.mark.parametrize("missing", [None, nan, inf])
def test_a_missing_wet_end_or_a_missing_fat_is_unknown(missing):
    assert said(pack(high=missing)) == [("ROP-UNKNOWN", "stop")]
    assert said(pack(fat=missing)) == [("ROP-UNKNOWN", "stop")]


def test_per_cent_typed_as_a_fraction_is_refused():
    with pytest.raises(OutOfRange):
        pack(high=4.0)
    with pytest.raises(OutOfRange):
        pack(water_activity=-0.1)


def test_a_range_typed_upside_down_counts_by_its_wetter_end():
    assert said(pack(low=0.3, high=0.04))[0] == ("ROP-WET", "stop")


fractions = st.one_of(st.none(), st.floats(0, 1), st.just(nan))


@given(fractions, fractions, fractions, fractions, st.sampled_from(list(FoodClass)))
def test_whatever_is_known_a_shelf_pack_is_allowed_only_when_proven_dry(fat, low, high, aw, food):
    verdicts = oxygen_free_pack(
        food, fat_fraction=fat, water_low=low, water_high=high, water_activity=aw
    )
    assert all(v.sentence for v in verdicts)
    gates = [v.outcome for v in verdicts if v.id in ("ROP-WET", "ROP-UNKNOWN")]
    assert len(gates) == 1
    if gates == [Outcome.PASS]:
        dry_by_aw = aw is not None and aw <= 0.85
        dry_by_water = high is not None and fat is not None and high <= 0.1 * (1 - fat) + 1e-8
        assert dry_by_aw or dry_by_water
        assert not (aw is not None and aw > 0.85)


@given(st.floats(0, 0.6), st.floats(0, 0.5), st.floats(0, 0.4))
def test_more_water_never_opens_the_gate(fat, water, more):
    wetter = pack(fat=fat, low=0.0, high=min(1.0, water + more), planned_years=0.05)
    if allows(wetter):
        assert allows(pack(fat=fat, low=0.0, high=water, planned_years=0.05))
