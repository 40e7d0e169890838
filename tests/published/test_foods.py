"""The composition table against its own energies and against an independent table."""

import csv
from pathlib import Path

import pytest

from app.science.foods import all_foods, food
from tests.published.row import Published

SR28 = (
    "National Nutrient Database for Standard Reference, Release 28, US Department of "
    "Agriculture, Agricultural Research Service, 2015"
)
COFID = (
    "McCance and Widdowson's The Composition of Foods Integrated Dataset, Public Health "
    "England, 2015"
)

# 05167, whole turkey meat: printed 112 kcal, its own factors give 114.6; reason not stated there.
ENERGY_EXCEPTIONS = frozenset({"05167"})

ENERGIES = [
    (
        item.ndb_no,
        Published(
            item.energy_kcal_per_100g,
            2.0,
            SR28,
            f"table NUT_DATA, nutrient 208, {item.ndb_no}",
            "kcal are printed whole, and components rounded to 0.01 g",
        ),
    )
    for item in all_foods()
    if item.factors is not None and item.ndb_no not in ENERGY_EXCEPTIONS
]


def test_the_table_of_energies_is_whole():
    assert len(ENERGIES) == 265


@pytest.mark.parametrize(("ndb_no", "published"), ENERGIES)
def test_a_food_s_own_factors_give_its_printed_energy(ndb_no, published):
    assert published.agrees(food(ndb_no).energy_kcal(0.1))


def test_the_named_exception_of_the_energies_is_still_one():
    turkey = food("05167")
    assert abs(turkey.energy_kcal(0.1) - turkey.energy_kcal_per_100g) > 2.0


BOUNDS = {"water": 5.0, "protein": 2.5, "fat": 1.5}
# British leeks hold 90.8 g of water, American ones 83.0: another plant and another trim.
CROSSCHECK_EXCEPTIONS = frozenset({("11246", "water")})


def cofid_rows():
    """Food, component and the British value, in the order of the file."""
    path = Path(__file__).parents[1] / "files" / "crosscheck_cofid.csv"
    with path.open(encoding="utf-8") as lines:
        for row in csv.DictReader(lines):
            for component, bound in BOUNDS.items():
                yield (
                    row["ndb_no"],
                    component,
                    Published(
                        float(row[f"{component}_g"]),
                        bound,
                        COFID,
                        f"{row['cofid_code']} {row['cofid_name']}",
                        "other animals, varieties and soils; a slip of a row or a point is larger",
                    ),
                )


CROSSCHECK = [row for row in cofid_rows() if row[:2] not in CROSSCHECK_EXCEPTIONS]


@pytest.mark.parametrize(("ndb_no", "component", "published"), CROSSCHECK)
def test_foods_agree_with_an_independent_table(ndb_no, component, published):
    assert published.agrees(100.0 * getattr(food(ndb_no).composition, component))


def test_the_crosscheck_is_whole_and_its_exception_is_still_one():
    assert len(CROSSCHECK) == 32 * 3 - 1
    assert abs(100.0 * food("11246").composition.water - 90.8) > BOUNDS["water"]


def test_refuse_follows_the_formula_of_the_table_s_documentation():
    published = Published(
        5.34,
        0.005,
        SR28,
        "documentation, Y = V x 4.536 x (100 - R)/100, for protein of 1 lb of sweet corn as bought",
        "the formula's own two decimals",
    )
    corn = food("11167")
    assert published.agrees(corn.edible_kg(0.4536) * corn.composition.protein * 1000.0)
