"""Cooking: at what temperature water boils, how meat shrinks, what a pot becomes.

A pot is meat and its liquid together. Fat that sets is lifted off (skimmed), then the rest is split
into meat and broth (drained). Masses are always the household's own; what is estimated here is
only where the water, protein, fat and salts of the pot went, and no component is made or lost.
"""

from dataclasses import dataclass
from typing import Final

from app.science.classes import FoodClass, Form
from app.science.composition import Composition, with_lost_water, without
from app.science.errors import Impossible, require
from app.science.ranges import Range
from app.science.sources import BLANCHING_CHAPTER, SNYDER_1908, Evidence, Sourced
from app.science.vapour import atmospheric_pressure_pa, saturation_pressure_pa
from app.science.yields import CookingMethod, cooking_yield

PROTEIN_DISSOLVED: Final = Sourced(
    0.10,
    "share of the pot's protein",
    Evidence.JUDGEMENT,
    low=0.05,
    high=0.15,
    note="13 % of raw meat's protein is soluble in cold water (Snyder 1908); heat sets most of "
    "that and sets gelatine free",
)
ASH_DISSOLVED: Final = Sourced(
    0.80,
    "share of the pot's ash",
    Evidence.COPY,
    SNYDER_1908,
    low=0.60,
    high=0.90,
    note="81 % of raw meat's ash goes into cold water; the range is our judgement",
)
CARBOHYDRATE_DISSOLVED: Final = Sourced(
    0.20,
    "share of the pot's carbohydrate without fibre",
    Evidence.JUDGEMENT,
    low=0.05,
    high=0.50,
    note="meat has next to none; for the onion and carrot in the pot",
)
FAT_DISPERSED: Final = Sourced(
    0.05,
    "share of the pot's fat, after skimming",
    Evidence.JUDGEMENT,
    low=0.01,
    high=0.15,
    note="home-prepared stocks of USDA SR28 hold 0.09 to 1.2 % fat",
)
LAYER_FAT: Final = Sourced(
    0.95,
    "kg fat per kg of set layer",
    Evidence.JUDGEMENT,
    low=0.85,
    high=0.99,
    note="the rest is broth that clings, counted as water; raw suet holds 94 % fat",
)
STRUCTURAL_FAT: Final = Sourced(
    0.01,
    "kg per kg raw meat",
    Evidence.UNCHECKED,
    low=0.005,
    high=0.015,
    note="fat of the cells themselves, which does not melt out",
)
FAT_RELEASED: Final = Sourced(
    0.20,
    "share of the fat above the structural",
    Evidence.JUDGEMENT,
    low=0.10,
    high=0.30,
    note="meat up to 15 % fat; stewed mince in CoFID 2015 tied by protein released 11 to 28 %",
)
FAT_RELEASED_FAT_MEAT: Final = Sourced(
    0.35,
    "share of the fat above the structural",
    Evidence.JUDGEMENT,
    low=0.10,
    high=0.50,
    note="meat from 30 % fat; fried crumbles of the fattest beef lost 12.6 of about 30 % (USDA)",
)
_FAT_MEAT_FROM, _FAT_MEAT_FULLY = 0.15, 0.30

BLANCHED_PROTEIN_LOST: Final = Sourced(
    0.10,
    "share of the protein",
    Evidence.JUDGEMENT,
    BLANCHING_CHAPTER,
    low=0.0,
    high=0.20,
    note="the source says up to 20 %; the middle is ours",
)
BLANCHED_ASH_LOST: Final = Sourced(
    0.20,
    "share of the ash",
    Evidence.JUDGEMENT,
    BLANCHING_CHAPTER,
    low=0.0,
    high=0.40,
    note="the source says up to 40 %; the middle is ours",
)
BLANCHED_SUGAR_LOST: Final = Sourced(
    0.10,
    "share of the carbohydrate without fibre",
    Evidence.JUDGEMENT,
    BLANCHING_CHAPTER,
    low=0.0,
    high=0.35,
    note="the source says up to 35 % of the sugars; starch stays; the middle is ours",
)


