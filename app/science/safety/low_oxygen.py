"""Oxygen-free packing: what may be sealed with an absorber or in a vacuum, and where it is kept.

Botulism grows in moist food without oxygen. The gate looks at the wet end of what is known, and at
the water of the fat-free part, because fat holds none.
"""

from dataclasses import dataclass
from enum import StrEnum

from app.science import sources as s
from app.science.classes import FoodClass
from app.science.errors import require
from app.science.safety.drying_rules import FD_RAW
from app.science.safety.readings import Reading, unit_ask
from app.science.safety.rule import Outcome, Rule, Severity, Topic, Verdict, known
from app.science.sources import Evidence, Sourced

_COPY, _READ, _OURS = Evidence.COPY, Evidence.READ, Evidence.JUDGEMENT


class Kept(StrEnum):
    """Where a pack goes."""

    SHELF = "shelf"
    FRIDGE = "fridge"
    FREEZER = "freezer"


BOTULISM_AW = Sourced(0.85, "1", _READ, s.CFR_114)
FAT_FREE_MOISTURE = Sourced(
    0.10, "kg/kg", _COPY, s.USU_STORAGE, note="no research found behind it; fat-free basis is ours"
)
MOULD_AW = Sourced(0.60, "1", _COPY, s.BEUCHAT_1981)
ACID_PH = Sourced(4.6, "1", _READ, s.CFR_114)
FATTY = Sourced(0.20, "kg/kg", _OURS)
ONE_MONTH_YEARS = Sourced(1 / 12, "year", _OURS)
LEFTOVER_DAYS = Sourced(4, "day", _READ, s.FOODSAFETY_LEFTOVERS, low=3, high=4)
OIL_DAYS = Sourced(4, "day", _READ, s.NCHFP_GARLIC)
OIL_FRIDGE_C = Sourced(4.4, "degC", _READ, s.NCHFP_GARLIC, note="40 °F")

#: What grows at which water activity and temperature; shown behind the gate, never computed with.
GROWTH_LIMITS: tuple[tuple[str, Sourced], ...] = (
    ("Clostridium botulinum A and B", Sourced(0.93, "1", _READ, s.BAD_BUG_BOOK)),
    ("Clostridium botulinum E", Sourced(0.965, "1", _READ, s.BAD_BUG_BOOK)),
    ("Clostridium botulinum E, coldest", Sourced(3.3, "degC", _READ, s.BAD_BUG_BOOK)),
    ("Staphylococcus aureus", Sourced(0.86, "1", _READ, s.BAD_BUG_BOOK)),
)


def _rule(
    id: str,
    severity: Severity,
    applies_to: str,
    words: str,
    source: s.Source | None,
    evidence: Evidence,
    limits: tuple[Sourced, ...] = (),
    also: tuple[tuple[Outcome, str], ...] = (),
) -> Rule:
    return Rule(id, Topic.LOW_OXYGEN, severity, applies_to, words, source, evidence, limits, also)


