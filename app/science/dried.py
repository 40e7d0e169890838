"""The storage window of dry food: every mode, every draw, lots in blocks.

Arrays have one row for each lot and one column for each draw; what is known of a lot has one
column, what is unknown for all lots has one row.
"""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Generic, NamedTuple, TypeVar

from app.science import oxidation, slow
from app.science.classes import FoodClass
from app.science.cold import cold_life
from app.science.constants import SEA_LEVEL_PRESSURE
from app.science.draws import COUNT
from app.science.history import Condition, Stay, end_day, since
from app.science.keeping import Keeping, Limit, state_of
from app.science.moisture import gain_days
from app.science.oxygen import (
    DRY_SHARE,
    OXYGEN_IN_AIR,
    headspace_m3,
    oxygen_ml,
)
from app.science.packaging import PACKAGINGS
from app.science.slow import FLOOR_C, SHORTEST_D
from app.science.sorption import (
    activity_at,
    isotherm_of,
)
from app.science.unknowns import CLASS_ROW, ISOTHERMS, KIND_ROW, Unknowns
from app.science.vapour import atmospheric_pressure_pa

if TYPE_CHECKING:
    from numpy import int8
    from numpy.typing import NDArray

    from app.science.draws import Floats

N = TypeVar("N")  # a number of one lot, or a column of a block of them
FILM_TEST_C = 23.0
TRACE_OF_FAT = 1e-6  # no food takes up nothing at all
AS_IN_AIR = 1.1  # a package that gains less than a tenth on open air holds nothing up
LIMITS = (
    Limit.OXYGEN_INSIDE,
    Limit.OXYGEN_INGRESS,
    Limit.ABSORBER_SPENT,
    Limit.OXIDATION_RATE,
    Limit.AIR_LIFE,
    Limit.SLOW_CHANGE,
    Limit.MOISTURE_GAIN,
    Limit.OPENED,
    Limit.REFRIGERATOR,
    Limit.FREEZER_QUALITY,
)
INSIDE, INGRESS, SPENT, RATE, AIR, SLOW, MOISTURE, OPENED, COLD, FROZEN = range(len(LIMITS))


class Lot(NamedTuple, Generic[N]):
    """What is known of one lot, beyond what its block shares."""

    water: N
    water_below: N
    water_above: N
    fat_free_share: N  # of the dry matter
    fat_db: N  # 0 for produce, whose slow change does not follow its fat
    fat: N  # that oxidises: for produce only what its published air life does not cover
    mass_g: N
    unused: N  # share of the tolerance left on day 0
    capacity_ml: N
    sealed_ml: N
    absorber_ml: N
    film: N  # surface × outside oxygen pressure, m² atm


class Place(NamedTuple, Generic[N]):
    """What is known of one lot at one stay."""

    start_day: N
    temp_c: N
    below: N
    above: N
    gain_days: N  # to the moisture limit through a film of 1 g/(m² d)


def shape_of(keeping: Keeping) -> tuple[object, ...]:
    """What lots must have in common to be computed in one block.

    Args:
        keeping: a dried lot that passes its gate.
    Returns:
        A key for grouping.
    """
    return (
        keeping.food_class,
        keeping.packaging,
        keeping.seal_checked,
        len(keeping.history),
        len(opened_history(keeping)),
    )


def lot_of(keeping: Keeping) -> Lot[float]:
    """The numbers of a lot that the modes need.

    Args:
        keeping: a dried lot that passes its gate.
    Returns:
        Lot.
    Raises:
        OutOfRange: the food does not fit into the package.
    """
    composition = keeping.composition
    volume, area = keeping.size
    headspace = headspace_m3(volume, keeping.net_mass_kg)
    pressure = atmospheric_pressure_pa(keeping.altitude_m) / SEA_LEVEL_PRESSURE.value
    animal = keeping.food_class.is_animal
    fat_db = composition.fat_db
    excess = max(fat_db - oxidation.NEGLIGIBLE_FAT.value, 0.0) * composition.solids
    works = 1.0 if keeping.absorber_self_activated else DRY_SHARE.value
    return Lot(
        composition.water,
        composition.water - keeping.driest,
        keeping.wettest - composition.water,
        1 - fat_db,
        fat_db if animal else 0.0,
        composition.fat if animal else excess,
        keeping.net_mass_kg * 1000,
        1 - keeping.share_used,
        oxygen_ml(headspace),
        oxygen_ml(headspace, keeping.altitude_m, keeping.sealed_pressure_fraction),
        keeping.absorber_ml * works,
        area * OXYGEN_IN_AIR.value * pressure,
    )


def place_of(keeping: Keeping, stay: Stay) -> Place[float]:
    """The numbers of a stay that the modes need.

    Args:
        keeping: the lot. stay: one of its stays.
    Returns:
        Place.
    """
    return Place(
        stay.start_day,
        stay.temp_c,
        stay.temp_c - stay.low_c,
        stay.high_c - stay.temp_c,
        gain_days(keeping, stay),
    )