def boiling_point_c(altitude_m: float) -> float:
    """Temperature at which water boils in an open pot.

        p_saturation(t) = p_air(h)

    Args:
        altitude_m: height above the sea, m, -500 to 9000.
    Returns:
        Boiling point, °C. Weather moves it by about 0.5 °C either way.
    Raises:
        OutOfRange: altitude_m outside the range.
    Source: saturation pressure of water and ISO standard atmosphere, see app.science.vapour.
    Example:
        >>> round(boiling_point_c(1524.0), 1)
        94.9
    """
    require("altitude_m", altitude_m, -500.0, 9000.0, "m")
    air_pa = atmospheric_pressure_pa(altitude_m)
    low, high = 60.0, 110.0
    for _ in range(50):
        middle = (low + high) / 2.0
        if saturation_pressure_pa(middle) < air_pa:
            low = middle
        else:
            high = middle
    return (low + high) / 2.0


@dataclass(frozen=True, slots=True)
class CookedMass:
    """Mass to expect after cooking, and how well it is known. Weigh it: the scale is right."""

    mass_kg: Range
    evidence: Evidence


def cooked_mass_kg(
    raw: Composition, raw_kg: float, method: CookingMethod, food_class: FoodClass, form: Form
) -> CookedMass:
    """Mass of boneless meat after cooking, drained.

    Args:
        raw: composition of the raw meat (its fat chooses the row). raw_kg: raw mass, kg.
        method, food_class, form: what is cooked and how.
    Returns:
        Range over the published samples that fit, else over protein ties, else our judgement.
    Raises:
        OutOfRange: a negative mass. NotInTable: nothing published fits.
    Validity: ground meat simmered in water is judgement alone; pieces depend on size and hours.
    Source: app.science.yields.cooking_yield.
    """
    require("raw_kg", raw_kg, 0.0, None, "kg")
    estimate = cooking_yield(food_class, form, method, raw.fat)
    return CookedMass(estimate.share.times(raw_kg), estimate.evidence)


def fat_layer_kg(meat: Composition, meat_kg: float) -> Range:
    """Fat that may set on a chilled pot in which this meat was simmered.

        layer = released share × (fat - structural fat) × mass

    Up to about 1 % fat nothing melts out, so very lean game shows no layer worth lifting (common
    practice, no source). Between 15 and 30 % fat the released share rises to that of fat meat.

    Args:
        meat: composition of the RAW meat. meat_kg: its mass, kg.
    Returns:
        kg of fat, low to high; the spread between cooks and cuts is larger than anything else.
    Raises:
        OutOfRange: a negative mass.
    Source: our judgement; see FAT_RELEASED, STRUCTURAL_FAT and docs/science/composition.md.
    Example:
        >>> moose = Composition(0.7555, 0.2224, 0.0074, 0.0, 0.0113)
        >>> fat_layer_kg(moose, 3.4).central
        0.0
    """
    require("meat_kg", meat_kg, 0.0, None, "kg")
    bound_low, bound_high = STRUCTURAL_FAT.span
    shares = _released_shares(meat.fat)
    free = (meat.fat - bound_high, meat.fat - STRUCTURAL_FAT.value, meat.fat - bound_low)
    kg = [max(0.0, f) * share * meat_kg for f, share in zip(free, shares, strict=True)]
    return Range(*kg)


def _released_shares(fat: float) -> tuple[float, float, float]:
    """Low, central and high share, drawn out linearly between lean and fat meat."""
    step = min(1.0, max(0.0, (fat - _FAT_MEAT_FROM) / (_FAT_MEAT_FULLY - _FAT_MEAT_FROM)))
    lean, rich = FAT_RELEASED, FAT_RELEASED_FAT_MEAT
    ends = ((lean.span[0], rich.span[0]), (lean.value, rich.value), (lean.span[1], rich.span[1]))
    low, central, high = (a + step * (b - a) for a, b in ends)
    return low, central, high


@dataclass(frozen=True, slots=True)
class Skimmed:
    """A pot after its set fat was lifted off.

    unexplained_fat_kg is how much more fat was lifted than the composition says there was: above
    0 the meat was fatter than the table's, and a fat test or a fattier row would tell the truth.
    """

    rest: Composition
    fat: Composition
    unexplained_fat_kg: float


