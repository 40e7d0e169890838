"""Cooking: the target of each food, and was it met? Only this gate takes the RAW mark away."""

from collections.abc import Collection
from dataclasses import dataclass

from app.science import sources as s
from app.science.classes import FoodClass, Form
from app.science.errors import Impossible, require
from app.science.safety.cooking_rules import (
    COOK_FORM,
    COOK_GAME_STRICT,
    COOK_MIXED,
    COOK_NOREAD,
    COOK_PARTIAL,
    TRICH_WILD,
)
from app.science.safety.readings import Reading, to_celsius, unit_ask
from app.science.safety.rule import Outcome, Rule, RuleSet, Verdict, known
from app.science.sources import Evidence, Source

_MEAT = (FoodClass.RED_MEAT, FoodClass.PORK)
_CUT = (Form.PIECES, Form.GROUND, Form.LIQUID, Form.POWDER)
_ANY = tuple(Form)
_FISH = (FoodClass.FISH_LEAN, FoodClass.FISH_FATTY)
_US_LIKE = (RuleSet.US, RuleSet.AU)


@dataclass(frozen=True, slots=True)
class CookRow:
    """One row of a published table: both units as its publisher prints them."""

    label: str
    classes: tuple[FoodClass, ...]
    forms: tuple[Form, ...]
    rule_sets: tuple[RuleSet, ...]
    temp_f: float | None
    temp_c: float | None
    hold_minutes: float
    source: Source
    evidence: Evidence
    observation: str = ""


def _us(
    label: str,
    classes: tuple[FoodClass, ...],
    forms: tuple[Form, ...],
    temp_f: float | None,
    temp_c: float | None,
    hold: float = 0.0,
    source: Source = s.FSIS_COOKING_CHART,
    observation: str = "",
) -> CookRow:
    return CookRow(
        label, classes, forms, _US_LIKE, temp_f, temp_c, hold, source, Evidence.COPY, observation
    )


def _ca(
    label: str, classes: tuple[FoodClass, ...], forms: tuple[Form, ...], c: float, f: float
) -> CookRow:
    source = s.HEALTH_CANADA_COOKING
    return CookRow(label, classes, forms, (RuleSet.CA,), f, c, 0.0, source, Evidence.COPY)


#: The published targets; rows without a class are for the page alone. Where no household row exists
#: for a class, the strictest row of its kind stands in for it (our judgement): trim and diced meat
#: as ground meat, fat as ground meat, milk foods and broth as leftovers. Australia has no opened
#: table yet and takes the US rows.
COOK_TABLE: tuple[CookRow, ...] = (
    _us("steak, chop or roast", _MEAT, (Form.WHOLE,), 145, 62.8, 3.0),
    _us("ground meat and meat mixtures", _MEAT, _CUT, 160, 71.1),
    _us("ground meat and meat mixtures", (FoodClass.FAT,), _ANY, 160, 71.1),
    _us("poultry", (FoodClass.POULTRY,), _ANY, 165, 73.9),
    _us("game", (FoodClass.GAME,), _ANY, 160, 71.1, source=s.FSIS_GAME),
    _us("game birds", (FoodClass.GAME_BIRD,), _ANY, 165, 73.9, source=s.FSIS_GAME),
    _us(
        "fish",
        _FISH,
        _ANY,
        145,
        62.8,
        source=s.FOODSAFETY_COOKING_CHART,
        observation="or the flesh is opaque and falls apart under a fork",
    ),
    _us(
        "shellfish",
        (FoodClass.SHELLFISH,),
        _ANY,
        None,
        None,
        source=s.FOODSAFETY_COOKING_CHART,
        observation="flesh pearly and opaque, shells open",
    ),
    _us(
        "eggs in the shell",
        (FoodClass.EGG,),
        (Form.WHOLE,),
        None,
        None,
        source=s.FOODSAFETY_COOKING_CHART,
        observation="yolk and white firm",
    ),
    _us("egg dishes", (FoodClass.EGG,), _CUT, 160, 71.1),
    _us(
        "dishes, broths and leftovers",
        (FoodClass.DISH, FoodClass.BROTH, FoodClass.DAIRY),
        _ANY,
        165,
        73.9,
    ),
    _us("ham, fresh or smoked, uncooked", (), (), 145, 62.8, 3.0),
    _us("fully cooked ham reheated, packed by an inspected plant", (), (), 140, 60.0),
    _us("fully cooked ham reheated, any other", (), (), 165, 73.9),
    _us("stuffing", (), (), 165, 73.9),
    _us(
        "soups, sauces and gravies reheated",
        (),
        (),
        None,
        None,
        source=s.FOODSAFETY_LEFTOVERS,
        observation="a rolling boil",
    ),
    CookRow(
        "wild meat-eaters",
        (FoodClass.WILD_MEAT_EATER,),
        _ANY,
        tuple(RuleSet),
        165,
        74,
        0.0,
        s.MMWR_TRICHINELLA,
        Evidence.READ,
    ),
    _ca(
        "beef, veal and lamb, pieces and whole cuts", (FoodClass.RED_MEAT,), (Form.WHOLE,), 63, 145
    ),
    _ca("pork, whole cuts", (FoodClass.PORK,), (Form.WHOLE,), 71, 160),
    _ca("ground meat and meat mixtures", (*_MEAT, FoodClass.FAT), _CUT, 71, 160),
    _ca("ground meat and meat mixtures", (FoodClass.FAT,), (Form.WHOLE,), 71, 160),
    _ca("poultry pieces and ground poultry", (FoodClass.POULTRY,), _CUT, 74, 165),
    _ca("whole poultry", (FoodClass.POULTRY,), (Form.WHOLE,), 82, 180),
    _ca("game", (FoodClass.GAME,), _ANY, 74, 165),
    _ca("game birds, pieces", (FoodClass.GAME_BIRD,), _CUT, 74, 165),
    _ca("whole game birds", (FoodClass.GAME_BIRD,), (Form.WHOLE,), 82, 180),
    _ca("fish", _FISH, _ANY, 70, 158),
    _ca("shellfish", (FoodClass.SHELLFISH,), _ANY, 74, 165),
    _ca("egg dishes", (FoodClass.EGG,), _ANY, 74, 165),
    _ca(
        "dishes, broths and leftovers",
        (FoodClass.DISH, FoodClass.BROTH, FoodClass.DAIRY),
        _ANY,
        74,
        165,
    ),
)

