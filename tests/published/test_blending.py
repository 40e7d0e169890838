"""Blending against dairy and meat exercises and against plain linear algebra."""

import numpy as np
import pytest

from app.science.blending import Component, Ingredient, blend_to_target, fat_source_to_add
from app.science.composition import WATER, Composition, mix
from app.science.foods import food
from tests.published.row import Published

GUELPH = "Dairy Science: Standardization Problems, University of Guelph, undated"
TEXTBOOK = "Dairy fundamentals, early textbook, read in a scan; last step by arithmetic"
SLIDES = "classroom slides of agricultural education, statement read in a copy"
FORUM = "cooking forum, sound arithmetic, no other standing"


def _add(lean_kg: float, lean: float, source: float, target: float) -> float:
    return fat_source_to_add(lean_kg, lean, source, target)


PEARSON = [
    (_add(500, 0.04, 0.35, 0.10), Published(120, 1e-6, GUELPH, "500 kg 4 %, cream 35 %", "exact")),
    (
        500 + _add(500, 0.04, 0.35, 0.10),
        Published(620, 1e-6, GUELPH, "500 kg 4 %, cream 35 %: total", "exact"),
    ),
    (_add(500, 0.03, 0.30, 0.05), Published(40, 1e-6, TEXTBOOK, "500 lb, 3, 30 to 5 %", "exact")),
    (
        _add(1000 / 3, 0.10, 0.25, 0.20),
        Published(666.7, 0.05, SLIDES, "10 and 25 % fat to 20 %, 1,000 lb", "one decimal"),
    ),
    (
        _add(16, 0.0, 1.0, 0.30),
        Published(6.9, 0.05, FORUM, "16 lb, 30 % of all", "1 decimal"),
    ),
]


@pytest.mark.parametrize(("value", "published"), PEARSON)
def test_the_square_of_pearson_matches_its_exercises(value, published):
    assert published.agrees(value)


def test_thirty_percent_of_the_lean_is_not_thirty_percent_of_the_blend():
    published = Published(0.23, 0.005, FORUM, "10 lb lean and 3 lb fat", "whole percent")
    lean = Composition(0.75, 0.25, 0.0, 0.0, 0.0)
    fat = Composition(0.0, 0.0, 1.0, 0.0, 0.0)
    assert published.agrees(mix([(lean, 10.0), (fat, 3.0)]).fat)


def test_a_blend_of_two_by_total_matches_the_classroom():
    published = Published(333.3, 0.05, SLIDES, "10 and 25 % fat to 20 %, 1,000 lb", "one decimal")
    pair = [
        Ingredient(Composition(0.69, 0.20, 0.10, 0.0, 0.01)),
        Ingredient(Composition(0.58, 0.16, 0.25, 0.0, 0.01)),
    ]
    assert published.agrees(blend_to_target(pair, {Component.FAT: 0.20}, 1000.0).amounts_kg[0])


def test_three_components_match_linear_algebra():
    """Two meats and water to a fat and a water content: numpy's solver is the reference."""
    meats = [food("17172").composition, food("10004").composition, WATER]
    targets = {Component.FAT: 0.20, Component.WATER: 0.62}
    rows = [[getattr(m, c) - t for m in meats] for c, t in targets.items()] + [[1.0, 1.0, 1.0]]
    expected = np.linalg.solve(np.array(rows), np.array([0.0, 0.0, 5.0]))
    found = blend_to_target([Ingredient(m) for m in meats], targets, 5.0)
    assert found.amounts_kg == pytest.approx(expected, abs=1e-6)
