"""Films and sizes against a second table, a standard example and geometry."""

from math import log, pi

import pytest
from scipy.constants import R

from app.science.oxygen import ingress_ml_per_day
from app.science.packaging import (
    HDPE,
    LDPE,
    NYLON,
    PACKAGINGS,
    PET,
    PackagingKind,
    film_rate,
    film_temperature_factor,
    jar_geometry,
    pouch_geometry,
    typical_area_m2,
    typical_geometry,
)
from tests.published.row import Published

TABLE = "Biosystems Engineering, undated copy"
FITNESS = "FitNESS course on food packaging, European Union project, 2020"
ROBIN = "A. C. Robin, Paper Bag Problem, Mathematics Today, 2004, read in a copy"
NASA = "Challenge: Food Packaging, NASA Johnson Space Center, undated"
POUCHES = "common pouch sizes and their names, from memory, unchecked"
PER_100_SQUARE_INCHES = 15.5
MIL_UM = 25.4
RANGE = "the table's own range"


def between(low: float, high: float, where: str, source: str = TABLE, scale: float = 1.0):
    """A published range as its middle and half-width."""
    low, high = low * scale, high * scale
    return Published((low + high) / 2, (high - low) / 2, source, where, RANGE)


@pytest.mark.parametrize(
    ("coefficient", "published"),
    [
        (LDPE.oxygen, between(300, 600, "table 11.2, LDPE, O2", scale=PER_100_SQUARE_INCHES)),
        (HDPE.oxygen, between(100, 250, "table 11.2, HDPE, O2", scale=PER_100_SQUARE_INCHES)),
        (PET.oxygen, between(3, 6, "table 11.2, PET, O2", scale=PER_100_SQUARE_INCHES)),
        (LDPE.water, between(1, 2, "table 11.2, LDPE, H2O", scale=PER_100_SQUARE_INCHES)),
        (HDPE.water, between(0.3, 0.6, "table 11.2, HDPE, H2O", scale=PER_100_SQUARE_INCHES)),
        (NYLON.water, between(10, 20, "table 11.2, nylon, H2O", scale=PER_100_SQUARE_INCHES)),
    ],
)
def test_a_film_of_one_mil_agrees_with_a_second_table(coefficient, published):
    assert published.agrees(film_rate(coefficient.value, MIL_UM))


@pytest.mark.parametrize(
    ("coefficient", "high"), [(NYLON.oxygen, 3.0), (PET.water, 2.0)], ids=["nylon", "polyester"]
)
def test_where_the_two_tables_disagree_it_is_by_less_than_a_factor_of_two(coefficient, high):
    """Named disagreements: nylon's oxygen and polyester's water come out above the second table."""
    ratio = film_rate(coefficient.value, MIL_UM) / (high * PER_100_SQUARE_INCHES)
    assert 1.0 < ratio < 2.0


@pytest.mark.parametrize(
    ("value", "published"),
    [
        (
            PACKAGINGS[PackagingKind.VACUUM_BAG].oxygen_rate.value,
            Published(55, 10, "industry specification of a vacuum bag", "OTR", "one grade of many"),
        ),
        (
            PACKAGINGS[PackagingKind.VACUUM_BAG].oxygen_rate.value,
            Published(70, 10, TABLE, "table 11.2, nylon/LDPE, 4-5, O2", "table and rounding"),
        ),
        (
            PACKAGINGS[PackagingKind.VACUUM_BAG].water_rate.value,
            Published(7.75, 1.0, TABLE, "table 11.2, nylon/LDPE, 0.5, H2O", "one digit"),
        ),
        (
            PACKAGINGS[PackagingKind.ZIP_BAG].oxygen_rate.value,
            Published(178_000 / 64, 30, FITNESS, "LDPE over 64 µm", "rounding"),
        ),
        (
            PACKAGINGS[PackagingKind.ZIP_BAG].water_rate.value,
            Published(560 / 64, 0.1, FITNESS, "LDPE over 64 µm", "rounding"),
        ),
        (
            PACKAGINGS[PackagingKind.FOIL_POUCH].oxygen_rate.span[1],
            Published(0.06, 0.0, NASA, "OTR asked of a film for freeze-dried food", "upper bound"),
        ),
    ],
)
def test_the_packages_of_the_model_agree_with_specifications(value, published):
    assert published.agrees(value)