#: Ground meat's row, in both units as printed.
NO_REST_F, NO_REST_C = 160.0, 71.1

#: UK: one target for all food; minutes the centre must stay at or above each temperature. The 6 s
#: at 80 °C pass while a thermometer settles (our judgement). No row below 70 °C is used.
UK_HOLDS: tuple[tuple[float, float], ...] = ((80.0, 0.0), (75.0, 0.5), (70.0, 2.0))


@dataclass(frozen=True, slots=True)
class CookTarget:
    """What the centre must reach; temperatures are None where only an observation is published."""

    temp_c: float | None
    temp_f: float | None
    hold_minutes: float
    rule: Rule
    source: Source
    food: str
    evidence: Evidence
    observation: str = ""

    @property
    def words(self) -> str:
        """The target as people read it.

        Example:
            >>> cook_target([FoodClass.PORK], Form.WHOLE).words
            '145 °F (62.8 °C), kept for 3 minutes'
        """
        if self.temp_f is None:
            return self.observation
        held = f", kept for {self.hold_minutes:g} minutes" if self.hold_minutes else ""
        return f"{self.temp_f:g} °F ({self.temp_c:g} °C){held}"


def cook_target(
    food_classes: Collection[FoodClass], form: Form, rule_set: RuleSet = RuleSet.US
) -> CookTarget:
    """The highest cooking target of any ingredient.

    Args:
        food_classes: class of every ingredient; plants have no target of their own.
        form: how the food is cut. rule_set: whose advice counts.
    Returns:
        Target in °C and °F as printed, minutes to hold, the rule and its source.
    Raises:
        Impossible: no ingredient has a target.
    Source: the rows of COOK_TABLE; the highest wins (our judgement).
    Example:
        >>> cook_target([FoodClass.GAME, FoodClass.POULTRY], Form.GROUND).temp_f
        165
    """
    rows = [_row(food, form, rule_set) for food in sorted(set(food_classes)) if food.is_animal]
    if not rows:
        raise Impossible("no ingredient here has a cooking target")
    top = max(rows, key=lambda row: (row.temp_c or 0.0, row.hold_minutes))
    mixed = len({(row.temp_c, row.hold_minutes) for row in rows}) > 1
    return CookTarget(
        top.temp_c,
        top.temp_f,
        top.hold_minutes,
        COOK_MIXED if mixed else COOK_FORM,
        top.source,
        top.label,
        top.evidence,
        "; ".join(sorted({row.observation for row in rows if row.observation})),
    )


def cooked(
    food_classes: Collection[FoodClass],
    form: Form,
    centre_temp: float | None,
    unit: str,
    rest_minutes: float = 0.0,
    rule_set: RuleSet = RuleSet.US,
    *,
    insisted: bool = False,
) -> tuple[Verdict, ...]:
    """Did a cook step reach its target?

    Args:
        food_classes: class of every ingredient. form: how the food is cut.
        centre_temp: as read at the centre; None or NaN is no reading. unit: "C" or "F" as typed.
        rest_minutes: time the centre stayed at or above the reading, min ≥ 0.
        rule_set: whose advice counts. insisted: the person confirmed an unusual reading.
    Returns:
        Verdicts; empty for plants alone, which carry no RAW mark.
    Raises:
        OutOfRange: rest_minutes negative or NaN. ValueError: unknown unit.
    Validity: compares in the unit typed, against the limit printed in that unit.
    Source: COOK_TABLE. Never cooked by oven setting, time or colour.
    Example:
        >>> [v.outcome.value for v in cooked([FoodClass.GAME], Form.GROUND, 159.0, "F")]
        ['stop', 'confirm']
    """
    require("rest_minutes", rest_minutes, 0.0, None, "min")
    if not any(food.is_animal for food in food_classes):
        return ()
    target = cook_target(food_classes, form, rule_set)
    reading = known(centre_temp)
    if target.temp_c is None:
        return (_verdict(target, Outcome.CONFIRM, "not measured"),)
    if reading is None:
        return (Verdict(COOK_NOREAD, Outcome.STOP, {"target": target.words}),)
    ask = None if insisted else unit_ask(Reading.COOK_CENTRE, reading, unit)
    if ask:
        return (ask,)
    return judged(target, reading, unit, rest_minutes, food_classes)