class Modes(NamedTuple):
    """Life of every mode at one stay, in days, and what holds the oxidation up."""

    oxidation: "Floats"
    slow_change: "Floats"
    moisture: "Floats"
    open_air: "Floats"
    absorber: "Floats"
    supply: "Floats"
    rate: "Floats"
    uptake: "Floats"  # of the packet in air, mL O₂/d
    ingress: "Floats"  # mL O₂/d
    table: "Floats | float"  # what dried meat keeps in the cold by publication; 0 where warm


class Block:
    """Lots of one class in one kind of package: what does not depend on the place."""

    def __init__(self, keepings: Sequence[Keeping], unknowns: Unknowns) -> None:
        """Take the class's and the package's rows, then water activity and oxygen sealed in."""
        import numpy as np

        u = self.unknowns = unknowns
        self.keepings = keepings
        first = keepings[0]
        self.package = PACKAGINGS[first.packaging]
        self.is_produce = not first.food_class.is_animal
        self.row = KIND_ROW[first.packaging]
        lots: Lot[Floats] = Lot(*np.array([lot_of(keeping) for keeping in keepings]).T[:, :, None])
        self.lots = lots
        typical = self._set_activity(first.food_class)
        pigmented = not self.is_produce and first.food_class not in oxidation.WITHOUT_PIGMENT
        pigment = u.pigment + TRACE_OF_FAT if pigmented else TRACE_OF_FAT
        appetite = oxidation.uptake_ml_g_day(
            u.rate * u.species[CLASS_ROW[first.food_class]],
            lots.fat,
            oxidation.activity_factor(typical),
            pigment,
        )
        self.appetite = appetite * lots.mass_g
        self.fresh = (u.produce_tolerance if self.is_produce else u.tolerance) * lots.mass_g
        self.tolerance = self.fresh * lots.unused
        surplus = lots.absorber_ml * u.rating - lots.sealed_ml
        self.residual = np.maximum(-surplus, 0.0)
        self.spare = np.maximum(surplus, 0.0) * u.reserve
        self.leak = (u.leak_checked if first.seal_checked else u.leak) * self.package.leak.value
        self.slow_life = slow.fat_share(lots.fat_db, u.fat_reference) * u.slow_days

    def _set_activity(self, food_class: FoodClass) -> "Floats":
        """Water activity of each draw; returns it by the isotherm's central constants."""
        import numpy as np

        isotherm, lots, u = isotherm_of(food_class), self.lots, self.unknowns
        water = lots.water
        if lots.water_below.any() or lots.water_above.any():
            driest, wettest = u.water
            water = water + lots.water_below * driest + lots.water_above * wettest
            water = np.clip(water, 1e-4, 0.95)
        dry = lots.fat_free_share * (1 - water) / np.maximum(water, 1e-4)  # 1 / moisture
        c, k = np.array(isotherm.c.value), np.array(isotherm.k.value)
        monolayer = u.monolayer[ISOTHERMS.index(isotherm)]
        self.activity = np.minimum(activity_at(monolayer * dry, c, k), 1.0)
        return np.minimum(activity_at(isotherm.monolayer.value * dry, c, k), 1.0)

    def modes(self, place: "Place[Floats]", table: "Floats | float" = 0.0) -> Modes:
        """Every mode as if the lots stayed at one place for good.

        Args:
            place: columns, one row for each lot. table: days that no mode falls below.
        Returns:
            Modes.
        """
        import numpy as np

        u = self.unknowns
        temp_c = np.maximum(self.temperature(place), FLOOR_C)
        uptake = self._uptake(temp_c)
        warmer = oxidation.arrhenius(self.package.oxygen_energy.value, temp_c, FILM_TEST_C)
        ingress = self.lots.film * warmer * u.oxygen_rate[self.row] + self.leak
        absorber = self.spare / ingress
        supply = oxidation.supply_days(self.tolerance, self.residual, ingress)
        open_air = self.tolerance / uptake
        rate = oxidation.rate_days(
            self.tolerance, uptake, self.residual, self.lots.capacity_ml, ingress, u.half
        )
        slow_days = slow.slow_days(
            self.slow_life, u.log_slow_q10, temp_c, self.activity, u.per_activity
        )
        least = np.maximum(table, SHORTEST_D)
        return Modes(
            np.maximum(absorber + np.maximum(supply, rate), least),
            np.maximum(slow_days, least),
            np.maximum(place.gain_days / u.water_rate[self.row], least),
            np.maximum(open_air, least),
            absorber,
            supply,
            rate,
            uptake,
            ingress,
            table,
        )

    def _uptake(self, temp_c: "Floats") -> "Floats":
        """Oxygen that the packets take up in air, mL/d."""
        import numpy as np

        u = self.unknowns
        uptake: Floats = self.appetite * oxidation.arrhenius(
            u.energy, temp_c, oxidation.REFERENCE_C
        )
        if not self.is_produce:
            return uptake
        published = oxidation.air_life(self.keepings[0].food_class).value * u.air_life
        air_life = published * np.exp(u.log_air_q10 * ((oxidation.ROOM_C - temp_c) / 10))
        return uptake + self.fresh / air_life

    def temperature(self, place: "Place[Floats]") -> "Floats":
        """Temperature of each draw; one column where no lot has a range."""
        if not (place.below.any() or place.above.any()):
            return place.temp_c
        colder, warmer = self.unknowns.temperature
        return place.temp_c + place.below * colder + place.above * warmer


