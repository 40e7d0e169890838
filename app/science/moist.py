"""The window of moist food: refrigerator days as published, freezer quality by table and place."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from app.science import frozen
from app.science.cold import cold_life, package_of
from app.science.draws import COUNT
from app.science.frozen import State
from app.science.history import Condition, Stay, Storage, end_day
from app.science.keeping import (
    Keeping,
    Limit,
    NoWindow,
    NoWindowReason,
    Window,
    state_of,
    window_of,
)
from app.science.slow import LONGEST_D
from app.science.sources import Sourced

_WARM_DAYS = frozen.HOURS_WARM.value / 24


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
    warm = _warm_stay(keeping.history)
    if warm is not None:
        room = warm.storage is Storage.ROOM
        reason = at_room if room else NoWindowReason.REFRIGERATOR_TOO_WARM
        return NoWindow(reason, {**numbers, "temp_c": warm.temp_c})
    state = state_of(keeping)
    if state.is_dried and not state.is_wet:
        return _half_dry(keeping, state)
    return _refrigerated(keeping, state) or _frozen(keeping, state)


def _warm_stay(history: Sequence[Stay]) -> Stay | None:
    """The first stay that was too warm for too long, or that is and goes on."""
    for stay, until in zip(history, [*(s.start_day for s in history[1:]), None], strict=True):
        short = until is not None and until - stay.start_day <= _WARM_DAYS
        if stay.condition is Condition.WARM and not short:
            return stay
    return None


def _refrigerated(keeping: Keeping, state: State) -> Window | NoWindow | None:
    """The first run in the refrigerator that outlasts its fixed days, or the one it is in."""
    history = keeping.history
    table = frozen.refrigerator_days(state)
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
    early, central, late = (begin + days for days in (table.span[0], table.value, table.span[1]))
    shares = ((Limit.REFRIGERATOR, 1.0),)
    return Window(early, central, late, *shares[0], shares, is_fixed=True, used=(table,))


def _frozen(keeping: Keeping, state: State) -> Window | NoWindow:
    """Freezer quality, less what was used before; the refrigerator's days are counted apart."""
    table = frozen.freezer_months(state)
    if table is None:
        return NoWindow(NoWindowReason.NOT_COVERED)
    used = (table, package_of(keeping), frozen.Q10)
    return _added_up(keeping, state, Limit.FREEZER_QUALITY, (Condition.FROZEN,), used)


def _half_dry(keeping: Keeping, state: State) -> Window:
    """Dried food that fails its gate, in the cold: the published times of dried meat."""
    tables = frozen.refrigerator_days(state), frozen.freezer_months(state)
    used = tuple(table for table in tables if table is not None)
    fixed = keeping.history[-1].condition is Condition.CHILLED
    limit = Limit.REFRIGERATOR if fixed else Limit.FREEZER_QUALITY
    window = _added_up(keeping, state, limit, (Condition.FROZEN, Condition.CHILLED), used)
    return replace(window, is_fixed=fixed)


def _warm_freezer(stay: Stay) -> Stay:
    """Hours out of the frost between two frosts: ageing at least as fast as in the warmest freezer.

    Source: our judgement; guides say that refrozen food is of lower quality, and give no number.
    """
    return replace(
        stay,
        storage=Storage.FREEZER,
        temp_c=frozen.WARMEST_FROZEN_C,
        temp_low_c=None,
        temp_high_c=None,
    )


def _added_up(
    keeping: Keeping,
    state: State,
    limit: Limit,
    counted: tuple[Condition, ...],
    used: tuple[Sourced, ...],
) -> Window:
    """Shares of the tables' time at the counted stays, added up."""
    import numpy as np

    lives, was_frozen = [], False
    for place in keeping.history:
        was_frozen = was_frozen or place.condition is Condition.FROZEN
        is_counted = place.condition in counted
        stay = place if is_counted or not was_frozen else _warm_freezer(place)
        life = cold_life(keeping, state, stay) if is_counted or was_frozen else None
        lives.append(np.full(COUNT, LONGEST_D) if life is None else life)
    starts = [stay.start_day for stay in keeping.history]
    return window_of(end_day(starts, lives, keeping.share_used), ((limit, 1.0),), used)
