"""Moisture that comes in through the package, until food is no longer crisp or no longer dry."""

from app.science.history import Stay
from app.science.keeping import Keeping
from app.science.slow import FLOOR_C, LONGEST_D
from app.science.sorption import (
    fat_free_moisture_db,
    gab_activity,
    gain_integral,
    isotherm_of,
)
from app.science.sources import Evidence, Sourced
from app.science.vapour import saturation_pressure_pa

CRISP = Sourced(
    0.40, "water activity", Evidence.JUDGEMENT, low=0.35, high=0.5, note="crispness is lost"
)
LEATHERY = Sourced(0.60, "water activity", Evidence.JUDGEMENT, note="air-dried food: mould line")
LAST_STEP = Sourced(
    0.10,
    "water activity",
    Evidence.JUDGEMENT,
    note="a food already nearer to its limit gets the time of this last step, no more and no less",
)
WVTR_C, WVTR_HUMIDITY = 38.0, 0.90  # the conditions of the transmission test


def gain_days(keeping: Keeping, stay: Stay, water_rate: float = 1.0) -> float:
    """Time until moisture through the film reaches the limit of crisp or leathery food.

        t = fat-free dry mass · I / (k · A · p₀(T)),  k = WVTR/(0.90 · p₀(38 °C))

    Args:
        keeping: the lot. stay: its temperature and humidity outside.
        water_rate: transmission of the film, g/(m² d) at 38 °C and 90 % humidity, > 0.
    Returns:
        Days; LONGEST_D where the air outside is too dry to reach the limit.
    Source: Taoukis, El Meskine and Labuza 1988 (abstract), with sorption.gain_integral for I.
    Validity: the film, not the food, holds the water up; the isotherm at room temperature.
    """
    composition = keeping.composition
    isotherm = isotherm_of(keeping.food_class)
    limit = (CRISP if keeping.is_crisp else LEATHERY).value
    humidity = min(stay.relative_humidity, isotherm.highest_activity)
    if humidity <= limit + 1e-6:
        return LONGEST_D
    constants = isotherm.monolayer.value, isotherm.c.value, isotherm.k.value
    start = gab_activity(fat_free_moisture_db(composition), *constants)
    integral = gain_integral(min(start, limit - LAST_STEP.value), limit, humidity, isotherm)
    solids_g = keeping.net_mass_kg * 1000 * composition.solids * (1 - composition.fat_db)
    permeance = water_rate / (WVTR_HUMIDITY * saturation_pressure_pa(WVTR_C))
    pressure = saturation_pressure_pa(max(stay.temp_c, FLOOR_C))
    return min(solids_g * integral / (permeance * keeping.size[1] * pressure), LONGEST_D)
