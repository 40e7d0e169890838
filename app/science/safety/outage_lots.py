"""Which row of the outage tables a lot falls under, whatever it is and has been through."""

from collections.abc import Collection

from app.science import sources as s
from app.science.classes import DRIED, FoodClass, Form, Treatment
from app.science.safety.outage import (
    OUT_FREEZER,
    OUT_FRIDGE,
    Fate,
    OutageAnswer,
    OutageRow,
    answer,
    freezer_food,
    fridge_food,
    outage_freezer,
    outage_fridge,
)
from app.science.sources import Evidence

#: Our own row: salt, sugar, honey and plant oils need no cold, and the tables do not name them.
PANTRY_ROW = OutageRow(
    "salt, sugar, honey, oil",
    Fate.KEEP,
    Fate.KEEP,
    s.FOODSAFETY_FRIDGE,
    Evidence.JUDGEMENT,
)
_DRY_FROZEN = OutageRow(
    "sealed dry pouches", Fate.KEEP, Fate.KEEP, s.FOODSAFETY_FREEZER, Evidence.JUDGEMENT
)
_OURS = "Our judgement: the published table does not name it."
_SEALED = "If it is still sealed and dry; opened or damp, discard it. Our judgement."
_DRIED_BEEF = "lunch meat, sausage, bacon, dried beef"


def fate_in_freezer(
    food_class: FoodClass,
    form: Form,
    treatments: Collection[Treatment],
    still_icy: bool | None,
    hours_above: float | None,
) -> OutageAnswer:
    """What becomes of any lot in a freezer that failed.

    Args:
        food_class, form: of the lot. treatments: what has been done to it; rehydrated food counts
        as fresh. still_icy: has ice and feels fridge-cold; None is not seen.
        hours_above: hours above 4.4 °C (40 °F); None or NaN unknown, and unknown counts as warm.
    Returns:
        The table's fate; dry pouches and pantry goods keep by our judgement, and the sentence says
        so. Meat dried in warm air is judged as meat, and cooked vegetables as a stew.
    Raises:
        OutOfRange: hours negative.
    Source: FoodSafety.gov, reviewed 2021; choice of the row, our judgement.
    Example:
        >>> fate_in_freezer(FoodClass.PANTRY, Form.WHOLE, (), None, None).fate.value
        'keep'
    """
    if food_class is FoodClass.PANTRY:
        return answer(PANTRY_ROW, Fate.KEEP, _OURS, OUT_FREEZER)
    if _is_dry(food_class, treatments):
        return answer(_DRY_FROZEN, Fate.KEEP, _SEALED, OUT_FREEZER)
    return outage_freezer(_frozen_row(food_class, form, treatments), still_icy, hours_above)


def fate_in_fridge(
    food_class: FoodClass,
    form: Form,
    treatments: Collection[Treatment],
    is_raw: bool,
    hours_above: float | None,
    power_out_hours: float | None,
    touched_raw_juice: bool = False,
) -> OutageAnswer:
    """What becomes of any lot in a fridge without power.

    Args:
        food_class, form, treatments: as for `fate_in_freezer`. is_raw: carries the RAW mark;
        plants are raw while nothing was done to them.
        hours_above: hours above 4.4 °C (40 °F). power_out_hours: hours without power, door shut.
        touched_raw_juice: raw meat juice ran on it. None or NaN is unknown; with nothing known the
        table applies.
    Returns:
        The table's fate; pantry goods keep by our judgement, and the sentence says so.
    Raises:
        OutOfRange: hours negative.
    Source: FoodSafety.gov, 2010 and 2024; choice of the row, our judgement.
    Example:
        >>> stew = (FoodClass.DISH, Form.LIQUID, {Treatment.COOKED}, False)
        >>> fate_in_fridge(*stew, hours_above=None, power_out_hours=4.5).fate.value
        'discard'
    """
    if food_class is FoodClass.PANTRY:
        fate = Fate.DISCARD if touched_raw_juice else Fate.KEEP
        note = "Raw meat juice touched it." if touched_raw_juice else _OURS
        return answer(PANTRY_ROW, fate, note, OUT_FRIDGE)
    return outage_fridge(
        _chilled_row(food_class, form, treatments, is_raw=is_raw),
        hours_above_4_4c=hours_above,
        power_out_hours=power_out_hours,
        touched_raw_juice=touched_raw_juice,
    )


def _is_dry(food_class: FoodClass, treatments: Collection[Treatment]) -> bool:
    """Dry enough to need no cold; jerky is not, as its water is seldom measured (our judgement)."""
    if Treatment.REHYDRATED in treatments or not DRIED & set(treatments):
        return False
    return not _is_jerky(food_class, treatments)


def _is_jerky(food_class: FoodClass, treatments: Collection[Treatment]) -> bool:
    dried = DRIED & set(treatments)
    fresh = Treatment.REHYDRATED in treatments
    return food_class.is_animal and not fresh and dried == {Treatment.DRIED_AIR}


def _frozen_row(food_class: FoodClass, form: Form, treatments: Collection[Treatment]) -> str:
    was_cooked = {Treatment.COOKED, Treatment.REHYDRATED} & set(treatments)
    if food_class is FoodClass.VEGETABLE and was_cooked:
        return "casseroles, stews, soups"
    if food_class is FoodClass.GRAIN_LEGUME and form is Form.POWDER and not was_cooked:
        return "flour, cornmeal, nuts"
    return freezer_food(food_class, form)


def _chilled_row(
    food_class: FoodClass, form: Form, treatments: Collection[Treatment], *, is_raw: bool
) -> str:
    if _is_jerky(food_class, treatments):
        return _DRIED_BEEF
    if _is_dry(food_class, treatments):
        return "dried fruit" if food_class is FoodClass.FRUIT else "sealed dry pouches"
    done = set(treatments) - {Treatment.CHILLED}
    if form is Form.LIQUID and food_class is FoodClass.VEGETABLE:
        return "opened vegetable juice"
    if form is Form.LIQUID and food_class is FoodClass.FRUIT:
        return "opened fruit juice"
    # Thawed, blanched or rehydrated is no longer whole.
    is_fresh = not done and (is_raw or not food_class.is_animal)
    if food_class is FoodClass.VEGETABLE and form is not Form.WHOLE and is_fresh:
        return "cut or pre-washed vegetables"
    row = fridge_food(food_class, form, is_raw=is_fresh)
    is_meat = row == "raw or leftover meat, poultry, fish"
    if is_meat and is_raw and Treatment.THAWED in done:
        return "thawing meat or poultry"
    return row
