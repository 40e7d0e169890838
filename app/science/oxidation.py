"""Fat and pigment taking up oxygen: how fast, how much of it spoils the taste, and when.

Off-flavour is perceived per gram of FOOD, so the oxygen that is tolerated does not rise with fat,
while the rate of uptake does: a fatter food never keeps longer, in any package
(docs/decisions/0001-more-fat-never-keeps-longer.md).
"""

from math import exp
from typing import TYPE_CHECKING

from app.science.classes import FoodClass
from app.science.constants import GAS_CONSTANT
from app.science.errors import require
from app.science.oxygen import OXYGEN_IN_AIR
from app.science.sorption import SLOWEST_OXIDATION
from app.science.sources import (
    ARMSTRONG_2002,
    CARDELLI_LABUZA_2001,
    NCHFP_DRIED,
    PARK_2018,
    SHAHIDI_1992,
    USU_APRICOTS,
    WFLO_MEATS,
    Evidence,
    Sourced,
)
from app.science.vapour import KELVIN

if TYPE_CHECKING:
    from app.science.draws import Floats, Numbers

REFERENCE_C = 25.0
ROOM_C = 21.0
OXYGEN_PER_MEQ = Sourced(
    11.207, "mL O₂ per meq", Evidence.DERIVED, note="half a millimole at 22.414 mL/mmol"
)
RATE_25_C = Sourced(
    0.23,
    "meq/(kg fat d)",
    Evidence.READ,
    PARK_2018,
    0.12,
    0.45,
    "pork lard in air at 298 K; per day is our reading: it makes the paper's sensory lives agree "
    "with its sensory rates; the band is judgement",
)
ENERGY = Sourced(
    72.0, "kJ/mol", Evidence.READ, PARK_2018, 50.0, 100.0, "17.21 kcal/mol; oils 79-104, sausage 38"
)
POROSITY = Sourced(
    1.5, "", Evidence.JUDGEMENT, low=1.0, high=4.0, note="porous, with blood pigment, against lard"
)
HALF_PRESSURE = Sourced(
    0.03,
    "atm O₂",
    Evidence.JUDGEMENT,
    CARDELLI_LABUZA_2001,
    0.01,
    0.10,
    "oxygen at which the rate is half its highest; the hyperbolic form was read, the number not",
)
TOLERANCE = Sourced(
    0.025,
    "mL O₂ per g food",
    Evidence.DERIVED,
    ARMSTRONG_2002,
    0.006,
    0.10,
    "from dried foods, 5-15 ppm (0.0035-0.0105 mL/g), over a teaching example of 0.05 to the "
    "2 % oxygen practice for freeze-dried food, 0.1",
)
PRODUCE_TOLERANCE = Sourced(
    0.01, "mL O₂ per g food", Evidence.DERIVED, ARMSTRONG_2002, 0.0035, 0.05, "dried foods"
)
PIGMENT_SHARE = Sourced(
    3.0,
    "",
    Evidence.JUDGEMENT,
    low=1.0,
    high=10.0,
    note="all oxygen taken up over that in fat, in a lean meat of 9 % fat: pigment and protein "
    "take oxygen too, whatever the fat",
)
PIGMENT_FAT = Sourced(0.09, "kg fat per kg", Evidence.JUDGEMENT, note="fat of that lean meat")
NEGLIGIBLE_FAT = Sourced(
    0.02, "kg fat per kg dry matter", Evidence.JUDGEMENT, note="produce: in its published air life"
)
OPTIMUM_LEAN = Sourced(
    0.20, "water activity", Evidence.JUDGEMENT, note="drier lean produce gains nothing"
)
FRUIT_AIR_LIFE = Sourced(
    259.0, "d at 21 °C", Evidence.DERIVED, NCHFP_DRIED, 130.0, 389.0, "1 year at 60 °F, half at 80"
)
VEGETABLE_AIR_LIFE = Sourced(
    130.0, "d at 21 °C", Evidence.DERIVED, NCHFP_DRIED, 65.0, 195.0, "half of fruit"
)
AIR_Q10 = Sourced(
    1.9, "", Evidence.DERIVED, USU_APRICOTS, 1.6, 2.7, "dried fruit 1.87; apricots 2.7 and more"
)

_SPECIES = "against lard; ratios of fatty acids and of pork to beef, ours from those"


def _species(value: float, low: float, high: float) -> Sourced:
    return Sourced(value, "", Evidence.JUDGEMENT, SHAHIDI_1992, low, high, _SPECIES)


_TALLOW = Sourced(0.5, "", Evidence.JUDGEMENT, WFLO_MEATS, 0.3, 0.8, "pork turns twice as fast")
_LARD = _species(1.0, 0.7, 1.4)
_GAME = _species(1.0, 0.7, 1.8)
_BIRD = _species(1.7, 1.2, 2.5)
_LEAN_FISH = _species(2.0, 1.2, 4.0)
_FATTY_FISH = _species(3.0, 1.7, 6.0)
_MIXED = _species(1.0, 0.5, 2.0)

