"""The window of moist food: refrigerator days as published, freezer quality by table and place."""

from collections.abc import Mapping, Sequence
from math import log
from typing import TYPE_CHECKING

from app.science import dried, frozen, unknowns
from app.science.classes import FoodClass
from app.science.draws import COUNT
from app.science.history import Condition, Stay, Storage, end_day
from app.science.keeping import (
    Keeping,
    Limit,
    NoWindow,
    NoWindowReason,
    Window,
    dryness,
    state_of,
    window_of,
)
from app.science.sources import Sourced

if TYPE_CHECKING:
    from app.science.draws import Floats

_WARM_DAYS = frozen.HOURS_WARM.value / 24
_JERKY_DAYS = frozen.JERKY_WARM.value


def moist_window(
    keeping: Keeping, at_room: NoWindowReason, numbers: Mapping[str, float]
) -> Window | NoWindow:
    """Freezer and refrigerator, by what each stay did to moist food.

    Args:
        keeping: moist food, or dried food that fails its gate.
        at_room: the reason for no window at room temperature. numbers: that belong to it.
    Returns:
        Window, or NoWindow where it was too warm or no table covers it.
    Source: the tables of app.science.frozen.
    """
    is_dried = keeping.is_dried and not dryness(keeping).is_wet
    warm = _warm_stay(keeping.history, _JERKY_DAYS if is_dried else _WARM_DAYS)
    if warm is not None:
        room = warm.storage is Storage.ROOM
        reason = at_room if room else NoWindowReason.REFRIGERATOR_TOO_WARM
        return NoWindow(reason, {**numbers, "temp_c": warm.temp_c})
    fixed = _refrigerated(keeping)
    if fixed is not None:
        return fixed
    return _frozen(keeping)


def _warm_stay(history: Sequence[Stay], allowed_days: float) -> Stay | None:
    """The first stay that was too warm for too long, or that is and goes on."""
    for stay, until in zip(history, [*(s.start_day for s in history[1:]), None], strict=True):
        short = until is not None and until - stay.start_day <= allowed_days
        if stay.condition is Condition.WARM and not short:
            return stay
    return None


def _refrigerated(keeping: Keeping) -> Window | NoWindow | None:
    """The first run in the refrigerator that outlasts its fixed days, or the one it is in."""
    history = keeping.history
    table = frozen.refrigerator_days(state_of(keeping))
    begin: float | None = None
    for i, stay in enumerate(history):
        if stay.condition is Condition.FROZEN:
            begin = None
            continue
        begin = stay.start_day if begin is None else begin
        last = i + 1 == len(history)
        if table is None and last:
            return NoWindow(NoWindowReason.NOT_COVERED)
        if table is not None and (last or history[i + 1].start_day > begin + table.span[1]):
            return _fixed(begin, table)
    return None


def _fixed(begin: float, table: Sourced) -> Window:
    low, high = (begin + days for days in table.span)
    shares = ((Limit.REFRIGERATOR, 1.0),)
    return Window(low, (low + high) / 2, high, *shares[0], shares, is_fixed=True, used=(table,))


def _frozen(keeping: Keeping) -> Window | NoWindow:
    """Freezer quality by table, package and temperature, less what was used before."""
    table = frozen.freezer_months(state_of(keeping))
    if table is None:
        return NoWindow(NoWindowReason.NOT_COVERED)
    package = frozen.package_factor(
        keeping.packaging, keeping.sealed_pressure_fraction, keeping.barrier
    )
    days = _days_at_minus_18(table, package)
    starts = [stay.start_day for stay in keeping.history]
    longest = _longest(keeping.food_class)
    lives = [_freezer_life(days, stay, longest) for stay in keeping.history]
    shares = ((Limit.FREEZER_QUALITY, 1.0),)
    used = (table, package, frozen.Q10)
    return window_of(end_day(starts, lives, keeping.share_used), shares, used)


def _longest(food_class: FoodClass) -> "Floats | float":
    """Game has a published end, whatever the package and the temperature; days."""
    return unknowns.shared().game_cap if food_class in frozen.GAME else dried.LONGEST_D


def _days_at_minus_18(table: Sourced, package: Sourced) -> "Floats":
    """Draws of the table's time in this package."""
    import numpy as np

    u = unknowns.shared()
    (low, high), (below, above) = table.span, u.table
    spread = below * log(table.value / low) + above * log(high / table.value)
    factor = u.freezer_package[unknowns.FREEZER_PACKAGES.index(package)]
    days: Floats = table.value * frozen.MONTH_D * np.exp(spread) * factor
    return days


def _freezer_life(days: "Floats", stay: Stay, longest: "Floats | float") -> "Floats":
    """Time at one stay; what was not frozen there is counted by the refrigerator's days."""
    import numpy as np

    if stay.condition is not Condition.FROZEN:
        return np.full(COUNT, dried.LONGEST_D)
    u = unknowns.shared()
    colder, warmer = u.temperature
    temp_c = (
        stay.temp_c + (stay.temp_c - stay.low_c) * colder + (stay.high_c - stay.temp_c) * warmer
    )
    temp_c = np.clip(temp_c, frozen.COLDEST_C, frozen.WARMEST_CHILLED_C)
    at_18 = np.minimum(days, longest)
    return np.minimum(frozen.freezer_days(at_18, u.log_freezer_q10, temp_c), longest)
