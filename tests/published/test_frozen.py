"""Freezer and refrigerator times against the published tables, row by row."""

import pytest

from app.science.classes import FoodClass, Form
from app.science.frozen import (
    GAME_CAP,
    MONTH_D,
    Q10,
    State,
    freezer_days,
    freezer_months,
    refrigerator_days,
)
from tests.published.row import Published

FDA = "Food Storage Guidelines, FDA 00-2244, US Food and Drug Administration, 2000"
FOODSAFETY = "Cold Food Storage Chart, FoodSafety.gov, undated copy"
MSU = "Incoming venison, part 1, Michigan State University Extension, undated"
NCHFP = "Freezer Shelf Life of Foods, University of Georgia, 2005, rev. 2014"
WFLO = "Meats, Frozen, World Food Logistics Organization, rev. 2008"
WYOMING = "Jerky, University of Wyoming Extension, undated"
ILLINOIS = "Thawing and keeping meat, University of Illinois Extension, undated"
POP = "F. Pop and others, alimentary animal fats, c. 2011, abstract"
ROE = "T. Daszkiewicz and others, J. Food Quality, 2018"
EXACT = "exact"

BEEF, PORK, GAME, HEN = FoodClass.RED_MEAT, FoodClass.PORK, FoodClass.GAME, FoodClass.POULTRY
WHOLE, PIECES, GROUND, LIQUID = Form.WHOLE, Form.PIECES, Form.GROUND, Form.LIQUID


def state(food_class, form=WHOLE, **more):
    return State(food_class, form, **more)


MONTHS = [
    (state(BEEF, GROUND), 3, 4, FDA, "ground beef"),
    (state(BEEF), 6, 12, FDA, "beef steaks and roasts"),
    (state(PORK), 4, 6, FDA, "pork chops; roasts"),
    (state(PORK, GROUND), 3, 4, FDA, "ground pork"),
    (state(FoodClass.BROTH, LIQUID), 2, 3, FDA, "gravy"),
    (state(FoodClass.FISH_LEAN), None, 6, FDA, "lean fish, up to"),
    (state(FoodClass.FISH_FATTY), 2, 3, FDA, "fatty fish"),
    (state(HEN), None, 12, FDA, "whole chicken"),
    (state(HEN, PIECES), None, 9, FDA, "chicken parts"),
    (state(FoodClass.DAIRY, LIQUID), None, 1, FDA, "milk"),
    (state(HEN, GROUND), 3, 4, FOODSAFETY, "ground meats, turkey included"),
    (state(BEEF, is_cooked=True), 2, 6, FOODSAFETY, "cooked meat or poultry"),
    (state(FoodClass.DISH, LIQUID), 2, 3, FOODSAFETY, "soups and stews"),
    (state(GAME, GROUND), 2, 3, MSU, "ground venison"),
    (state(GAME, PIECES), 2, 3, MSU, "stew meat"),
    (state(GAME), 8, 12, MSU, "roasts and steaks"),
    (state(FoodClass.GAME_BIRD), 6, 9, NCHFP, "poultry"),
    (state(FoodClass.VEGETABLE, PIECES), 8, 12, NCHFP, "vegetables"),
    (state(FoodClass.FRUIT, PIECES), 8, 12, NCHFP, "fruit"),
    (state(FoodClass.FAT), 120 / MONTH_D, 210 / MONTH_D, POP, "poultry fat to tallow, -18 °C"),
    (state(GAME, PIECES, is_dried=True), None, 12, WYOMING, "jerky, freezer"),
]
DAYS = [
    (state(BEEF, GROUND), 1, 2, FDA, "ground beef"),
    (state(BEEF), 3, 5, FDA, "steaks and roasts"),
    (state(PORK), 3, 5, FDA, "pork chops; roasts"),
    (state(FoodClass.FISH_LEAN), 1, 2, FDA, "lean fish"),
    (state(FoodClass.FISH_FATTY), 1, 2, FDA, "fatty fish"),
    (state(HEN), 1, 2, FDA, "whole chicken"),
    (state(HEN, PIECES), 1, 2, FDA, "chicken parts"),
    (state(FoodClass.DAIRY, LIQUID), None, 5, FDA, "milk"),
    (state(FoodClass.EGG), None, 21, FDA, "eggs in shell"),
    (state(FoodClass.EGG, is_cooked=True), None, 7, FDA, "hard-boiled eggs"),
    (state(BEEF, PIECES, is_cooked=True), 3, 4, FOODSAFETY, "cooked meat"),
    (state(FoodClass.DISH, LIQUID), 3, 4, FOODSAFETY, "soups and stews"),
    (state(GAME, GROUND, is_thawed=True), 1, 2, ILLINOIS, "thawed ground meat"),
    (state(GAME, is_thawed=True), 3, 5, ILLINOIS, "thawed large cuts"),
    (state(FoodClass.FAT, is_cooked=True), 60, 150, POP, "poultry fat to tallow, 2 °C"),
    (state(GAME, PIECES, is_dried=True), 3 * MONTH_D, 6 * MONTH_D, WYOMING, "jerky"),
]


@pytest.mark.parametrize(("food", "low", "high", "source", "where"), MONTHS)
def test_every_row_of_the_freezer_tables_is_as_published(food, low, high, source, where):
    row = freezer_months(food)
    assert Published(high, 1e-9, source, where, EXACT).agrees(row.span[1])
    if low is not None:
        assert Published(low, 1e-9, source, where, EXACT).agrees(row.span[0])


@pytest.mark.parametrize(("food", "low", "high", "source", "where"), DAYS)
def test_every_row_of_the_refrigerator_tables_is_as_published(food, low, high, source, where):
    row = refrigerator_days(food)
    assert Published(high, 1e-9, source, where, EXACT).agrees(row.span[1])
    if low is not None:
        assert Published(low, 1e-9, source, where, EXACT).agrees(row.span[0])


def test_the_named_disagreement_about_broth():
    """One agency gives gravy 1-2 days, another soups and stews 3-4: broth follows the soups."""
    assert refrigerator_days(state(FoodClass.BROTH, LIQUID)).span == (3, 4)


@pytest.mark.parametrize(
    ("ratio", "where"), [(18 / 12, "beef, lamb"), (16 / 10, "veal"), (5.5 / 3.5, "ham, bacon")]
)
def test_a_colder_freezer_gains_what_the_trade_manual_says(ratio, where):
    published = Published(ratio, 0.2, WFLO, f"{where}, -18 to -29 °C", "whole months")
    from math import log

    assert published.agrees(float(freezer_days(1.0, log(Q10.value), -29.0)))


@pytest.mark.parametrize(
    ("value", "published"),
    [
        (GAME_CAP.span[0], Published(10, 0, ROE, "store no more than 10-12 months", EXACT)),
        (GAME_CAP.span[1], Published(12, 0, ROE, "store no more than 10-12 months", EXACT)),
    ],
)
def test_single_published_limits_are_kept(value, published):
    assert published.agrees(value)