def test_permeation_through_a_film_matches_the_worked_example():
    """4.18e-8 cm³ cm/(cm² s atm), 400 cm², 0.2 cm, 0.21 atm."""
    published = Published(1.76e-5, 0.01e-5, FITNESS, "citing Mauer and Ozen 2004", "3 digits")
    rate = 4.18e-8 / 0.2 * 1e4 * 86_400  # mL/(m² d atm)
    assert published.agrees(ingress_ml_per_day(rate, 0.04, 0.0) / 86_400)


def test_a_pinhole_of_one_micron_lies_within_the_leaks_of_a_seal():
    published = Published(0.008 * 37.5 / 30, 0.001, FITNESS, "+0.8 % of 37.5 mL in 30 d", "digits")
    low, high = PACKAGINGS[PackagingKind.FOIL_POUCH].leak.span
    assert published.lies_within(low, high)


@pytest.mark.parametrize(
    ("size", "published"),
    [
        ((1.0, 1.0), Published(0.19, 0.005, ROBIN, "unit square, rough formula", "2 digits")),
        ((1.0, 1.0), Published(0.2055, 0.03, ROBIN, "unit square, best known", "formula is rough")),
    ],
)
def test_the_largest_volume_of_a_pouch_matches_the_published_square(size, published):
    assert published.agrees(pouch_geometry(*size, 1.0).volume_m3)


@pytest.mark.parametrize(
    ("inches", "published"),
    [
        ((6, 8), Published(0.473, 0.12, POUCHES, "pint", "names of pouches are loose")),
        ((8, 10), Published(0.946, 0.24, POUCHES, "quart", "names of pouches are loose")),
        ((10, 14), Published(1.893, 0.48, POUCHES, "half gallon", "names of pouches are loose")),
        ((12, 16), Published(3.785, 0.95, POUCHES, "gallon", "names of pouches are loose")),
    ],
)
def test_a_pouch_filled_flat_holds_about_what_its_name_says(inches, published):
    size = [side * 0.0254 for side in inches]
    assert published.agrees(pouch_geometry(*size).volume_m3 * 1e3)


def test_a_quart_pouch_of_typical_shape_has_the_surface_of_a_flat_one():
    flat = pouch_geometry(0.203, 0.279)
    area = typical_area_m2(PackagingKind.FOIL_POUCH, flat.volume_m3)
    assert area == pytest.approx(flat.area_m2, rel=0.02)
    assert typical_geometry(PackagingKind.FOIL_POUCH, 0.19).area_m2 == pytest.approx(0.11, abs=0.01)


def test_a_jar_has_the_surface_of_a_cylinder():
    jar = jar_geometry(pi * 0.05**2 * 0.1, slenderness=1.0)
    published = Published(0.0471239, 1e-6, "geometry", "cylinder of 0.1 m by 0.1 m", "exact")
    assert published.agrees(jar.area_m2)


def test_the_temperature_law_of_films_is_arrhenius():
    """From two temperatures the law gives back its energy, with the gas constant of a library."""
    film = PACKAGINGS[PackagingKind.ZIP_BAG]
    ratio = film_temperature_factor(film, 33.0) / film_temperature_factor(film, 23.0)
    energy = log(ratio) * R / (1 / 296.15 - 1 / 306.15)
    source = "SciPy constants, CODATA 2018, The SciPy community, 2025"
    published = Published(film.oxygen_energy.value * 1000, 1.0, source, "R", "rounding")
    assert published.agrees(energy)
