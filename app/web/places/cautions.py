"""What a place's temperatures mean for the food in it: the rule, and what to do next."""

from collections.abc import Sequence

from app.language import _
from app.ledger.climates import Warmth
from app.ledger.loggers.readings import LoggerReading
from app.ledger.loggers.summaries import hours_above
from app.ledger.queries.climate import ReadingLine
from app.ledger.words import PlaceKind
from app.science.frozen import FREEZER_C
from app.science.safety.checks import FREEZER_WARM_C
from app.science.safety.rule import DEFERENCE
from app.science.sources import FOODSAFETY_COLD, Evidence
from app.web.display import moment, temperature
from app.web.operations.cautions import StepCaution, caution
from app.web.went_wrong.words import hours_words

LIMIT_C = 5.0  # of the rule HOLD-COLD


def cautions_of(
    kind: PlaceKind, warmth: Warmth, newest: ReadingLine | None
) -> tuple[StepCaution, ...]:
    """What to say of a refrigerator above 5 °C and of a freezer above −18 °C.

    Args:
        newest: the last reading that somebody typed, if it still tells about today.
    """
    if kind is PlaceKind.FRIDGE:
        return _fridge(warmth, newest)
    if kind is PlaceKind.FREEZER and warmth.temp_c > FREEZER_C:
        words = _(
            "It is usually {degrees}. Freezer times are published for {degrees_2} and "
            "colder; warmer, quality goes sooner, and the windows here count that.",
            degrees=temperature(warmth.temp_c),
            degrees_2=temperature(FREEZER_C),
        )
        source = f"{FOODSAFETY_COLD} ({_(Evidence.COPY.value)}). {_(DEFERENCE)}"
        return (StepCaution("freezer-warm", words, source),)
    return ()


def logged_cautions(
    kind: PlaceKind, segments: Sequence[Sequence[LoggerReading]]
) -> tuple[StepCaution, ...]:
    """For how long a logger's file shows a refrigerator or a freezer too warm.

    Args:
        segments: the readings, one run for each time the logger's clock went back.
    """
    rule, limit_c = {
        PlaceKind.FRIDGE: ("HOLD-COLD", LIMIT_C),
        PlaceKind.FREEZER: ("CHECK-FREEZER", FREEZER_WARM_C.value),
    }.get(kind, ("", 0.0))
    if not rule:
        return ()
    runs = [hours_above(segment, limit_c) for segment in segments]
    hours = sum(run.hours for run in runs)
    unknown = sum(run.unknown_hours for run in runs)
    if hours <= 0.0:
        return ()
    longest = max(run.longest_run_hours for run in runs)
    words = _(
        "By this file it was above {degrees} for {hours_words} in all, at most "
        "{hours_words_2} at a time",
        degrees=temperature(limit_c),
        hours_words=hours_words(hours),
        hours_words_2=hours_words(longest),
    )
    if unknown > 0.0:
        words += _("; of {hours_words} nothing is known", hours_words=hours_words(unknown))
    words += _(". If food was in it then, write what went wrong.")
    return (caution(rule, words),)


def _fridge(warmth: Warmth, newest: ReadingLine | None) -> tuple[StepCaution, ...]:
    limit = temperature(LIMIT_C)
    if newest is not None and newest.temp_c > LIMIT_C:
        words = _(
            "It read {degrees} on {moment}, above {limit}: for food that must be kept "
            "cold, the two-hour clock runs.",
            degrees=temperature(newest.temp_c),
            moment=moment(newest.at),
            limit=limit,
        )
    elif warmth.temp_c > LIMIT_C:
        words = _(
            "It is usually {degrees}, above {limit}: food that must be kept cold does "
            "not keep in it. Set it colder.",
            degrees=temperature(warmth.temp_c),
            limit=limit,
        )
    else:
        return ()
    return (caution("HOLD-COLD", words),)
