"""Every uncertain parameter of the window model, drawn once and shared by all lots."""

from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

from app.science import frozen, oxidation, oxygen, slow, sorption
from app.science.classes import FoodClass
from app.science.draws import Axis, scores, spread, two_sided
from app.science.packaging import PACKAGINGS, PackagingKind
from app.science.sources import Evidence, Sourced

if TYPE_CHECKING:
    from app.science.draws import Floats

CLASS_ROW = {food_class: row for row, food_class in enumerate(FoodClass)}
KIND_ROW = {kind: row for row, kind in enumerate(PackagingKind)}
FREEZER_PACKAGES = (frozen.PAPER, frozen.PRESSED_FLAT, frozen.VACUUM)
ISOTHERMS = (sorption.MEAT, sorption.FRUIT, sorption.VEGETABLE)

WORKSPACE_BYTES = 16 << 20

LEAK = Sourced(
    1.0, "of the kind's leak", Evidence.JUDGEMENT, low=0.1, high=10.0, note="seal not checked"
)
LEAK_CHECKED = Sourced(
    1.0,
    "of the kind's leak",
    Evidence.JUDGEMENT,
    low=0.1,
    high=3.0,
    note="seal checked a day later: the worst seals are found; the good ones do not get worse",
)


@dataclass(frozen=True, slots=True)
class Unknowns:
    """Draws of the parameters; one dimension, or one row for each class, kind or isotherm."""

    rate: "Floats"  # mL O₂ per g fat and day in air at 25 °C, porous food, against lard
    energy: "Floats"  # kJ/mol
    species: "Floats"
    tolerance: "Floats"  # mL O₂ per g food
    produce_tolerance: "Floats"
    pigment: "Floats"  # as fat fraction
    half: "Floats"  # K/0.2095
    reserve: "Floats"
    rating: "Floats"
    air_life: "Floats"  # factor on the published days
    log_air_q10: "Floats"
    slow_days: "Floats"
    log_slow_q10: "Floats"
    per_activity: "Floats"
    fat_reference: "Floats"
    leak: "Floats"
    leak_checked: "Floats"
    oxygen_rate: "Floats"
    water_rate: "Floats"
    monolayer: "Floats"
    water: "tuple[Floats, Floats]"
    temperature: "tuple[Floats, Floats]"
    table: "tuple[Floats, Floats]"
    log_freezer_q10: "Floats"
    game_cap: "Floats"  # days
    freezer_package: "Floats"  # paper, freezer bag, vacuum


def _unknowns(score: "Floats") -> Unknowns:
    import numpy as np

    def drawn(parameter: Sourced, axis: Axis) -> "Floats":
        return spread(parameter, score[axis])

    per_meq = oxidation.OXYGEN_PER_MEQ.value / 1000
    rate = drawn(oxidation.RATE_25_C, Axis.RATE) * drawn(oxidation.POROSITY, Axis.POROSITY)
    share = np.maximum(drawn(oxidation.PIGMENT_SHARE, Axis.PIGMENT_SHARE), 1.0)
    kinds = [PACKAGINGS[kind] for kind in PackagingKind]
    no_film = np.zeros(score.shape[1])
    return Unknowns(
        rate=rate * per_meq,
        energy=drawn(oxidation.ENERGY, Axis.ACTIVATION),
        species=np.array([drawn(oxidation.SPECIES[c], Axis.SPECIES) for c in FoodClass]),
        tolerance=drawn(oxidation.TOLERANCE, Axis.TOLERANCE),
        produce_tolerance=drawn(oxidation.PRODUCE_TOLERANCE, Axis.TOLERANCE),
        pigment=(share - 1) * oxidation.PIGMENT_FAT.value,
        half=drawn(oxidation.HALF_PRESSURE, Axis.OXYGEN_HALF) / oxygen.OXYGEN_IN_AIR.value,
        reserve=np.minimum(drawn(oxygen.RESERVE, Axis.RESERVE), 1.0),
        rating=drawn(oxygen.RATING, Axis.RATING),
        air_life=drawn(oxidation.FRUIT_AIR_LIFE, Axis.RATE) / oxidation.FRUIT_AIR_LIFE.value,
        log_air_q10=np.maximum(np.log(drawn(oxidation.AIR_Q10, Axis.SLOW_Q10)), 0.0),
        slow_days=drawn(slow.LIFE, Axis.SLOW_LIFE) * slow.YEAR_D,
        log_slow_q10=np.maximum(np.log(drawn(slow.Q10, Axis.SLOW_Q10)), 0.0),
        per_activity=slow.LOG_2 / drawn(slow.HALVING, Axis.HALVING),
        fat_reference=drawn(slow.FAT_REFERENCE, Axis.FAT_REFERENCE),
        leak=drawn(LEAK, Axis.SEAL),
        leak_checked=drawn(LEAK_CHECKED, Axis.SEAL),
        oxygen_rate=np.array(
            [
                drawn(k.oxygen_rate, Axis.OXYGEN_FILM) if k.oxygen_rate.value else no_film
                for k in kinds
            ]
        ),
        water_rate=np.array([drawn(k.water_rate, Axis.WATER_FILM) for k in kinds]),
        monolayer=np.array([drawn(i.monolayer, Axis.MONOLAYER) for i in ISOTHERMS]),
        water=two_sided(score[Axis.WATER]),
        temperature=two_sided(score[Axis.TEMPERATURE]),
        table=two_sided(score[Axis.TOLERANCE]),
        log_freezer_q10=np.maximum(np.log(drawn(frozen.Q10, Axis.SLOW_Q10)), 0.0),
        game_cap=drawn(frozen.GAME_CAP, Axis.TOLERANCE) * frozen.MONTH_D,
        freezer_package=np.array(
            [
                np.minimum(drawn(frozen.PAPER, Axis.SEAL), 1.0),
                drawn(frozen.PRESSED_FLAT, Axis.SEAL),
                np.maximum(drawn(frozen.VACUUM, Axis.SEAL), 1.0),
            ]
        ),
    )


@cache
def shared() -> Unknowns:
    """The draws that every window uses.

    Returns:
        Unknowns of draws.COUNT columns.
    """
    import numpy as np

    # Freeing one large untouched array teaches glibc's malloc to keep what blocks of lots free,
    # instead of giving it back to the system after every block: 13,000 page faults for 300 lots
    # become none, and the time halves. Elsewhere it does nothing.
    np.empty(WORKSPACE_BYTES // 8)
    return _unknowns(scores())


@cache
def central() -> Unknowns:
    """One column with every parameter at its central value, for showing the work.

    Returns:
        Unknowns of one column.
    """
    import numpy as np

    return _unknowns(np.zeros((len(Axis), 1)))


PARAMETERS: tuple[Sourced, ...] = (
    oxidation.TOLERANCE,
    oxidation.RATE_25_C,
    oxidation.ENERGY,
    oxidation.POROSITY,
    oxidation.PIGMENT_SHARE,
    oxidation.HALF_PRESSURE,
    oxygen.RESERVE,
    oxygen.RATING,
    slow.LIFE,
    slow.FAT_REFERENCE,
    slow.Q10,
    slow.HALVING,
    LEAK,
)
PRODUCE_PARAMETERS: tuple[Sourced, ...] = (
    oxidation.PRODUCE_TOLERANCE,
    oxidation.AIR_Q10,
    oxygen.RESERVE,
    oxygen.RATING,
    slow.LIFE,
    slow.Q10,
    slow.HALVING,
    LEAK,
)
