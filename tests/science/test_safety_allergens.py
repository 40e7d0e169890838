"""Allergens: nothing takes one away."""

from math import nan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.science.errors import OutOfRange
from app.science.safety.allergens import (
    EU_14,
    US_9,
    Allergen,
    AllergenGroup,
    cross_contact,
    crossed,
    kept,
    label_text,
    looked_for,
    merged,
    printed,
    sulphite,
    union,
    unknown_ingredient,
)
from app.science.safety.rule import RuleSet

G = AllergenGroup
CELERY, TROUT, WALNUT = Allergen(G.CELERY), Allergen(G.FISH, "trout"), Allergen(G.NUTS, "walnut")
allergens = st.frozensets(
    st.builds(Allergen, st.sampled_from(list(G)), st.sampled_from(["", "trout", "rye", "wheat"]))
)


def said(verdicts):
    return [(v.id, v.outcome.value) for v in verdicts]


def test_celery_in_the_stock_is_on_every_output():
    # Regulation (EU) 1169/2011, Annex II; not among the nine of the US.
    blend = union([], union(union([CELERY], []), []))
    assert label_text(blend, RuleSet.UK) == "Contains celery."
    assert label_text(blend, RuleSet.US) == ""
    assert CELERY in blend, "stored, though not printed"
    assert said(merged([CELERY], [])) == [("ALG-UNION", "note")]
    assert merged([], []) == ()


def test_an_operation_that_drops_an_allergen_stops():
    assert said(kept([CELERY, TROUT], [TROUT])) == [("ALG-NEVER", "stop")]
    assert "celery" in kept([CELERY], [])[0].sentence
    assert kept([CELERY], [CELERY, TROUT]) == ()


@given(allergens, allergens, allergens)
def test_a_union_loses_nothing_in_any_order(a, b, c):
    assert union(a, b, c) == union(union(c, a), b) == a | b | c
    assert kept(a, union(a, b)) == ()


@given(allergens, st.sampled_from(list(RuleSet)))
def test_every_group_of_the_regions_list_is_printed(held, region):
    for one in held:
        is_listed = region is not RuleSet.US or (
            one.group in US_9 and (one.group is not G.GLUTEN or one.kind in ("wheat", ""))
        )
        assert (one in printed(held, region)) is is_listed


def test_the_us_nine_and_what_is_not_among_them():
    # FALCPA 2004, FASTER Act 2021.
    assert len(US_9) == 9
    absent = {G.CELERY, G.MUSTARD, G.LUPIN, G.MOLLUSCS, G.SULPHITES}
    assert set(EU_14) - set(US_9) == absent
    for kind in ("rye", "barley", "oats"):
        assert printed([Allergen(G.GLUTEN, kind)], RuleSet.US) == ()
        assert printed([Allergen(G.GLUTEN, kind)], RuleSet.UK) != ()
    assert printed([Allergen(G.GLUTEN, "spelt")], RuleSet.US) != ()


def test_places_whose_list_we_have_not_opened_print_all_fourteen():
    assert label_text([Allergen(G.LUPIN)], RuleSet.CA) == "Contains lupin."
    assert label_text([Allergen(G.MUSTARD)], RuleSet.AU) == "Contains mustard."


@pytest.mark.parametrize("recorded", [False, None])
def test_a_spice_mix_without_a_record_is_confirmed_and_printed(recorded):
    assert said(unknown_ingredient("spice mix", is_recorded=recorded)) == [
        ("ALG-UNKNOWN", "confirm")
    ]
    assert label_text([], RuleSet.US, is_fully_known=False) == "Allergens not fully known."
    assert unknown_ingredient("salt", is_recorded=True) == ()


def test_food_without_any_allergen_is_told_from_food_nobody_looked_at():
    assert said(looked_for([])) == [("ALG-NONE", "note")]
    assert looked_for(None) == ()
    assert looked_for([WALNUT]) == ()


def test_pears_after_walnuts_may_contain_them():
    traces = cross_contact([WALNUT], [])
    assert traces == {WALNUT}
    assert said(crossed(traces)) == [("ALG-CROSS", "note")]
    assert crossed([]) == ()
    assert label_text([], RuleSet.US, may_contain=traces) == "May contain tree nuts (walnut)."
    assert cross_contact([WALNUT], [], clean_down=True) == frozenset()


def test_what_it_contains_it_does_not_also_maybe_contain():
    assert label_text([WALNUT], RuleSet.UK, may_contain=[WALNUT]) == "Contains tree nuts (walnut)."


@pytest.mark.parametrize(
    ("dry", "ratio", "outcome"),
    [(60.0, 3.0, "note"), (24.0, 3.0, "pass"), (30.0, 3.0, "pass"), (None, 3.0, "note"),
     (nan, 3.0, "note"), (11.0, 1.0, "note")],
)  # fmt: skip
def test_sulphites_are_reckoned_on_the_rehydrated_food(dry, ratio, outcome):
    # Regulation (EU) 1169/2011, Annex II: more than 10 mg/kg as reconstituted.
    assert said(sulphite(dry, ratio)) == [("ALG-SO2", outcome)]


def test_impossible_sulphites_are_refused():
    for dry, ratio in ((-1.0, 2.0), (10.0, 0.5), (10.0, nan)):
        with pytest.raises(OutOfRange):
            sulphite(dry, ratio)


@given(allergens)
def test_an_allergen_is_read_as_it_was_written(held):
    assert {Allergen.parse(str(one)) for one in held} == held


def test_an_unknown_group_is_refused():
    with pytest.raises(ValueError, match="kiwi"):
        Allergen.parse("kiwi")


def test_the_label_says_each_group_once():
    held = [TROUT, Allergen(G.FISH, "perch"), CELERY]
    assert label_text(held, RuleSet.UK) == "Contains fish (perch, trout), celery."
