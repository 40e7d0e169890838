"""How one lot's window was worked out: its own numbers in the model, each with its source.

The figures are those of the central value of every parameter at the last place; the window itself
comes from the draws, so its median lies somewhat below the earliest of these.
"""

from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING

from app.science import dried, frozen, moisture, oxidation, oxygen, slow, sorption, unknowns
from app.science.history import Condition
from app.science.keeping import Keeping, NoWindow, dryness, state_of
from app.science.packaging import PACKAGINGS
from app.science.sources import Sourced
from app.science.window import estimate

if TYPE_CHECKING:
    from app.science.draws import Floats


class Part(StrEnum):
    """The part of the argument that a step belongs to."""

    GATE = "gate"
    OXYGEN = "oxygen"
    OXIDATION = "oxidation"
    SLOW_CHANGE = "slow_change"
    MOISTURE = "moisture"
    COLD = "cold"


@dataclass(frozen=True, slots=True)
class Step:
    """One line of the working: what, its symbol, how much, and the parameters behind it.

    equation is empty for what was weighed, measured or chosen.
    """

    name: str
    symbol: str
    value: float
    unit: str
    equation: str = ""
    sources: tuple[Sourced, ...] = ()
    part: Part = Part.COLD


def how_worked_out(keeping: Keeping) -> tuple[Step, ...]:
    """The working of a lot's window, line by line.

    Args:
        keeping: the lot.
    Returns:
        Steps in the order of the argument; for moist food the row of the table it rests on.
    Raises:
        OutOfRange: the food does not fit into its package.
    """
    if not keeping.is_dried:
        return _moist_steps(keeping)
    gate = _of(Part.GATE, _gate_steps(keeping))
    if not dryness(keeping).passes:
        return (*gate, *_moist_steps(keeping))
    if isinstance(estimate(keeping), NoWindow):
        return gate
    return (*gate, *_dry_steps(keeping))


def _gate_steps(keeping: Keeping) -> tuple[Step, ...]:
    gate = dryness(keeping)
    isotherm = sorption.isotherm_of(keeping.food_class)
    limit = () if gate.activity_limit is None else (gate.activity_limit,)
    return (
        Step(
            "fat-free moisture, wet end",
            "w",
            gate.fat_free_moisture,
            "kg/kg",
            "water / (1 - fat)",
            (gate.moisture_limit,),
        ),
        Step(
            "water activity, wet end",
            "a",
            gate.water_activity,
            "",
            "inverse of m0·C·K·a / [(1 - K·a)(1 - K·a + C·K·a)]",
            (isotherm.monolayer, isotherm.c, isotherm.k, *limit),
        ),
    )


def _moist_steps(keeping: Keeping) -> tuple[Step, ...]:
    state = state_of(keeping)
    package = frozen.package_factor(
        keeping.packaging, keeping.sealed_pressure_fraction, keeping.barrier
    )
    tables = (
        ("days in the refrigerator", "d", frozen.refrigerator_days(state)),
        ("months in a freezer bag", "months", frozen.freezer_months(state)),
        ("package, against a freezer bag", "", package),
        ("freezer, for each 10 K colder", "", frozen.Q10),
    )
    return tuple(
        Step(name, "", table.value, unit, sources=(table,))
        for name, unit, table in tables
        if table is not None
    )


def _dry_steps(keeping: Keeping) -> tuple[Step, ...]:
    block = dried.Block([keeping], unknowns.central())
    place = dried.columns_of([keeping], [keeping.history[-1:]])[0]
    modes = block.modes(place)
    return (
        *_of(Part.OXYGEN, _oxygen_steps(keeping, block)),
        *_of(Part.OXIDATION, _oxidation_steps(keeping, block, modes)),
        *_of(Part.SLOW_CHANGE, (_slow_step(keeping, modes),)),
        *_of(Part.MOISTURE, (_moisture_step(keeping, modes),)),
        *(_moist_steps(keeping) if keeping.history[-1].condition is not Condition.WARM else ()),
    )


def _of(part: Part, steps: tuple[Step, ...]) -> tuple[Step, ...]:
    return tuple(replace(step, part=part) for step in steps)