def judged(
    target: CookTarget,
    reading: float,
    unit: str,
    rest_minutes: float,
    food_classes: Collection[FoodClass],
) -> tuple[Verdict, ...]:
    """A centre temperature that is known, beside its target.

    Args:
        target: of `cook_target`. reading, unit: as typed. rest_minutes: held so long, min.
        food_classes: class of every ingredient.
    Returns:
        Verdicts; the first one is the target's own.
    """
    if target.temp_c is None:
        return (_verdict(target, Outcome.CONFIRM, "not measured"),)
    shown = _reading_words(reading, unit, rest_minutes)
    if not _met(target, reading, unit, rest_minutes):
        return _unmet(target, shown, to_celsius(reading, unit), food_classes)
    return _reached(target, shown, reading, unit, food_classes)


def clears_raw(verdicts: Collection[Verdict], confirmed: Collection[str] = ()) -> bool:
    """Does a cook step take the RAW mark away?

    Args:
        verdicts: of `cooked`. confirmed: ids of rules for which the person gave a reason.
    Returns:
        True only when a target was met (or, where only an observation is published, confirmed)
        and nothing stops or asks.
    """
    gates = (COOK_FORM.id, COOK_MIXED.id)
    met = any(
        v.id in gates
        and (v.outcome is Outcome.PASS or (v.outcome is Outcome.CONFIRM and v.id in confirmed))
        for v in verdicts
    )
    return met and not any(v.outcome in (Outcome.STOP, Outcome.ASK) for v in verdicts)


def _row(food: FoodClass, form: Form, rule_set: RuleSet) -> CookRow:
    """The printed row of one ingredient; the UK prints one row for everything else."""
    for row in COOK_TABLE:
        if food in row.classes and form in row.forms and rule_set in row.rule_sets:
            return row
    celsius, hold = UK_HOLDS[-1]
    source, copy = s.FSA_COOKING, Evidence.COPY
    return CookRow("all food", (food,), (form,), (rule_set,), 158, celsius, hold, source, copy)


def _met(target: CookTarget, reading: float, unit: str, rest_minutes: float) -> bool:
    limit = target.temp_f if unit == "F" else target.temp_c
    if limit is not None and reading >= limit and rest_minutes >= target.hold_minutes:
        return True
    if target.source is not s.FSA_COOKING:
        # The same meat ground needs 160 °F and no rest, so a whole cut that hot needs none either.
        no_rest = NO_REST_F if unit == "F" else NO_REST_C
        return target.hold_minutes > 0 and reading >= no_rest
    temp_c = to_celsius(reading, unit)
    return any(temp_c >= row_c and rest_minutes >= minutes for row_c, minutes in UK_HOLDS)


def _unmet(
    target: CookTarget, shown: str, temp_c: float, food_classes: Collection[FoodClass]
) -> tuple[Verdict, ...]:
    found = [_verdict(target, Outcome.STOP, shown)]
    if FoodClass.WILD_MEAT_EATER in food_classes:
        found.append(Verdict(TRICH_WILD, Outcome.STOP))
    if temp_c > COOK_PARTIAL.limits[0].value:
        found.append(Verdict(COOK_PARTIAL, Outcome.CONFIRM))
    return tuple(found)


def _reached(
    target: CookTarget, shown: str, reading: float, unit: str, food_classes: Collection[FoodClass]
) -> tuple[Verdict, ...]:
    found = [_verdict(target, Outcome.PASS, shown)]
    strict_f, strict_c = (limit.value for limit in COOK_GAME_STRICT.limits)
    if FoodClass.GAME in food_classes and reading < (strict_f if unit == "F" else strict_c):
        found.append(Verdict(COOK_GAME_STRICT, Outcome.NOTE))
    return tuple(found)


def _verdict(target: CookTarget, outcome: Outcome, shown: str) -> Verdict:
    numbers = {"centre": shown, "food": target.food, "target": target.words}
    return Verdict(target.rule, outcome, numbers | {"source": str(target.source)})


def _reading_words(reading: float, unit: str, rest_minutes: float) -> str:
    rest = f", kept for {rest_minutes:g} minutes" if rest_minutes else ""
    return f"{reading:g} °{unit}{rest}"