ROP_WET = _rule(
    "ROP-WET",
    Severity.STOP,
    "a pack without oxygen at room temperature: water activity above 0.85, or over 10 % water in "
    "the fat-free part",
    "Not dry enough to seal without air ({found}). Botulism grows in moist food without oxygen and "
    "cannot be seen or smelled. Dry it further, or freeze it.",
    s.CFR_114,
    _READ,
    (BOTULISM_AW, FAT_FREE_MOISTURE),
    ((Outcome.PASS, "Dry enough to seal ({found})."),),
)
ROP_UNKNOWN = _rule(
    "ROP-UNKNOWN",
    Severity.STOP,
    "a pack without oxygen at room temperature whose dryness nobody knows",
    "Nobody knows how dry this is. Dry it another hour and weigh again; seal it when the weight "
    "stops falling.",
    None,
    _OURS,
    also=(
        (Outcome.CONFIRM, "The weight has stopped falling, but the water left is not worked out."),
    ),
)
ROP_MARGIN = _rule(
    "ROP-MARGIN",
    Severity.CONFIRM,
    "water activity between 0.60 and 0.85, meant to keep for over a month",
    "Below the line for botulism (0.85), yet at a water activity of {aw} mould or staling is "
    "likely. Dry it further, or eat it soon.",
    s.BEUCHAT_1981,
    _COPY,
    (MOULD_AW, BOTULISM_AW, ONE_MONTH_YEARS),
)
ROP_COMPUTED = _rule(
    "ROP-COMPUTED",
    Severity.NOTE,
    "dryness that was worked out, not measured",
    "Worked out, not measured: {low} to {high} % water. The wet end is what counts.",
    None,
    _OURS,
)
ROP_ACID = _rule(
    "ROP-ACID",
    Severity.NOTE,
    "food of pH 4.6 or below that is not dry",
    "Acid enough against botulism, not dry enough to keep: it stays cold.",
    s.CFR_114,
    _READ,
    (ACID_PH, BOTULISM_AW),
)
ROP_FAT = _rule(
    "ROP-FAT",
    Severity.CONFIRM,
    "dry enough but fatty: over 20 % fat, or nuts, brown rice, sausage and the like",
    "Fat turns rancid: an absorber helps, but not for years. This is about taste.",
    s.USU_STORAGE,
    _COPY,
    (FATTY, ONE_MONTH_YEARS),
)
ROP_FISH = _rule(
    "ROP-FISH",
    Severity.STOP,
    "moist raw or smoked fish packed without oxygen",
    "Fish packed without air stays frozen before, during and after.",
    s.FOOD_CODE_ROP,
    _COPY,
)
ROP_FRIDGE = _rule(
    "ROP-FRIDGE",
    Severity.CONFIRM,
    "moist food packed without oxygen, in the fridge",
    "A vacuum adds no days in the fridge: keep it below 5 °C and to its ordinary days.",
    s.PENNSYLVANIA_46_402,
    _READ,
    (Sourced(14, "day", _READ, s.PENNSYLVANIA_46_402, note="shops only; editions differ"),),
)
FRIDGE_DAYS = _rule(
    "FRIDGE-DAYS",
    Severity.STOP,
    "food kept in the fridge beyond its ordinary days",
    "Day {days}: its {limit} days in the fridge are over. Packing without air adds none.",
    s.FOODSAFETY_LEFTOVERS,
    _READ,
    (LEFTOVER_DAYS,),
    ((Outcome.CONFIRM, "How long was it in the fridge? That is not on record."),),
)
OIL_GARLIC = _rule(
    "OIL-GARLIC",
    Severity.STOP,
    "garlic, fresh herbs or vegetables under oil",
    "Under oil there is no air: keep it at 4 °C or colder for 4 days at most, or freeze it; never "
    "on the shelf. Discard it after 4 days.",
    s.NCHFP_GARLIC,
    _READ,
    (OIL_DAYS, OIL_FRIDGE_C),
    ((Outcome.PASS, "Day {days} of 4 under oil in the fridge."),),
)
VAC_NOT = _rule(
    "VAC-NOT",
    Severity.NOTE,
    "a vacuum pack of moist food",
    "A vacuum is packaging, not preservation: cold food stays cold.",
    s.USU_VACUUM,
    _READ,
)
CAN_NONE = _rule(
    "CAN-NONE",
    Severity.STOP,
    "canning, curing with nitrite, smoking schedules, fermenting",
    "{process} is not covered here: use the current official guide.",
    None,
    _OURS,
)

RULES = (
    ROP_WET, ROP_UNKNOWN, ROP_MARGIN, ROP_COMPUTED, ROP_ACID, ROP_FAT, ROP_FISH, ROP_FRIDGE,
    FRIDGE_DAYS, OIL_GARLIC, VAC_NOT, CAN_NONE,
)  # fmt: skip

_FISH = (FoodClass.FISH_LEAN, FoodClass.FISH_FATTY, FoodClass.SHELLFISH)