def _number(column: "Floats") -> float:
    return float(column.ravel()[0])


def _oxygen_steps(keeping: Keeping, block: dried.Block) -> tuple[Step, ...]:
    volume, area = keeping.size
    package = PACKAGINGS[keeping.packaging]
    headspace = oxygen.headspace_m3(volume, keeping.net_mass_kg)
    sealed = _number(block.lots.sealed_ml)
    return (
        Step("volume of the package", "V", volume * 1e3, "L"),
        Step("surface of the package", "A", area, "m²", sources=(package.area_shape,)),
        Step(
            "gas space",
            "Vh",
            headspace * 1e6,
            "mL",
            "V - mass / true density",
            (oxygen.TRUE_DENSITY,),
        ),
        Step(
            "oxygen sealed in",
            "V0",
            sealed,
            "mL",
            "Vh · 0.2095 · pressure · 273.15 / T",
            (oxygen.OXYGEN_IN_AIR,),
        ),
        Step("absorber, as rated", "C", keeping.absorber_ml, "mL", sources=(oxygen.RATING,)),
        Step("oxygen left inside", "Vr", _number(block.residual), "mL", "max(V0 - C, 0)"),
        Step(
            "absorber left for what comes in",
            "Cr",
            _number(block.spare),
            "mL",
            "max(C - V0, 0) · reserve",
            (oxygen.RESERVE,),
        ),
    )


def _oxidation_steps(keeping: Keeping, block: dried.Block, modes: dried.Modes) -> tuple[Step, ...]:
    package = PACKAGINGS[keeping.packaging]
    animal = keeping.food_class.is_animal
    rate: tuple[Sourced, ...] = (
        oxidation.RATE_25_C, oxidation.POROSITY, oxidation.ENERGY,
        oxidation.SPECIES[keeping.food_class], oxidation.PIGMENT_SHARE, oxidation.PIGMENT_FAT,
    )  # fmt: skip
    if not animal:
        rate = oxidation.air_life(keeping.food_class), oxidation.AIR_Q10
    tolerance = oxidation.TOLERANCE if animal else oxidation.PRODUCE_TOLERANCE
    return (
        Step(
            "oxygen that spoils the taste",
            "U",
            _number(block.tolerance),
            "mL",
            "per gram of food · mass · (1 - share used before)",
            (tolerance,),
        ),
        Step("oxygen coming in", "J", _number(modes.ingress), "mL/d",
             "OTR · A · 0.2095 · pressure + leak", (package.oxygen_rate, package.leak)),
        Step("oxygen the food takes up in air", "r", _number(modes.uptake), "mL/d",
             "k · [fat · f(a) + pigment] · mass" if animal else "U / air life", rate),
        Step("absorber lasts", "tA", _number(modes.absorber), "d", "Cr / J"),
        Step("until enough oxygen is there", "", _number(modes.supply), "d", "(U - Vr) / J"),
        Step("until the food has taken it up", "L", _number(modes.rate), "d",
             "L · r · g(Vr, J, L) = U", (oxidation.HALF_PRESSURE,)),
        Step("oxidation", "", _number(modes.oxidation), "d", "tA + the longer of the two"),
        Step("in open air", "", _number(modes.open_air), "d", "U / r"),
    )  # fmt: skip


def _slow_step(keeping: Keeping, modes: dried.Modes) -> Step:
    fatty = (slow.FAT_REFERENCE,) if keeping.food_class.is_animal else ()
    return Step("slow change without oxygen", "", _number(modes.slow_change), "d",
                "S · F · Q10^((21 - T)/10) · 2^(-(a - 0.2)/δ)",
                (slow.LIFE, *fatty, slow.Q10, slow.HALVING))  # fmt: skip


def _moisture_step(keeping: Keeping, modes: dried.Modes) -> Step:
    limit = moisture.CRISP if keeping.is_crisp else moisture.LEATHERY
    film = PACKAGINGS[keeping.packaging].water_rate
    return Step("moisture gain", "", _number(modes.moisture), "d",
                "dry mass · ∫ dm/(RH - a) / (k · A · p0)", (limit, film))  # fmt: skip
