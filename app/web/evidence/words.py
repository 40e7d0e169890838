"""Evidence in words: readings as typed, what an animal's story says, what was not shown."""

from datetime import timedelta

from app.language import N_, _, figures, from_to, ngettext
from app.ledger.models import GameStory, Reading
from app.ledger.queries.evidence import Lack, Unproven
from app.ledger.queries.thermometers import Lay, Record
from app.ledger.words import Ammunition, ReadingKind
from app.web.display import temperature
from app.web.messages import day

_READINGS = {
    ReadingKind.CENTRE: N_("centre"),
    ReadingKind.COOLING: N_("cooling"),
}
_AMMUNITION = {
    Ammunition.LEAD: N_("taken with lead"),
    Ammunition.LEAD_FREE: N_("taken without lead"),
    Ammunition.NOT_SHOT: N_("not shot"),
    Ammunition.UNKNOWN: N_("nobody knows what it was taken with"),
}
_LACKS = {
    Lack.COOKED: N_("Raw: no cooking is shown that met its target."),
    Lack.DRYNESS: N_("How dry it is was worked out, not measured."),
    Lack.SEAL: N_("No look at the seals after packing."),
}


def reading_words(reading: Reading) -> str:
    """A reading with what was typed: "cooling, 1.5 h: 20 °C (typed “20”)"."""
    of = _READINGS.get(ReadingKind(reading.kind))
    if of is None:  # what a lot is made of says itself what it is: "water 3 %"
        return reading.typed
    hours = "" if reading.hours is None else figures(f", {reading.hours:g} h")
    shown = temperature(reading.value)
    return f"{_(of)}{hours}: {shown}" + ("" if shown == reading.typed else f" (“{reading.typed}”)")


def story_words(story: GameStory) -> str:
    """What was told of an animal when it came in."""
    parts = [_("taken in {taken_at}", taken_at=story.taken_at)] if story.taken_at else []
    parts += [_(_AMMUNITION[Ammunition(story.ammunition)])]
    parts += [_("looked sick or was found dead")] if story.looked_sick else []
    parts += (
        [_("chronic wasting disease: {cwd_status}", cwd_status=_(story.cwd_status))]
        if story.cwd_status
        else []
    )
    if story.hours_to_cold is not None:
        parts.append(_("cold after {hours_to_cold:g} h", hours_to_cold=story.hours_to_cold))
    if story.centre_c is not None:
        centre = temperature(story.centre_c)
        parts.append(_("centre {temperature}", temperature=centre))
    return "; ".join(parts)


def lack_words(lack: Unproven) -> str:
    """What nobody has shown."""
    if lack.lack is Lack.CENTRE and lack.on is not None:
        return _("No reading of the centre when it was cooked on {on}.", on=day(lack.on))
    if lack.lack is Lack.COOLING and lack.on is not None:
        return _("No reading of the cooling after it was cooked on {on}.", on=day(lack.on))
    if lack.record is not None:
        return _(
            "No reading of a thermometer in {place}, {lay_words}.",
            place=lack.record.lay.place,
            lay_words=lay_words(lack.record.lay),
        )
    return _(_LACKS[lack.lack])


def lay_words(lay: Lay) -> str:
    """From when to when it lay there."""
    if lay.until is None:
        return _("since {day}", day=day(lay.since))
    return day(lay.since) if lay.since == lay.until else from_to(day(lay.since), day(lay.until))


def gap_words(record: Record) -> str:
    """The longest time without a reading."""
    hours = record.longest_gap / timedelta(hours=1)
    if hours < 1.5:
        return _("an hour or less")
    if hours < 72:
        return f"{hours:.0f} h"
    return ngettext("{number} day", "{number} days", round(hours / 24))
