"""A freezer or fridge without power: what becomes of each food, by the published tables."""

from dataclasses import dataclass
from enum import StrEnum

from app.science import sources as s
from app.science.classes import FoodClass, Form
from app.science.errors import NotCovered, require
from app.science.safety.rule import Outcome, Rule, Severity, Topic, Verdict, known
from app.science.sources import Evidence, Source, Sourced


class Fate(StrEnum):
    """What becomes of one food."""

    REFREEZE = "refreeze"
    KEEP = "keep"
    DISCARD = "discard"
    LOOK = "look"


WARM_C = Sourced(4.4, "degC", Evidence.COPY, s.FOODSAFETY_FREEZER, note="40 °F")
WARM_HOURS = Sourced(2, "hour", Evidence.COPY, s.FOODSAFETY_FREEZER)
VEGETABLE_HOURS = Sourced(6, "hour", Evidence.COPY, s.FOODSAFETY_FREEZER)
CLOSED_FRIDGE_HOURS = Sourced(4, "hour", Evidence.READ, s.FOODSAFETY_FRIDGE)
SAUCE_C = Sourced(10, "degC", Evidence.COPY, s.FOODSAFETY_FRIDGE_2024, note="50 °F")
SAUCE_HOURS = Sourced(8, "hour", Evidence.COPY, s.FOODSAFETY_FRIDGE_2024)

OUT_FREEZER = Rule(
    id="OUT-FREEZER",
    topic=Topic.OUTAGE,
    severity=Severity.STOP,
    applies_to="a freezer that stood without power, food by food",
    words="{advice} Never taste to decide.",
    also=(
        (Outcome.PASS, "{advice}"),
        (
            Outcome.NOTE,
            "About {hours} h if the door stayed shut. Look at each food for ice before deciding.",
        ),
    ),
    source=s.FDA_POWER_OUTAGE,
    others=(s.FOODSAFETY_FREEZER,),
    evidence=Evidence.COPY,
    limits=(
        Sourced(48, "hour", Evidence.COPY, s.FDA_POWER_OUTAGE, note="full"),
        Sourced(24, "hour", Evidence.COPY, s.FDA_POWER_OUTAGE, note="half full"),
        WARM_C,
        WARM_HOURS,
        VEGETABLE_HOURS,
    ),
)
OUT_FRIDGE = Rule(
    id="OUT-FRIDGE",
    topic=Topic.OUTAGE,
    severity=Severity.STOP,
    applies_to="a fridge without power for over 4 hours, or food above 4.4 °C (40 °F) for over 2",
    words="{advice} Never taste to decide.",
    also=((Outcome.PASS, "{advice}"),),
    source=s.FOODSAFETY_FRIDGE,
    others=(s.FOODSAFETY_FRIDGE_2024,),
    evidence=Evidence.READ,
    limits=(CLOSED_FRIDGE_HOURS, WARM_C, WARM_HOURS, SAUCE_C, SAUCE_HOURS),
)

RULES = (OUT_FREEZER, OUT_FRIDGE)

_TEXTURE = "Texture and flavour suffer."


@dataclass(frozen=True, slots=True)
class OutageRow:
    """One food of a published outage table.

    `icy` is what the table says of food that still has ice and feels fridge-cold, or reads 4.4 °C
    (40 °F) or colder; the fridge table has none. `warm` is for over 2 hours above that.
    """

    food: str
    icy: Fate | None
    warm: Fate
    source: Source
    evidence: Evidence
    icy_note: str = ""
    warm_note: str = ""


@dataclass(frozen=True, slots=True)
class OutageAnswer:
    """What becomes of one food, why, and by which row."""

    fate: Fate
    sentence: str
    row: OutageRow
    rule: Rule

    @property
    def verdict(self) -> Verdict:
        """The same as a verdict, for the ledger to keep."""
        return Verdict(self.rule, _OUTCOME[self.fate], {"advice": self.sentence})


_OUTCOME = {
    Fate.REFREEZE: Outcome.PASS,
    Fate.KEEP: Outcome.PASS,
    Fate.LOOK: Outcome.CONFIRM,
    Fate.DISCARD: Outcome.STOP,
}


def _frozen(
    foods: str, icy: Fate, warm: Fate, icy_note: str = "", warm_note: str = ""
) -> tuple[OutageRow, ...]:
    source, copy = s.FOODSAFETY_FREEZER, Evidence.COPY
    return tuple(
        OutageRow(food.strip(), icy, warm, source, copy, icy_note, warm_note)
        for food in foods.split(";")
    )


