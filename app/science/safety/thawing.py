"""Thawing, and what may be frozen again."""

from enum import StrEnum

from app.science import sources as s
from app.science.errors import require
from app.science.safety.holding import exposure
from app.science.safety.readings import Reading, unit_ask
from app.science.safety.rule import Outcome, Rule, Severity, Topic, Verdict, known
from app.science.sources import Evidence, Sourced


class ThawWay(StrEnum):
    """How frozen food was thawed."""

    REFRIGERATOR = "refrigerator"
    COLD_WATER = "cold water"
    MICROWAVE = "microwave"
    FROM_FROZEN = "cooked from frozen"
    COUNTER = "counter"
    WARM_WATER = "warm water"
    OTHER = "other"


_NEVER = (ThawWay.COUNTER, ThawWay.WARM_WATER, ThawWay.OTHER)

THAW_WAY = Rule(
    id="THAW-WAY",
    topic=Topic.THAWING,
    severity=Severity.STOP,
    applies_to="thawing; cold water means a leak-proof bag and fresh water every 30 minutes",
    words="Thaw in the fridge, in cold water or in the microwave, never in the open: the outside "
    "grows warm while the middle is still ice.",
    also=(
        (Outcome.PASS, "Thawed by way of {way}."),
        (
            Outcome.CONFIRM,
            "Food thawed by way of {way} is cooked at once; cold water means a tight bag and fresh "
            "water every 30 minutes. Was it so?",
        ),
    ),
    source=s.USDA_THAWING,
    evidence=Evidence.COPY,
    limits=(Sourced(30, "min", Evidence.COPY, s.USDA_THAWING, note="fresh cold water"),),
)
THAW_VACFISH = Rule(
    id="THAW-VACFISH",
    topic=Topic.THAWING,
    severity=Severity.STOP,
    applies_to="raw fish thawed in its sealed vacuum pack above 3.3 °C (38 °F)",
    words="Sealed without air and above 5 °C for over 2 hours: botulism can grow in such fish. "
    "Discard.",
    also=(
        (
            Outcome.CONFIRM,
            "Open or slit the pack before thawing: without air, botulism can grow in fish from "
            "3.3 °C (38 °F).",
        ),
    ),
    source=s.MSU_VACUUM_FISH,
    others=(s.CLEMSON_FISH,),
    evidence=Evidence.COPY,
    limits=(
        Sourced(3.3, "degC", Evidence.COPY, s.MSU_VACUUM_FISH),
        Sourced(5.0, "degC", Evidence.COPY, s.FOOD_CODE_HOLDING),
        Sourced(2.0, "hour", Evidence.COPY, s.FSIS_TWO_HOURS),
    ),
)
REFREEZE = Rule(
    id="REFREEZE",
    topic=Topic.THAWING,
    severity=Severity.STOP,
    applies_to="freezing again what was frozen before",
    words="Refreeze only what thawed in the fridge, cold and within its days; cook the rest first. "
    "{why}.",
    also=(
        (Outcome.PASS, "May be frozen again."),
        (Outcome.NOTE, "Freezing twice costs juice and texture: eat this one first."),
        (Outcome.CONFIRM, "Only what stayed at 4.4 °C (40 °F) or colder is frozen again. {why}."),
    ),
    source=s.WSU_THAWING,
    others=(s.USDA_THAWING,),
    evidence=Evidence.READ,
    limits=(
        Sourced(4.4, "degC", Evidence.READ, s.WSU_THAWING, note="40 °F"),
        Sourced(2, "hour", Evidence.READ, s.WSU_THAWING),
    ),
)

RULES = (THAW_WAY, THAW_VACFISH, REFREEZE)