@dataclass(frozen=True, slots=True)
class _Dryness:
    """Wet end of what is known: fat-free moisture kg/kg and water activity, None when unknown."""

    fat_free: float | None
    aw: float | None

    @property
    def is_known(self) -> bool:
        return self.fat_free is not None or self.aw is not None

    @property
    def is_wet(self) -> bool:
        too_moist = self.fat_free is not None and self.fat_free > FAT_FREE_MOISTURE.value + 1e-9
        return too_moist or (self.aw is not None and self.aw > BOTULISM_AW.value)

    @property
    def words(self) -> str:
        parts = [] if self.fat_free is None else [f"{self.fat_free:.1%} water in the fat-free part"]
        parts += [] if self.aw is None else [f"water activity {self.aw:.2f}"]
        return ", ".join(parts).replace("%", " %")


def oxygen_free_pack(
    food_class: FoodClass,
    *,
    fat_fraction: float | None,
    water_low: float | None,
    water_high: float | None,
    water_activity: float | None = None,
    moisture_is_measured: bool = False,
    weighings_agree: bool = False,
    planned_years: float | None = None,
    raw: bool = False,
    is_smoked: bool = False,
    is_oily: bool = False,
    is_vacuum: bool = False,
    ph: float | None = None,
    kept: Kept = Kept.SHELF,
    fridge_days: float | None = None,
    fridge_days_limit: float = LEFTOVER_DAYS.value,
) -> tuple[Verdict, ...]:
    """May this food be packed without oxygen, with an absorber or in a vacuum?

    Args:
        food_class: what it is. fat_fraction: kg fat per kg as packed, 0 to 1.
        water_low, water_high: range of the water fraction as packed, kg/kg; the wet end decides.
        water_activity: wet end, measured or computed, 0 to 1. moisture_is_measured: not computed.
        weighings_agree: two equal weighings on record. planned_years: how long it shall keep, None
        counts as long. raw: carries the RAW mark. is_smoked: smoked fish. is_oily: nuts, brown
        rice and the like. is_vacuum: vacuum instead of absorber. ph: measured, or None.
        kept: shelf, fridge or freezer. fridge_days, fridge_days_limit: for the fridge, days.
        None or NaN is unknown, and unknown is never dry.
    Returns:
        Verdicts; for the shelf always one of ROP-WET and ROP-UNKNOWN.
    Raises:
        OutOfRange: a fraction outside 0 to 1.
    Validity: 10 % is common advice without research behind it; it says nothing of how long.
    Source: 21 CFR 114.3 for 0.85; Utah State University for 10 %.
    Example:
        >>> lean = oxygen_free_pack(
        ...     FoodClass.GAME, fat_fraction=0.08, water_low=0.03, water_high=0.04,
        ...     moisture_is_measured=True)
        >>> [(v.id, v.outcome.value) for v in lean]
        [('ROP-WET', 'pass')]
    """
    fat = _fraction("fat_fraction", fat_fraction)
    dryness = _dryness(fat, water_low, water_high, water_activity)
    is_moist = dryness.is_wet or not dryness.is_known
    found = []
    if food_class in _FISH and (raw or is_smoked) and is_moist and kept is not Kept.FREEZER:
        found.append(Verdict(ROP_FISH, Outcome.STOP))
    if is_vacuum and is_moist:
        found.append(Verdict(VAC_NOT, Outcome.NOTE))
    if kept is Kept.FRIDGE and is_moist:
        found += _fridge(known(fridge_days), fridge_days_limit)
    if kept is Kept.SHELF:
        found += _shelf(dryness, weighings_agree, known(planned_years), known(ph))
        oily = is_oily or food_class is FoodClass.FAT or (fat or 0.0) > FATTY.value
        if oily and not is_moist and _is_long(known(planned_years)):
            found.append(Verdict(ROP_FAT, Outcome.CONFIRM))
        found += _computed(moisture_is_measured, known(water_low), known(water_high))
    if raw and food_class.is_animal and not is_moist:  # wet food has been through no dryer
        found.append(Verdict(FD_RAW, Outcome.NOTE))
    return tuple(found)