#: Frozen food, one row per food.
FREEZER_TABLE: tuple[OutageRow, ...] = (
    *_frozen(
        "beef, veal, lamb, pork; ground meat; poultry; ground poultry; liver, kidney, heart; "
        "casseroles, stews, soups",
        Fate.REFREEZE,
        Fate.DISCARD,
    ),
    *_frozen("fish; shellfish; breaded seafood", Fate.REFREEZE, Fate.DISCARD, _TEXTURE),
    *_frozen("milk; soft and semi-soft cheese", Fate.REFREEZE, Fate.DISCARD, "Texture suffers."),
    *_frozen(
        "eggs out of the shell, egg products; shredded cheese; cheesecake; "
        "casseroles with milk, cream, eggs or soft cheese",
        Fate.REFREEZE,
        Fate.DISCARD,
    ),
    *_frozen("ice cream, frozen yogurt", Fate.DISCARD, Fate.DISCARD),
    *_frozen("hard cheese", Fate.REFREEZE, Fate.REFREEZE),
    *_frozen(
        "fruit juice; fruit, home or bought packs",
        Fate.REFREEZE,
        Fate.LOOK,
        _TEXTURE,
        "Refreeze, but discard it if mouldy, slimy or smelling of yeast.",
    ),
    *_frozen(
        "vegetable juice; vegetables, blanched or packed", Fate.REFREEZE, Fate.DISCARD, _TEXTURE
    ),
    *_frozen(
        "bread, rolls, muffins, cakes without custard; waffles, pancakes, bagels; "
        "flour, cornmeal, nuts",
        Fate.REFREEZE,
        Fate.REFREEZE,
    ),
    *_frozen(
        "pie crust; bread dough",
        Fate.REFREEZE,
        Fate.REFREEZE,
        "Some quality is lost.",
        "Much quality is lost.",
    ),
    *_frozen(
        "pastry with custard or cheese; pasta or rice casseroles; frozen meals, pizza, meat pie",
        Fate.REFREEZE,
        Fate.DISCARD,
    ),
)
VEGETABLE_ROWS = ("vegetable juice", "vegetables, blanched or packed")


def _chilled(fate: Fate, source: Source, evidence: Evidence, foods: str) -> tuple[OutageRow, ...]:
    return tuple(OutageRow(food.strip(), None, fate, source, evidence) for food in foods.split(";"))


_2010 = (s.FOODSAFETY_FRIDGE, Evidence.READ)
_2024 = (s.FOODSAFETY_FRIDGE_2024, Evidence.COPY)

#: Chilled food above 4.4 °C (40 °F) for over 2 hours, one row per food.
FRIDGE_TABLE: tuple[OutageRow, ...] = (
    *_chilled(
        Fate.DISCARD,
        *_2010,
        "raw or leftover meat, poultry, fish; soy meat substitutes; thawing meat or poultry; "
        "meat, egg or seafood salads; gravy, stuffing, broth; lunch meat, sausage, bacon, dried "
        "beef; pizza; opened canned meat or fish; ham marked keep refrigerated; casseroles, soups, "
        "stews; soft cheese; shredded cheese; low-fat cheese; milk, cream, yogurt, soy milk; "
        "opened infant formula; shell eggs, egg dishes; custards, puddings, quiche",
    ),
    *_chilled(
        Fate.DISCARD,
        *_2024,
        "cut fruit; sliced or shredded coconut; fish and oyster sauce; creamy dressings; opened "
        "pasta sauce; dough; cooked pasta, rice, potatoes; fresh pasta; cheesecake; custard pies; "
        "cooked vegetables; cut or pre-washed vegetables; opened vegetable juice; garlic in oil",
    ),
    *_chilled(
        Fate.KEEP,
        *_2010,
        "hard cheese; processed cheese; grated cheese in a can; butter, margarine",
    ),
    *_chilled(
        Fate.KEEP,
        *_2024,
        "whole fruit; opened fruit juice; opened canned fruit; dried fruit; peanut butter; jelly, "
        "relish, mustard, ketchup; olives, pickles; Worcestershire, soy, barbecue, hoisin sauce; "
        "vinegar dressings; bread, cakes, tortillas; breakfast breads; fruit pies; raw whole "
        "vegetables; mushrooms, herbs",
    ),
    *_chilled(Fate.LOOK, *_2024, "mayonnaise; tartar sauce; horseradish"),
    OutageRow("sealed dry pouches", None, Fate.KEEP, s.FOODSAFETY_FRIDGE, Evidence.JUDGEMENT),
)