def thawed(
    way: ThawWay,
    *,
    cooked_at_once: bool | None = None,
    water_kept_fresh: bool | None = None,
    is_vacuum_fish: bool = False,
    pack_opened: bool | None = None,
    warmest_c: float | None = None,
    hours_above_5_c: float | None = None,
    insisted: bool = False,
) -> tuple[Verdict, ...]:
    """Was food thawed in a way that keeps its outside cold?

    Args:
        way: how. cooked_at_once: needed by cold water and microwave.
        water_kept_fresh: tight bag, fresh water every 30 min. is_vacuum_fish: raw fish in a vacuum
        pack. pack_opened: before thawing. warmest_c: warmest reading of the food, °C.
        hours_above_5_c: time above 5 °C, h. None is unknown, and unknown never passes.
        insisted: the person confirmed an unusual reading.
    Returns:
        THAW-WAY, and THAW-VACFISH for fish in a sealed pack.
    Source: USDA; Michigan State University and Clemson for fish.
    Example:
        >>> thawed(ThawWay.COUNTER)[0].outcome.value
        'stop'
    """
    found = [Verdict(THAW_WAY, _way_outcome(way, cooked_at_once, water_kept_fresh), {"way": way})]
    if is_vacuum_fish and not pack_opened:
        ask = None if insisted else unit_ask(Reading.FRIDGE, warmest_c, "C")
        if ask:
            return (ask,)
        found += _sealed_fish(known(warmest_c), known(hours_above_5_c))
    return tuple(found)


def may_refreeze(
    way: ThawWay,
    *,
    cooked_since: bool = False,
    warmest_c: float | None = None,
    hours_out: float = 0.0,
    air_c: float | None = None,
    days_in_fridge: float | None = None,
    fridge_days_limit: float | None = None,
    insisted: bool = False,
) -> tuple[Verdict, ...]:
    """May thawed food be frozen again?

    Args:
        way: how it thawed. cooked_since: a cook step met its target since.
        warmest_c: warmest reading of the food, °C. hours_out, air_c: time out of the fridge, h, and
        the air there. days_in_fridge, fridge_days_limit: days thawed, and the food's own limit.
        insisted: the person confirmed unusual readings.
    Returns:
        REFREEZE; a pass comes with a note on quality.
    Raises:
        OutOfRange: hours_out negative or NaN.
    Source: Washington State University 2011; USDA.
    Example:
        >>> may_refreeze(ThawWay.COLD_WATER)[0].outcome.value
        'stop'
    """
    require("hours_out", hours_out, 0.0, None, "h")
    read = ((Reading.FRIDGE, warmest_c), (Reading.ROOM, air_c))
    asks = [] if insisted else [unit_ask(place, value, "C") for place, value in read]
    if ask := next(filter(None, asks), None):
        return (ask,)
    outing = [(hours_out, air_c)]
    if exposure(outing, unknown_is_hot=False) > 1.0:
        return _no("It was out too long")
    if exposure(outing, unknown_is_hot=True) > 1.0:
        return _doubt(f"It was out for {hours_out:g} h, in air of unknown warmth")
    if cooked_since:
        return _yes()
    if way is not ThawWay.REFRIGERATOR:
        return _no(f"This one thawed by way of {way}")
    days, limit = known(days_in_fridge), known(fridge_days_limit)
    if days is not None and limit is not None and days > limit:
        return _no(f"Its {limit:g} fridge days are over")
    warmest = known(warmest_c)
    if warmest is not None and warmest > REFREEZE.limits[0].value:
        return _no(f"It reached {warmest:g} °C")
    if warmest is None or days is None or limit is None:
        return _doubt("No reading" if warmest is None else "Its days in the fridge are not known")
    return _yes()


def _way_outcome(way: ThawWay, cooked: bool | None, fresh: bool | None) -> Outcome:
    if way in _NEVER:
        return Outcome.STOP
    if way is ThawWay.COLD_WATER:
        return Outcome.PASS if cooked and fresh else Outcome.CONFIRM
    if way is ThawWay.MICROWAVE:
        return Outcome.PASS if cooked else Outcome.CONFIRM
    return Outcome.PASS


def _sealed_fish(warmest_c: float | None, hours_above: float | None) -> list[Verdict]:
    cold, warm, too_long = (limit.value for limit in THAW_VACFISH.limits)
    if warmest_c is not None and warmest_c <= cold:
        return []
    is_warm = warmest_c is not None and warmest_c > warm
    stop = is_warm and (hours_above is None or hours_above > too_long)
    return [Verdict(THAW_VACFISH, Outcome.STOP if stop else Outcome.CONFIRM)]


def _yes() -> tuple[Verdict, ...]:
    return (Verdict(REFREEZE, Outcome.PASS), Verdict(REFREEZE, Outcome.NOTE))


def _doubt(why: str) -> tuple[Verdict, ...]:
    return (Verdict(REFREEZE, Outcome.CONFIRM, {"why": why}),)


def _no(why: str) -> tuple[Verdict, ...]:
    return (Verdict(REFREEZE, Outcome.STOP, {"why": why}),)