def under_oil(
    kept: Kept, days: float | None, fridge_c: float | None = None, *, insisted: bool = False
) -> tuple[Verdict, ...]:
    """Garlic, herbs or vegetables under oil: how long, and where?

    Args:
        kept: shelf, fridge or freezer. days: since it was made; None unknown. fridge_c: reading.
        insisted: the person confirmed an unusual reading.
    """
    if kept is Kept.FREEZER:
        return ()
    ask = None if insisted else unit_ask(Reading.FRIDGE, fridge_c, "C")
    if ask:
        return (ask,)
    so_far, cold = known(days), known(fridge_c)
    warm = cold is not None and cold > OIL_FRIDGE_C.value
    in_time = so_far is not None and 0.0 <= so_far <= OIL_DAYS.value
    outcome = Outcome.PASS if kept is Kept.FRIDGE and in_time and not warm else Outcome.STOP
    return (Verdict(OIL_GARLIC, outcome, {} if so_far is None else {"days": so_far}),)


def not_covered(process: str) -> tuple[Verdict, ...]:
    """The answer to canning, curing, smoking schedules and fermenting.

    Example:
        >>> not_covered("pressure canning")[0].sentence
        'Pressure canning is not covered here: use the current official guide.'
    """
    return (Verdict(CAN_NONE, Outcome.STOP, {"process": process[:1].upper() + process[1:]}),)


def _dryness(
    fat: float | None,
    water_low: float | None,
    water_high: float | None,
    water_activity: float | None,
) -> _Dryness:
    ends = [
        end
        for name, value in (("water_low", water_low), ("water_high", water_high))
        if (end := _fraction(name, value)) is not None
    ]
    aw = _fraction("water_activity", water_activity)
    # Without its wet end the range is unknown; without its fat the fat-free part is.
    if known(water_high) is None or fat is None or fat >= 1.0:
        return _Dryness(None, aw)
    return _Dryness(max(ends) / (1.0 - fat), aw)


def _fraction(name: str, value: float | None) -> float | None:
    number = known(value)
    if number is not None:
        require(name, number, 0.0, 1.0)
    return number


def _is_long(planned_years: float | None) -> bool:
    return planned_years is None or planned_years > ONE_MONTH_YEARS.value


def _shelf(
    dryness: _Dryness, weighings_agree: bool, planned_years: float | None, ph: float | None
) -> list[Verdict]:
    if not dryness.is_known:
        return [Verdict(ROP_UNKNOWN, Outcome.CONFIRM if weighings_agree else Outcome.STOP)]
    numbers = {"found": dryness.words}
    found = [Verdict(ROP_WET, Outcome.STOP if dryness.is_wet else Outcome.PASS, numbers)]
    aw = dryness.aw
    if ph is not None and ph <= ACID_PH.value and aw is not None and aw > BOTULISM_AW.value:
        found.append(Verdict(ROP_ACID, Outcome.NOTE))
    if aw is not None and MOULD_AW.value < aw <= BOTULISM_AW.value and _is_long(planned_years):
        found.append(Verdict(ROP_MARGIN, Outcome.CONFIRM, {"aw": f"{aw:.2f}"}))
    return found


def _computed(is_measured: bool, low: float | None, high: float | None) -> list[Verdict]:
    if is_measured or low is None or high is None:
        return []
    return [Verdict(ROP_COMPUTED, Outcome.NOTE, {"low": low * 100, "high": high * 100})]


def _fridge(days: float | None, limit: float) -> list[Verdict]:
    found = [Verdict(ROP_FRIDGE, Outcome.CONFIRM)]
    if days is None:
        found.append(Verdict(FRIDGE_DAYS, Outcome.CONFIRM))
    elif days > limit:
        found.append(Verdict(FRIDGE_DAYS, Outcome.STOP, {"days": days, "limit": limit}))
    return found
