"""How long food keeps at one cold place, drawn from the published tables' ranges."""

from math import log
from typing import TYPE_CHECKING

from app.science import frozen, unknowns
from app.science.frozen import State
from app.science.history import Condition, Stay
from app.science.keeping import Keeping
from app.science.sources import Sourced

if TYPE_CHECKING:
    from app.science.draws import Floats


def cold_life(keeping: Keeping, state: State, stay: Stay) -> "Floats | None":
    """Draws of the time that food of a state keeps at one cold stay, if it stayed for good.

    Args:
        keeping: the lot, for its package and class. state: what the tables look it up by.
        stay: the place.
    Returns:
        Days, one for each draw; None where it is warm or no table covers the food.
    Source: the tables of app.science.frozen.
    """
    import numpy as np

    if stay.condition is Condition.WARM:
        return None
    days = frozen.refrigerator_days(state)
    chilled = None if days is None else _drawn(days)
    if stay.condition is Condition.CHILLED:
        return chilled
    months = frozen.freezer_months(state)
    if months is None:
        return None
    life = _freezer_life(keeping, months, stay)
    return life if chilled is None else np.maximum(life, chilled)  # frost never keeps it shorter


def package_of(keeping: Keeping) -> Sourced:
    """The factor of a lot's package in the freezer.

    Args:
        keeping: the lot.
    Returns:
        One of unknowns.FREEZER_PACKAGES.
    """
    return frozen.package_factor(
        keeping.packaging, keeping.sealed_pressure_fraction, keeping.barrier
    )


def _drawn(table: Sourced) -> "Floats":
    """Draws of one row, in its own unit."""
    import numpy as np

    (low, high), (below, above) = table.span, unknowns.shared().table
    days: Floats = table.value * np.exp(
        below * log(table.value / low) + above * log(high / table.value)
    )
    return days


def _freezer_life(keeping: Keeping, table: Sourced, stay: Stay) -> "Floats":
    """A row of the freezer table in this package, at this temperature."""
    import numpy as np

    u = unknowns.shared()
    package = unknowns.FREEZER_PACKAGES.index(package_of(keeping))
    days = _drawn(table) * frozen.MONTH_D * u.freezer_package[package]
    colder, warmer = u.temperature
    below, above = stay.temp_c - stay.low_c, stay.high_c - stay.temp_c
    temp_c = np.clip(
        stay.temp_c + below * colder + above * warmer,
        frozen.COLDEST_C,
        frozen.WARMEST_CHILLED_C,
    )
    if keeping.food_class not in frozen.GAME:
        return np.asarray(frozen.freezer_days(days, u.log_freezer_q10, temp_c))
    capped = np.minimum(days, u.game_cap)
    return np.minimum(frozen.freezer_days(capped, u.log_freezer_q10, temp_c), u.game_cap)