def skimmed(pot: Composition, pot_kg: float, fat_kg: float) -> Skimmed:
    """Composition of a set fat layer that was lifted off, and of the pot that stays.

    Args:
        pot: composition of meat and liquid together. pot_kg: mass before, kg.
        fat_kg: mass of the layer as weighed, kg, 0 ≤ fat_kg < pot_kg.
    Returns:
        rest and fat; rest + fat = pot for every component. The layer takes at most the fat there
        is and is filled up with water.
    Raises:
        OutOfRange: a mass outside the range.
        Impossible: the pot has not that much fat and water; nearest is what it has, kg.
    Source: conservation of mass; LAYER_FAT is our judgement.
    """
    require("pot_kg", pot_kg, 1e-9, None, "kg")
    require("fat_kg", fat_kg, 0.0, pot_kg, "kg")
    if fat_kg == 0.0:
        return Skimmed(pot, _layer(LAYER_FAT.value), 0.0)
    pot_fat_kg, pot_water_kg = pot.fat * pot_kg, pot.water * pot_kg
    wanted_kg = LAYER_FAT.value * fat_kg
    layer_fat_kg = min(wanted_kg, pot_fat_kg)
    if fat_kg - layer_fat_kg > pot_water_kg:
        raise Impossible("the pot holds too little fat and water", pot_fat_kg + pot_water_kg)
    layer = _layer(layer_fat_kg / fat_kg)
    return Skimmed(without(pot, pot_kg, layer, fat_kg), layer, wanted_kg - layer_fat_kg)


def _layer(fat: float) -> Composition:
    return Composition(water=1.0 - fat, protein=0.0, fat=fat, carbohydrate=0.0, ash=0.0)


@dataclass(frozen=True, slots=True)
class Drained:
    """A pot split into meat and broth; the solids of the broth as a range, kg/kg."""

    meat: Composition
    liquid: Composition
    liquid_solids: Range


def drained(pot: Composition, pot_kg: float, meat_kg: float, liquid_kg: float) -> Drained:
    """Drained meat and broth of a pot, from their weighed masses.

    What has dissolved is spread evenly through all the water of the pot, in the meat as around
    it, so each gets its share with its water; fibre and everything else stays with the meat.

        broth = water + k_P protein + k_A ash + k_C (carbohydrate - fibre) + k_F fat

    Args:
        pot: composition of meat and liquid together, fat already lifted off. pot_kg: mass, kg.
        meat_kg, liquid_kg: as weighed, kg; what is missing to pot_kg was spilt or stuck and is
            counted as a part of the pot like any other.
    Returns:
        meat and liquid; their sum is the pot (less what is missing) for every component.
    Raises:
        OutOfRange: a mass outside the range.
        Impossible: more came out than went in (nearest: pot_kg), or more liquid than the pot has
            (nearest: what it has, kg).
    Validity: meat simmered until done or longer; not a thickened stew.
    Source: conservation of mass; shares PROTEIN_DISSOLVED, ASH_DISSOLVED, CARBOHYDRATE_DISSOLVED,
        FAT_DISPERSED; cross-checked with the home-prepared stocks of USDA SR28.
    """
    require("pot_kg", pot_kg, 1e-9, None, "kg")
    require("meat_kg", meat_kg, 1e-9, None, "kg")
    require("liquid_kg", liquid_kg, 0.0, None, "kg")
    split_kg = meat_kg + liquid_kg
    if split_kg > pot_kg * (1.0 + 1e-9):
        raise Impossible("more was drained than was in the pot", pot_kg)
    liquid, share = _broth(pot, 0.5)
    if liquid_kg > share * split_kg:
        raise Impossible("the pot holds less liquid than was drained", share * split_kg)
    meat = without(pot, split_kg, liquid, liquid_kg)
    solids = [_broth(pot, level)[0].solids for level in (0.0, 0.5, 1.0)]
    return Drained(meat, liquid, Range(*solids))