_FREEZER_ROWS = {row.food: row for row in FREEZER_TABLE}
_FRIDGE_ROWS = {row.food: row for row in FRIDGE_TABLE}
_MEAT_ROW = "beef, veal, lamb, pork"
_FREEZER_FOOD: dict[FoodClass, str] = {
    FoodClass.RED_MEAT: _MEAT_ROW,
    FoodClass.PORK: _MEAT_ROW,
    FoodClass.GAME: _MEAT_ROW,
    FoodClass.WILD_MEAT_EATER: _MEAT_ROW,
    FoodClass.FAT: _MEAT_ROW,
    FoodClass.POULTRY: "poultry",
    FoodClass.GAME_BIRD: "poultry",
    FoodClass.FISH_LEAN: "fish",
    FoodClass.FISH_FATTY: "fish",
    FoodClass.SHELLFISH: "shellfish",
    FoodClass.EGG: "eggs out of the shell, egg products",
    FoodClass.DAIRY: "milk",
    FoodClass.BROTH: "casseroles, stews, soups",
    FoodClass.DISH: "casseroles, stews, soups",
    FoodClass.VEGETABLE: "vegetables, blanched or packed",
    FoodClass.FRUIT: "fruit, home or bought packs",
    FoodClass.GRAIN_LEGUME: "pasta or rice casseroles",
}
_FRIDGE_FOOD: dict[FoodClass, str] = {
    FoodClass.EGG: "shell eggs, egg dishes",
    FoodClass.DAIRY: "milk, cream, yogurt, soy milk",
    FoodClass.BROTH: "gravy, stuffing, broth",
    FoodClass.DISH: "casseroles, soups, stews",
    FoodClass.FRUIT: "cut fruit",
    FoodClass.VEGETABLE: "cooked vegetables",
    FoodClass.GRAIN_LEGUME: "cooked pasta, rice, potatoes",
}


def freezer_food(food_class: FoodClass, form: Form = Form.WHOLE) -> str:
    """The row of the freezer table that a lot falls under.

    The class alone cannot tell bread from rice, so grains take the strict row (our judgement).

    Raises:
        NotCovered: salt, sugar, oil and the like stand in no row.
    Example:
        >>> freezer_food(FoodClass.GAME, Form.GROUND)
        'ground meat'
    """
    food = _FREEZER_FOOD.get(food_class)
    if food is None:
        raise NotCovered(f"power loss and {food_class.value} goods")
    ground = {_MEAT_ROW: "ground meat", "poultry": "ground poultry"}
    if form is Form.GROUND:
        food = ground.get(food, food)
    if form is Form.LIQUID and food_class in (FoodClass.VEGETABLE, FoodClass.FRUIT):
        food = {FoodClass.VEGETABLE: "vegetable juice", FoodClass.FRUIT: "fruit juice"}[food_class]
    return food


def fridge_food(food_class: FoodClass, form: Form = Form.PIECES, *, is_raw: bool = False) -> str:
    """The row of the fridge table that a lot falls under; raw whole plants keep.

    Raises:
        NotCovered: salt, sugar, oil and the like stand in no row.
    Example:
        >>> fridge_food(FoodClass.FRUIT, Form.WHOLE, is_raw=True)
        'whole fruit'
    """
    if is_raw and form is Form.WHOLE and food_class in (FoodClass.FRUIT, FoodClass.VEGETABLE):
        return "whole fruit" if food_class is FoodClass.FRUIT else "raw whole vegetables"
    if food_class is FoodClass.PANTRY:
        raise NotCovered(f"power loss and {food_class.value} goods")
    return _FRIDGE_FOOD.get(food_class, "raw or leftover meat, poultry, fish")


def freezer_outage(*, is_full: bool) -> tuple[Verdict, ...]:
    """How long a shut freezer stays cold; a note, never a pass: each food is looked at."""
    hours = OUT_FREEZER.limits[0 if is_full else 1].value
    return (Verdict(OUT_FREEZER, Outcome.NOTE, {"hours": hours}),)