def columns_of(
    keepings: Sequence[Keeping], histories: Sequence[Sequence[Stay]]
) -> "list[Place[Floats]]":
    """One Place of columns for each stay, lots in rows.

    Args:
        keepings: the lots. histories: stays of each, equally many.
    Returns:
        Places, the earliest first.
    """
    import numpy as np

    pairs = list(zip(keepings, histories, strict=True))
    count = len(histories[0])
    table = np.array([[place_of(k, stays[i]) for k, stays in pairs] for i in range(count)])
    return [Place(*stay.T[:, :, None]) for stay in table]


def ends(keepings: Sequence[Keeping], unknowns: Unknowns) -> tuple["Floats", "NDArray[int8]"]:
    """The day on which the window of each lot ends in each draw, and the mode that ends it.

    Args:
        keepings: dried lots that pass their gate, of one shape_of. unknowns: the draws.
    Returns:
        Days after day 0, and indices into LIMITS, both lots × draws.
    Raises:
        OutOfRange: food does not fit into its package.
    """
    import numpy as np

    block = Block(keepings, unknowns)
    stays, starts = _life(block, [k.history for k in keepings])
    end = end_day(starts, [m.oxidation for m in stays], 0.0)
    code = _oxidation_code(block, stays[-1])
    rivals = [
        (SLOW, end_day(starts, [m.slow_change for m in stays], 0.0)),
        (MOISTURE, end_day(starts, [m.moisture for m in stays], 0.0)),
    ]
    if keepings[0].opened_day is not None:
        opened, since_open = _life(block, [opened_history(k) for k in keepings])
        rivals.append((OPENED, end_day(since_open, [m.open_air for m in opened], 0.0)))
    for limit, day in rivals:
        earlier = day < end
        end, code = np.where(earlier, day, end), np.where(earlier, np.int8(limit), code)
    return end, _by_table(keepings, stays[-1], code)


def _life(block: Block, histories: Sequence[Sequence[Stay]]) -> tuple[list[Modes], "list[Floats]"]:
    """The modes at each stay of these histories, and the days on which the stays begin."""
    places = columns_of(block.keepings, histories)
    modes = []
    for i, place in enumerate(places):
        tables = _tables(block.keepings, [stays[i] for stays in histories])
        modes.append(block.modes(place, tables))
    return modes, [place.start_day for place in places]


def _tables(keepings: Sequence[Keeping], stays: Sequence[Stay]) -> "Floats | float":
    """What dried meat keeps in the cold by publication: drier food keeps no less."""
    import numpy as np

    if all(stay.condition is Condition.WARM for stay in stays):
        return 0.0
    warm = np.zeros(COUNT)
    rows = []
    for keeping, stay in zip(keepings, stays, strict=True):
        life = cold_life(keeping, state_of(keeping), stay)
        rows.append(warm if life is None else life)
    return np.array(rows)


def _by_table(keepings: Sequence[Keeping], last: Modes, code: "NDArray[int8]") -> "NDArray[int8]":
    """Name the table where it, and not the model, sets the end at the last place."""
    import numpy as np

    if isinstance(last.table, float):
        return code
    frozen = [keeping.history[-1].condition is Condition.FROZEN for keeping in keepings]
    cold = np.where(np.array(frozen)[:, None], np.int8(FROZEN), np.int8(COLD))
    shortest = np.minimum(np.minimum(last.oxidation, last.slow_change), last.moisture)
    named: NDArray[int8] = np.where((last.table > 0) & (shortest <= last.table), cold, code)
    return named


def opened_history(keeping: Keeping) -> tuple[Stay, ...]:
    """The stays of a lot from the day it was opened.

    Args:
        keeping: the lot.
    Returns:
        Stays, none when it is closed.
    """
    return () if keeping.opened_day is None else since(keeping.history, keeping.opened_day)


def _oxidation_code(block: Block, modes: Modes) -> "NDArray[int8]":
    """What the oxidation waits for at the last place: absorber, package, or nothing but time."""
    import numpy as np

    own_rate, inside = (AIR, AIR) if block.is_produce else (RATE, INSIDE)
    as_in_air = np.maximum(modes.supply, modes.rate) < AS_IN_AIR * modes.open_air
    waiting = np.where(as_in_air, np.int8(own_rate), np.int8(INGRESS))
    spent = modes.absorber > np.maximum(modes.supply, modes.rate)
    waiting = np.where(spent, np.int8(SPENT), waiting)
    code: NDArray[int8] = np.where(block.residual >= block.tolerance, np.int8(inside), waiting)
    return code