SPECIES: dict[FoodClass, Sourced] = {
    FoodClass.RED_MEAT: _TALLOW,
    FoodClass.PORK: _LARD,
    FoodClass.GAME: _GAME,
    FoodClass.WILD_MEAT_EATER: _GAME,
    FoodClass.POULTRY: _BIRD,
    FoodClass.GAME_BIRD: _BIRD,
    FoodClass.FISH_LEAN: _LEAN_FISH,
    FoodClass.FISH_FATTY: _FATTY_FISH,
    FoodClass.SHELLFISH: _LEAN_FISH,
    FoodClass.EGG: _BIRD,
    FoodClass.DAIRY: _TALLOW,
    FoodClass.FAT: _LARD,
    FoodClass.BROTH: _MIXED,
    FoodClass.VEGETABLE: _MIXED,
    FoodClass.FRUIT: _MIXED,
    FoodClass.GRAIN_LEGUME: _MIXED,
    FoodClass.DISH: _MIXED,
    FoodClass.PANTRY: _MIXED,
}
WITHOUT_PIGMENT = frozenset({FoodClass.EGG, FoodClass.DAIRY})


def air_life(food_class: FoodClass) -> Sourced:
    """Published keeping time of dried produce in ordinary air at 21 °C.

    Args:
        food_class: FRUIT, or any other plant food, which is read as a vegetable.
    Returns:
        Days, with range.
    Source: NCHFP (read in a copy), brought to 21 °C by its own two temperatures.
    """
    return FRUIT_AIR_LIFE if food_class is FoodClass.FRUIT else VEGETABLE_AIR_LIFE


def optimum_activity(food_class: FoodClass, fat_db: float) -> Sourced:
    """The water activity below which drying further gains no time.

    Args:
        food_class: any. fat_db: kg fat per kg dry matter.
    Returns:
        Sourced water activity: that of slowest oxidation where fat matters, else OPTIMUM_LEAN.
    """
    lean_plant = not food_class.is_animal and fat_db <= NEGLIGIBLE_FAT.value
    return OPTIMUM_LEAN if lean_plant else SLOWEST_OXIDATION


def peroxide_oxygen_ml(peroxide_value: float, fat_kg: float) -> float:
    """Oxygen bound in fat of a peroxide value.

    Args:
        peroxide_value: meq per kg fat, ≥ 0. fat_kg: kg, ≥ 0.
    Returns:
        mL O₂ at 0 °C and 1 atm.
    Raises:
        OutOfRange: a negative argument.
    Source: one equivalent is half a mole of O₂ (definition of the peroxide value).
    Example:
        >>> round(peroxide_oxygen_ml(10, 0.001), 3)
        0.112
    """
    require("peroxide_value", peroxide_value, 0.0, None, "meq/kg")
    require("fat_kg", fat_kg, 0.0, None, "kg")
    return peroxide_value * OXYGEN_PER_MEQ.value * fat_kg


def oxygen_ml_of_ppm(mass_ppm: float) -> float:
    """Oxygen of a mass fraction in ppm, per gram of food.

    Args:
        mass_ppm: mg O₂ per kg food, ≥ 0.
    Returns:
        mL O₂ at 0 °C and 1 atm per g food.
    Raises:
        OutOfRange: a negative argument.
    Source: molar mass 31.998 g/mol, 22.414 L/mol.
    Example:
        >>> round(oxygen_ml_of_ppm(15), 4)
        0.0105
    """
    require("mass_ppm", mass_ppm, 0.0, None, "ppm")
    return mass_ppm * 1e-6 / 31.998 * 22_414


def arrhenius(energy_kj_mol: "Numbers", temp_c: "Numbers", reference_c: float) -> "Numbers":
    """Rate at a temperature over the rate at a reference temperature; numbers or arrays.

        exp[-E/R · (1/T - 1/T_ref)]

    Args:
        energy_kj_mol: activation energy, kJ/mol. temp_c, reference_c: °C.
    Returns:
        Factor, 1 at the reference.
    Source: Arrhenius law.
    Example:
        >>> round(float(arrhenius(72.0, 45.0, 10.0)), 1)
        28.9
    """
    import numpy as np

    inverse = 1 / (temp_c + KELVIN) - 1 / (reference_c + KELVIN)
    factor: Numbers = np.exp(-energy_kj_mol * 1000 / GAS_CONSTANT.value * inverse)
    return factor


def q10_of_energy(energy_kj_mol: float, temp_c: float) -> float:
    """How much faster a reaction runs 10 K warmer.

        Q10 = exp[10·E/(R·T·(T + 10))]

    Args:
        energy_kj_mol: activation energy, kJ/mol, ≥ 0. temp_c: the lower temperature, °C.
    Returns:
        Factor ≥ 1.
    Raises:
        OutOfRange: a negative energy.
    Source: Arrhenius law.
    Example:
        >>> round(q10_of_energy(17.2 * 4.184, 25.0), 2)
        2.57
    """
    require("energy_kj_mol", energy_kj_mol, 0.0, None, "kJ/mol")
    temp_k = temp_c + KELVIN
    return exp(10 * energy_kj_mol * 1000 / (GAS_CONSTANT.value * temp_k * (temp_k + 10)))