def outage_freezer(
    food: str, still_icy: bool | None, hours_above_4_4c: float | None
) -> OutageAnswer:
    """What becomes of one frozen food.

    Args:
        food: a food of FREEZER_TABLE. still_icy: has ice and feels fridge-cold; None is not seen.
        hours_above_4_4c: hours above 4.4 °C (40 °F), 0 for a reading at or below it; None unknown.
    Returns:
        The table's fate. Thawed food above 4.4 °C for 2 hours or less stands between the table's
        columns: look, and cook it now (our judgement). Nothing known counts as warm.
    Raises:
        NotCovered: food not in the table. OutOfRange: hours negative.
    Source: FoodSafety.gov, reviewed 2021.
    Example:
        >>> outage_freezer("poultry", None, None).fate.value
        'discard'
    """
    row = _find(_FREEZER_ROWS, food)
    hours = _hours(hours_above_4_4c)
    if hours is None and still_icy:
        hours = 0.0
    if hours == 0.0:
        return answer(row, row.icy or row.warm, row.icy_note, OUT_FREEZER)
    if food in VEGETABLE_ROWS and hours is not None and hours <= VEGETABLE_HOURS.value:
        return answer(row, Fate.REFREEZE, _TEXTURE, OUT_FREEZER)
    between = hours is not None and hours <= WARM_HOURS.value
    if between and row.icy is Fate.REFREEZE and row.warm is Fate.DISCARD:
        note = "Between the table's two columns: cook and eat it now, do not refreeze it raw."
        return answer(row, Fate.LOOK, note, OUT_FREEZER)
    return answer(row, row.warm, row.warm_note, OUT_FREEZER)


def outage_fridge(
    food: str,
    *,
    hours_above_4_4c: float | None = None,
    power_out_hours: float | None = None,
    hours_above_10c: float | None = None,
    touched_raw_juice: bool = False,
) -> OutageAnswer:
    """What becomes of one chilled food. A dryer load that stopped is judged as what was loaded.

    Args:
        food: a food of FRIDGE_TABLE. hours_above_4_4c: hours above 4.4 °C (40 °F).
        power_out_hours: hours without power, door shut. hours_above_10c: hours above 10 °C
        (50 °F), for mayonnaise and the like. touched_raw_juice: raw meat juice ran on it.
    Returns:
        The table's fate. None is unknown; with nothing known the table applies.
    Raises:
        NotCovered: food not in the table. OutOfRange: hours negative.
    Source: FoodSafety.gov, 2010 and 2024.
    Example:
        >>> outage_fridge("cooked pasta, rice, potatoes", power_out_hours=4.5).fate.value
        'discard'
    """
    row = _find(_FRIDGE_ROWS, food)
    warm, out = _hours(hours_above_4_4c), _hours(power_out_hours)
    if touched_raw_juice:
        return answer(row, Fate.DISCARD, "Raw meat juice touched it.", OUT_FRIDGE)
    unknown = warm is None and out is None
    too_warm = warm is not None and warm > WARM_HOURS.value
    too_long = out is not None and out > CLOSED_FRIDGE_HOURS.value
    if not (unknown or too_warm or too_long):
        return answer(row, Fate.KEEP, "", OUT_FRIDGE)
    if row.warm is not Fate.LOOK:
        return answer(row, row.warm, "", OUT_FRIDGE)
    return _sauce(row, _hours(hours_above_10c))


def _sauce(row: OutageRow, hours: float | None) -> OutageAnswer:
    if hours is None:
        note = "Discard it if it was above 10 °C (50 °F) for over 8 hours."
        return answer(row, Fate.LOOK, note, OUT_FRIDGE)
    if hours > SAUCE_HOURS.value:
        return answer(row, Fate.DISCARD, "", OUT_FRIDGE)
    return answer(row, Fate.KEEP, "Look at it first.", OUT_FRIDGE)


_ADVICE = {
    Fate.REFREEZE: "may be frozen again.",
    Fate.KEEP: "may be kept.",
    Fate.DISCARD: "discard it.",
    Fate.LOOK: "decide by looking.",
}


def answer(row: OutageRow, fate: Fate, note: str, rule: Rule) -> OutageAnswer:
    """A row's answer, as a sentence and as a verdict of the rule."""
    sentence = f"{row.food[0].upper()}{row.food[1:]}: {_ADVICE[fate]} {note}".strip()
    return OutageAnswer(fate, sentence, row, rule)


def _find(rows: dict[str, OutageRow], food: str) -> OutageRow:
    if food not in rows:
        raise NotCovered(f"power loss and {food}")
    return rows[food]


def _hours(value: float | None) -> float | None:
    hours = known(value)
    if hours is not None:
        require("hours", hours, 0.0, None, "h")
    return hours