def _broth(pot: Composition, level: float) -> tuple[Composition, float]:
    """Broth of a pot and its share of the pot; level 0, 0.5, 1 = low, central, high shares."""

    def share(given: Sourced) -> float:
        low, high = given.span
        return low if level == 0.0 else given.value if level == 0.5 else high

    protein = share(PROTEIN_DISSOLVED) * pot.protein
    ash = share(ASH_DISSOLVED) * pot.ash
    fat = share(FAT_DISPERSED) * pot.fat
    sugars = share(CARBOHYDRATE_DISSOLVED) * max(0.0, pot.carbohydrate - pot.fibre)
    total = pot.water + protein + ash + fat + sugars
    require("water of the pot", pot.water, 1e-9, None, "kg/kg")
    broth = Composition(
        pot.water / total, protein / total, fat / total, sugars / total, ash / total
    )
    return broth, total


def reduced(liquid: Composition, kg_in: float, kg_out: float) -> Composition:
    """A broth or sauce boiled down: only water leaves.

    Args:
        liquid: before. kg_in: mass before, kg. kg_out: mass after, kg, 0 < kg_out ≤ kg_in.
    Returns:
        Composition after.
    Raises:
        OutOfRange: a mass outside the range.
        Impossible: more boiled away than there was water; nearest is that water, kg.
    Source: conservation of mass.
    """
    require("kg_out", kg_out, 0.0, kg_in, "kg")
    return with_lost_water(liquid, kg_in, kg_in - kg_out)


@dataclass(frozen=True, slots=True)
class Blanched:
    """Vegetables after blanching and draining; their solids as a range, kg/kg."""

    food: Composition
    solids: Range


def blanched(raw: Composition, raw_kg: float, drained_kg: float) -> Blanched:
    """Vegetables after a water blanch, cooled and drained, from their weighed masses.

    Some protein, ash and sugar stays in the water; water makes up the rest of what was weighed.

    Args:
        raw: composition before. raw_kg, drained_kg: masses before and after, kg.
    Returns:
        Composition after, and the range of its solids: the loss is known only as "up to".
    Raises:
        OutOfRange: a mass outside the range.
        Impossible: the drained mass is less than the solids left; nearest is those, kg.
    Validity: a blanch of minutes; steam blanching loses less.
    Source: BLANCHED_PROTEIN_LOST, BLANCHED_ASH_LOST, BLANCHED_SUGAR_LOST; conservation of mass.
    """
    require("raw_kg", raw_kg, 1e-9, None, "kg")
    require("drained_kg", drained_kg, 1e-9, None, "kg")
    central = _after_blanching(raw, raw_kg, drained_kg, 0.5)
    wettest = _after_blanching(raw, raw_kg, drained_kg, 1.0)
    driest_solids = min(1.0, raw.solids * raw_kg / drained_kg)
    return Blanched(central, Range(wettest.solids, central.solids, driest_solids))


def _after_blanching(
    raw: Composition, raw_kg: float, drained_kg: float, level: float
) -> Composition:
    """Level 0.5 takes the central losses, 1 the highest."""

    def kept(given: Sourced) -> float:
        return 1.0 - (given.value if level == 0.5 else given.span[1])

    scale = raw_kg / drained_kg
    protein = raw.protein * kept(BLANCHED_PROTEIN_LOST) * scale
    ash = raw.ash * kept(BLANCHED_ASH_LOST) * scale
    fibre = min(raw.fibre, raw.carbohydrate) * scale
    sugars = max(0.0, raw.carbohydrate - raw.fibre) * kept(BLANCHED_SUGAR_LOST) * scale
    solids = protein + ash + fibre + sugars + raw.fat * scale + raw.residue * scale
    if solids > 1.0:
        raise Impossible("the drained mass is less than its solids", solids * drained_kg)
    return Composition(1.0 - solids, protein, raw.fat * scale, fibre + sugars, ash, fibre)


__all__ = [
    "Blanched",
    "CookedMass",
    "CookingMethod",
    "Drained",
    "Skimmed",
    "blanched",
    "boiling_point_c",
    "cooked_mass_kg",
    "drained",
    "fat_layer_kg",
    "reduced",
    "skimmed",
]
