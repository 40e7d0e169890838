"""Lots of the household as the window model sees them; a test names only what differs."""

from dataclasses import replace
from typing import Any

from app.science.classes import FoodClass, Form, Treatment
from app.science.composition import Composition
from app.science.history import Stay, Storage
from app.science.keeping import Keeping
from app.science.packaging import PackagingKind

LEAN = Composition(0.025, 0.85, 0.09, 0.0, 0.035)
FATTY = Composition(0.025, 0.57, 0.37, 0.0, 0.035)  # from a raw blend of 20 % fat
CRISP_APPLE = Composition(0.05, 0.01, 0.003, 0.92, 0.017)
LEATHERY_APPLE = Composition(0.14, 0.01, 0.003, 0.83, 0.017)
RAW_GAME = Composition(0.74, 0.225, 0.024, 0.0, 0.011)
FREEZE_DRIED = frozenset({Treatment.COOKED, Treatment.DRIED_FREEZE})
AIR_DRIED = frozenset({Treatment.DRIED_AIR})


def room(temp_c: float = 21.0, **changes: Any) -> tuple[Stay, ...]:
    """For good on a shelf."""
    return (Stay(0.0, Storage.ROOM, temp_c, **changes),)


def freezer(temp_c: float = -18.0) -> tuple[Stay, ...]:
    """For good in the freezer."""
    return (Stay(0.0, Storage.FREEZER, temp_c),)


def pouch(composition: Composition = LEAN, **changes: Any) -> Keeping:
    """170 g of lean freeze-dried beef, quart foil pouch, absorber of 300 mL, 21 °C."""
    lean = Keeping(
        food_class=FoodClass.RED_MEAT,
        form=Form.GROUND,
        treatments=FREEZE_DRIED,
        composition=composition,
        water_low=None,
        water_high=None,
        net_mass_kg=0.170,
        packaging=PackagingKind.FOIL_POUCH,
        history=room(),
        volume_m3=946e-6,
        area_m2=0.12,
        absorber_ml=300.0,
    )
    return replace(lean, **changes)


def apples(composition: Composition = CRISP_APPLE, **changes: Any) -> Keeping:
    """85 g of crisp freeze-dried apple in the same pouch."""
    apple = pouch(
        composition,
        food_class=FoodClass.FRUIT,
        form=Form.PIECES,
        treatments=frozenset({Treatment.DRIED_FREEZE}),
        net_mass_kg=0.085,
    )
    return replace(apple, **changes)


def game(**changes: Any) -> Keeping:
    """1 kg of raw ground moose in a freezer bag in the freezer."""
    moose = pouch(
        RAW_GAME,
        food_class=FoodClass.GAME,
        treatments=frozenset({Treatment.GROUND}),
        net_mass_kg=1.0,
        packaging=PackagingKind.ZIP_BAG,
        volume_m3=None,
        area_m2=None,
        absorber_ml=0.0,
        history=freezer(),
    )
    return replace(moose, **changes)
