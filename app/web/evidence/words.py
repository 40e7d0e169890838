"""Evidence in words: readings as typed, what an animal's story says, what was not shown."""

from datetime import timedelta

from app.ledger.models import GameStory, Reading
from app.ledger.queries.evidence import Lack, Unproven
from app.ledger.queries.thermometers import Lay, Record
from app.ledger.words import Ammunition, ReadingKind
from app.units import format_temperature
from app.web import scope
from app.web.messages import day

_READINGS = {
    ReadingKind.CENTRE: "centre",
    ReadingKind.COOLING: "cooling",
}
_AMMUNITION = {
    Ammunition.LEAD: "taken with lead",
    Ammunition.LEAD_FREE: "taken without lead",
    Ammunition.NOT_SHOT: "not shot",
    Ammunition.UNKNOWN: "nobody knows what it was taken with",
}
_LACKS = {
    Lack.COOKED: "Raw: no cooking is shown that met its target.",
    Lack.DRYNESS: "How dry it is was worked out, not measured.",
    Lack.SEAL: "No look at the seals after packing.",
}


def reading_words(reading: Reading) -> str:
    """A reading with what was typed: "cooling, 1.5 h: 20 °C (typed “20”)"."""
    of = _READINGS.get(ReadingKind(reading.kind))
    if of is None:  # what a lot is made of says itself what it is: "water 3 %"
        return reading.typed
    hours = "" if reading.hours is None else f", {reading.hours:g} h"
    shown = format_temperature(reading.value, scope.units())
    return f"{of}{hours}: {shown}" + ("" if shown == reading.typed else f" (“{reading.typed}”)")


def story_words(story: GameStory) -> str:
    """What was told of an animal when it came in."""
    parts = [f"taken in {story.taken_at}"] if story.taken_at else []
    parts += [_AMMUNITION[Ammunition(story.ammunition)]]
    parts += ["looked sick or was found dead"] if story.looked_sick else []
    parts += [f"chronic wasting disease: {story.cwd_status}"] if story.cwd_status else []
    if story.hours_to_cold is not None:
        parts.append(f"cold after {story.hours_to_cold:g} h")
    if story.centre_c is not None:
        parts.append(f"centre {format_temperature(story.centre_c, scope.units())}")
    return "; ".join(parts)


def lack_words(lack: Unproven) -> str:
    """What nobody has shown."""
    if lack.lack is Lack.CENTRE and lack.on is not None:
        return f"No reading of the centre when it was cooked on {day(lack.on)}."
    if lack.lack is Lack.COOLING and lack.on is not None:
        return f"No reading of the cooling after it was cooked on {day(lack.on)}."
    if lack.record is not None:
        return (
            f"No reading of a thermometer in {lack.record.lay.place}, {lay_words(lack.record.lay)}."
        )
    return _LACKS[lack.lack]


def lay_words(lay: Lay) -> str:
    """From when to when it lay there."""
    if lay.until is None:
        return f"since {day(lay.since)}"
    return day(lay.since) if lay.since == lay.until else f"{day(lay.since)} to {day(lay.until)}"


def gap_words(record: Record) -> str:
    """The longest time without a reading."""
    hours = record.longest_gap / timedelta(hours=1)
    if hours < 1.5:
        return "an hour or less"
    return f"{hours:.0f} h" if hours < 72 else f"{hours / 24:.0f} days"