def activity_factor(water_activity: "Numbers") -> "Numbers":
    """How much faster fat oxidises than at its slowest water activity; numbers or arrays.

    Doubles towards bone-dry, rises to 2.5 at an activity of 0.72.

    Args:
        water_activity: 0 to 1.
    Returns:
        Factor ≥ 1.
    Source: shape from Nelson and Labuza 1992 and Karel and Labuza 1967 (abstracts); the numbers
        are our judgement.
    Example:
        >>> [round(float(activity_factor(a)), 2) for a in (0.0, 0.27, 0.72)]
        [2.0, 1.0, 2.5]
    """
    import numpy as np

    slowest = SLOWEST_OXIDATION.value
    away = water_activity / slowest - 1
    dry: Numbers = np.exp2(np.minimum(away, 0.0) ** 2)
    return dry + np.clip(away * (1.5 * slowest / 0.45), 0.0, 1.5)


def pressure_factor(pressure_atm: float, half_atm: float = HALF_PRESSURE.value) -> float:
    """Rate of oxidation at an oxygen pressure over that in air.

        g(p) = [p/(K + p)] / [0.2095/(K + 0.2095)]

    Args:
        pressure_atm: of oxygen, atm, 0 to 0.2095. half_atm: K, atm, > 0.
    Returns:
        Factor, 0 to 1.
    Raises:
        OutOfRange: an argument outside its range.
    Source: form, Cardelli and Labuza (abstract); K our judgement.
    Example:
        >>> round(pressure_factor(0.02), 2)
        0.46
    """
    air = OXYGEN_IN_AIR.value
    require("pressure_atm", pressure_atm, 0.0, air, "atm")
    require("half_atm", half_atm, 1e-6, None, "atm")
    return pressure_atm / (half_atm + pressure_atm) / (air / (half_atm + air))


def uptake_ml_g_day(
    rate_ml_g_day: "Numbers", fat_fraction: "Numbers", activity: "Numbers", pigment: "Numbers"
) -> "Numbers":
    """Oxygen that a food takes up in air, by its fat and by its pigment; numbers or arrays.

        r = k·[fat·f(a) + pigment]

    Args:
        rate_ml_g_day: k, of a gram of this animal's fat at this temperature, mL O₂/(g d).
        fat_fraction: kg/kg, 0 to 0.6. activity: f(a), from activity_factor.
        pigment: what pigment and protein take up, as the fat fraction that would take as much:
            (PIGMENT_SHARE - 1)·PIGMENT_FAT.
    Returns:
        mL O₂ per g food and day.
    Source: docs/decisions/0001-more-fat-never-keeps-longer.md.
    Example:
        >>> round(uptake_ml_g_day(0.23e-3 * 11.2 * 1.5, 0.09, 1.0, 0.18), 5)
        0.00104
    """
    return rate_ml_g_day * (fat_fraction * activity + pigment)


def supply_days(tolerance_ml: "Floats", residual_ml: "Floats", ingress: "Floats") -> "Floats":
    """Until as much oxygen as is tolerated has come in at all, if the food took it at once.

    Args:
        tolerance_ml: mL O₂. residual_ml: sealed in, mL O₂. ingress: mL O₂/d, > 0.
    Returns:
        Days, 0 where the tolerated amount is already inside.
    Source: conservation of oxygen.
    """
    import numpy as np

    return np.maximum(tolerance_ml - residual_ml, 0.0) / ingress


def rate_days(
    tolerance_ml: "Floats",
    uptake: "Floats",
    residual_ml: "Floats",
    capacity_ml: "Floats",
    ingress: "Floats",
    half: "Floats",
) -> "Floats":
    """Until the food has taken up what it tolerates, held back only by its own rate.

    Solves L·r·g(v₀ + j·L/2) = U for L, where v is the oxygen pressure inside over that of air,
    v₀ + j·L/2 its mean if only ingress changed it, g(v) = (1 + κ)·v/(κ + v). g is concave, and
    uptake lowers v below that mean, so the true time is never shorter than this.

    Args:
        tolerance_ml: U, mL O₂. uptake: r, of the whole packet in air, mL O₂/d, > 0.
        residual_ml: sealed in, mL O₂. capacity_ml: oxygen that air would have there, mL.
        ingress: mL O₂/d, > 0. half: κ = K/0.2095.
    Returns:
        Days, at least U/r, the time in open air.
    Source: oxygen balance of a closed package; the bound is ours, checked against integration.
    """
    import numpy as np

    full = uptake * (1 + half)
    inside = residual_ml * (1 / capacity_ml)
    rise = ingress * (0.5 / capacity_ml)
    a, b = full * rise, (full * inside - tolerance_ml * rise) * 0.5
    c = tolerance_ml * (half + inside)
    root = np.sqrt(b * b + a * c)
    positive = root + np.abs(b) + 1e-300  # never a difference of near equals, never 0/0
    limited = np.where(b > 0, c / positive, positive / a)
    return np.maximum(limited, tolerance_ml / uptake)
