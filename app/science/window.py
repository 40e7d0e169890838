"""The storage window of a lot: the earliest of the modes that apply, with its range and reason.

Dry food is estimated from its own oxygen, water, fat, package and history (app.science.dried);
frozen and refrigerated food from published tables (app.science.frozen); moist food at room
temperature, and dried food that fails its dryness gate there, get no window at all.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING

from app.science import dried, frozen, unknowns
from app.science.classes import Form
from app.science.composition import with_water
from app.science.draws import COUNT
from app.science.history import Stay, Storage
from app.science.keeping import (
    FATTEST,
    Keeping,
    Limit,
    NoWindow,
    NoWindowReason,
    Window,
    dryness,
    window_of,
)
from app.science.moist import moist_window
from app.science.oxidation import optimum_activity
from app.science.oxygen import absorber_needed_ml
from app.science.packaging import PackagingKind
from app.science.sorption import equilibrium_water_fraction

if TYPE_CHECKING:
    from numpy import int8
    from numpy.typing import NDArray

__all__ = [
    "Help", "HelpKind", "Keeping", "Limit", "NoWindow", "NoWindowReason", "Stay", "Storage",
    "Window", "estimate", "estimate_many", "what_would_help",
]  # fmt: skip

COOLER_BY = 6.0  # K, a cellar against a pantry
TIGHT = (PackagingKind.FOIL_POUCH, PackagingKind.STEEL_CAN, PackagingKind.GLASS_JAR)
BLOCK = 24  # lots computed at once: large enough to hide the overhead, small enough for the cache


def estimate(keeping: Keeping) -> Window | NoWindow:
    """The storage window of one lot.

    Args:
        keeping: the lot, its package and its history.
    Returns:
        Window, or NoWindow with the reason.
    Raises:
        OutOfRange: the food does not fit into its package.
    Validity: quality only, never safety; see docs/science/storage-window.md.
    """
    return estimate_many([keeping])[0]


def estimate_many(keepings: Sequence[Keeping]) -> list[Window | NoWindow]:
    """The storage windows of many lots, each exactly as estimate gives it.

    Args:
        keepings: lots in any order.
    Returns:
        Windows in the same order.
    Raises:
        OutOfRange: the food of a lot does not fit into its package.
    """
    results: dict[int, Window | NoWindow] = {}
    groups: dict[tuple[object, ...], list[int]] = defaultdict(list)
    for i, keeping in enumerate(keepings):
        answer = _without_draws(keeping)
        if answer is not None:
            results[i] = answer
        else:
            groups[dried.shape_of(keeping)].append(i)
    for members in groups.values():
        for first in range(0, len(members), BLOCK):
            block = members[first : first + BLOCK]
            results.update(zip(block, _dry([keepings[i] for i in block]), strict=True))
    return [results[i] for i in range(len(keepings))]


def _without_draws(keeping: Keeping) -> Window | NoWindow | None:
    """Moist food, and dried food that fails a gate; None sends the lot to the dry model."""
    if not keeping.is_dried:
        return moist_window(keeping, _reason_out_of_the_cold(keeping), {})
    if keeping.composition.fat > FATTEST:
        return NoWindow(NoWindowReason.TOO_FAT, {"fat": keeping.composition.fat, "limit": FATTEST})
    gate = dryness(keeping)
    if gate.passes:
        return None
    limit = gate.activity_limit
    numbers = {
        "fat_free_moisture": gate.fat_free_moisture,
        "water_activity": gate.water_activity,
        "moisture_limit": gate.moisture_limit.value,
    } | ({"activity_limit": limit.value} if limit else {})
    return moist_window(keeping, NoWindowReason.NOT_DRY_ENOUGH, numbers)


def _reason_out_of_the_cold(keeping: Keeping) -> NoWindowReason:
    """Whole raw produce needs no cold for safety, and how long a cellar keeps it is not covered.

    Source: definition of food that needs time and temperature control, Food Code, US Food and Drug
    Administration, 2022 (second-hand: it names cut leaves, melons and tomatoes, not whole ones).
    """
    is_whole_produce = not keeping.food_class.is_animal and keeping.form is Form.WHOLE
    if is_whole_produce and not keeping.treatments:
        return NoWindowReason.NOT_COVERED
    return NoWindowReason.PERISHABLE_AT_ROOM


def _dry(keepings: Sequence[Keeping]) -> Iterable[Window]:
    end, code = dried.ends(keepings, unknowns.shared())
    for keeping, days, codes in zip(keepings, end, code, strict=True):
        animal = keeping.food_class.is_animal
        used = unknowns.PARAMETERS if animal else unknowns.PRODUCE_PARAMETERS
        yield window_of(days, _shares(codes), used)


def _shares(codes: "NDArray[int8]") -> tuple[tuple[Limit, float], ...]:
    import numpy as np

    counts = np.bincount(codes, minlength=len(dried.LIMITS)).tolist()
    pairs = [(limit, n / COUNT) for limit, n in zip(dried.LIMITS, counts, strict=True) if n]
    return tuple(sorted(pairs, key=lambda pair: -pair[1]))


class HelpKind(StrEnum):
    """What a household could change."""

    COOLER_PLACE = "cooler_place"
    FREEZER = "freezer"
    FRIDGE = "fridge"
    CHECKED_SEAL = "checked_seal"
    BIGGER_ABSORBER = "bigger_absorber"
    FOIL_POUCH = "foil_pouch"  # with an absorber that fits
    VACUUM_BAG = "vacuum_bag"
    DRIER = "drier"
    LESS_FAT = "less_fat"


@dataclass(frozen=True, slots=True)
class Help:
    """A change and the time it buys: at the 10th percentile and at the median, in days."""

    change: HelpKind
    gain_days_low: float
    gain_days: float
    new_window: Window
    changed: Keeping


def what_would_help(keeping: Keeping) -> tuple[Help, ...]:
    """What would buy more time, the most first; compared draw by draw with the same draws.

    Args:
        keeping: the lot as it is.
    Returns:
        Changes that gain at least a day and two per cent; for a lot without a window, those that
        would have given it one.
    Raises:
        OutOfRange: the food does not fit into its package.
    """
    now = estimate(keeping)
    early, central = (now.early_days, now.central_days) if isinstance(now, Window) else (0.0, 0.0)
    changes = [(kind, lot) for kind, lot in _changes(keeping, now) if lot is not None]
    helps = []
    for (kind, lot), new in zip(changes, estimate_many([c[1] for c in changes]), strict=True):
        if isinstance(new, NoWindow):
            continue
        gains = new.early_days - early, new.central_days - central
        if max(gains) >= max(1.0, 0.02 * central):
            helps.append(Help(kind, *gains, new, lot))
    return tuple(sorted(helps, key=lambda h: (-h.gain_days, -h.gain_days_low)))


def _changes(keeping: Keeping, now: Window | NoWindow) -> Iterator[tuple[HelpKind, Keeping | None]]:
    stay = keeping.history[-1]
    if isinstance(now, NoWindow):
        yield HelpKind.FRIDGE, _only_at(keeping, Storage.FRIDGE, 4.0)
        yield HelpKind.FREEZER, _only_at(keeping, Storage.FREEZER, frozen.FREEZER_C)
    elif stay.storage is not Storage.FREEZER:
        yield HelpKind.FREEZER, _last_at(keeping, Storage.FREEZER, frozen.FREEZER_C)
    if isinstance(now, Window) and not now.is_fixed:
        yield HelpKind.COOLER_PLACE, _cooler(keeping)
    if keeping.is_dried:
        yield HelpKind.DRIER, _drier(keeping)
        yield HelpKind.LESS_FAT, _leaner(keeping)
        yield HelpKind.CHECKED_SEAL, replace(keeping, seal_checked=True)
        yield HelpKind.BIGGER_ABSORBER, _with_absorber(keeping) if keeping.barrier else None
        yield HelpKind.FOIL_POUCH, _in_foil(keeping)
    elif stay.storage is Storage.FREEZER:
        yield HelpKind.VACUUM_BAG, replace(keeping, packaging=PackagingKind.VACUUM_BAG)


def _only_at(keeping: Keeping, storage: Storage, temp_c: float) -> Keeping:
    return replace(keeping, history=(Stay(keeping.history[0].start_day, storage, temp_c),))


def _last_at(keeping: Keeping, storage: Storage, temp_c: float) -> Keeping:
    *earlier, last = keeping.history
    return replace(keeping, history=(*earlier, Stay(last.start_day, storage, temp_c)))


def _cooler(keeping: Keeping) -> Keeping | None:
    """The last place COOLER_BY colder; its range moves with it."""
    *earlier, last = keeping.history
    if last.low_c - COOLER_BY < (0.0 if keeping.is_dried else frozen.COLDEST_C):
        return None
    cooler = replace(
        last,
        temp_c=last.temp_c - COOLER_BY,
        temp_low_c=last.low_c - COOLER_BY,
        temp_high_c=last.high_c - COOLER_BY,
    )
    return replace(keeping, history=(*earlier, cooler))


def _drier(keeping: Keeping) -> Keeping | None:
    """Dried to the water activity below which drying further gains nothing."""
    composition = keeping.composition
    optimum = optimum_activity(keeping.food_class, composition.fat_db).value
    water = equilibrium_water_fraction(keeping.food_class, optimum, composition.fat_db)
    if water >= keeping.wettest:
        return None
    drier = with_water(composition, min(water, composition.water))
    mass = keeping.net_mass_kg * composition.solids / drier.solids
    return replace(keeping, composition=drier, water_low=None, water_high=None, net_mass_kg=mass)


def _leaner(keeping: Keeping) -> Keeping | None:
    """Half the fat, lean in its place."""
    food = keeping.composition
    half = food.fat / 2
    if not keeping.food_class.is_animal or food.protein + half > 1.0:
        return None
    return replace(keeping, composition=replace(food, fat=half, protein=food.protein + half))


def _with_absorber(keeping: Keeping) -> Keeping | None:
    """A self-activated absorber of the size for many years, in a lot closed anew."""
    need = absorber_needed_ml(
        keeping.size[0],
        keeping.net_mass_kg,
        keeping.altitude_m,
        keeping.sealed_pressure_fraction,
    ).high
    if keeping.absorber_self_activated and keeping.absorber_ml >= need:
        return None
    return replace(
        keeping, absorber_ml=max(need, keeping.absorber_ml), absorber_self_activated=True
    )


def _in_foil(keeping: Keeping) -> Keeping | None:
    if keeping.packaging in TIGHT:
        return None
    foil = replace(keeping, packaging=PackagingKind.FOIL_POUCH, area_m2=None)
    return _with_absorber(foil) or foil
