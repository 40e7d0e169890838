"""What can be done about food, in words: each way with the time it buys and the form that does it.

A gain is an estimate of quality, told as a range with what will limit the food then. What a rule
would refuse is not told at all.
"""

from dataclasses import dataclass
from datetime import date, timedelta

from app.language import N_, _
from app.ledger.models import Absorber, Packaging
from app.ledger.queries.next_steps import is_stored
from app.ledger.queries.stock import StockLine, WindowDates
from app.ledger.queries.ways import Gain, Way
from app.ledger.words import OperationKind, PlaceKind
from app.science.drying import RESIDUAL_WATER
from app.science.window import Window
from app.web.display import NO_WINDOW, VERBS, first_step, percent, step_href, window_words
from app.web.what_helps import length_words

_STEPS = {
    OperationKind.MOVE: N_("Moved to {place} today, it gains {gain}."),
    OperationKind.PACK: N_("Packed today in {package}, it gains {gain}."),
    OperationKind.PORTION: N_("Taken out and packed anew today in {package}, it gains {gain}."),
    OperationKind.LOAD: N_(
        "Dried in {dryer}, packed in {package} and kept at {place}, it gains {gain}."
    ),
}
_ASSUMES = {
    OperationKind.MOVE: N_("Assumes that it stays there, as warm as the ledger knows that place."),
    OperationKind.PACK: N_("Assumes that it is no damper than the ledger has it, and tight seals."),
    OperationKind.PORTION: N_(
        "Assumes that it took up no water meanwhile, and tight seals; split it off first, then "
        "pack it."
    ),
    OperationKind.LOAD: N_(
        "Assumes that it comes out with {low} to {high} water (our judgement), is weighed until it "
        "weighs the same, and is packed at once."
    ),
}


@dataclass(frozen=True, slots=True)
class WayLine:
    """One way: the sentence, what follows and what it takes for granted, and its button."""

    label: str
    href: str
    sentence: str
    then: str = ""
    assumes: str = ""
    note: str = ""


def way_line(way: Way, line: StockLine, today: date) -> WayLine:
    """A way that buys time, as a page tells it."""
    window = _dates(way.window, today)
    return WayLine(
        label=_(VERBS[way.step]),
        href=_href(way, line),
        sentence=_(
            _STEPS[way.step],
            place=way.place.name,
            package=package_words(way.packaging, way.absorber, is_pumped=way.is_pumped_down),
            dryer=way.dryer.name if way.dryer else "",
            gain=gain_words(way.gain, is_capped=way.window.late_capped),
        ),
        then=window_words(window, str(way.window.limit), today),
        assumes=_assumption(way),
        note=_note(way, line),
    )


def gain_words(gain: Gain, *, is_capped: bool = False) -> str:
    """The time that is won, from the least of the three ends to the most: "4 months to 9 months".

    Args:
        is_capped: the window reaches beyond what we say, so that its late end tells nothing.
    """
    ends = [gain.early, gain.central] if is_capped else [gain.early, gain.central, gain.late]
    least, most = length_words(max(min(ends), 1.0)), length_words(max(ends))
    if min(ends) < 1.0:
        up_to = N_("up to {most} or more") if is_capped else N_("up to {most}")
        return _(up_to, most=most)
    if is_capped:
        return _("{least} to {most} or more", least=least, most=most)
    if least == most:
        return _("about {length}", length=most)
    return _("{least} to {most}", least=least, most=most)


def package_words(
    packaging: Packaging | None, absorber: Absorber | None, *, is_pumped: bool
) -> str:
    """A package with what takes the air out of it."""
    if packaging is None:
        return ""
    if absorber is not None:
        return _(
            "{packaging} with an absorber of {rating} cc",
            packaging=packaging.name,
            rating=f"{absorber.rating_ml:g}",
        )
    return (
        _("{packaging}, air drawn out", packaging=packaging.name) if is_pumped else packaging.name
    )


def _dates(window: Window, today: date) -> WindowDates:
    early, central, late = (
        today + timedelta(days=int(days))
        for days in (window.early_days, window.central_days, window.late_days)
    )
    return WindowDates(
        today, early, central, late, window.late_capped, window.is_fixed, window.limit_share
    )


def _href(way: Way, line: StockLine) -> str:
    href = step_href(way.step, line)
    if way.step is OperationKind.PACK and way.packaging is not None:
        absorber = way.absorber.id if way.absorber else 0
        choice = f"{way.packaging.id}-{absorber}-{int(way.is_pumped_down)}"
        return f"{href}&place={way.place.id}&choice={choice}"
    if way.step is OperationKind.LOAD and way.dryer is not None:
        return f"{href}&dryer={way.dryer.id}"
    if way.step is OperationKind.MOVE:
        return f"{href}&to={way.place.id}"
    return href


def _assumption(way: Way) -> str:
    if way.step is not OperationKind.LOAD or way.dried_by is None:
        return _(_ASSUMES[way.step])
    low, high = map(percent, RESIDUAL_WATER[way.dried_by].span)
    return _(_ASSUMES[way.step], low=low, high=high)


def _note(way: Way, line: StockLine) -> str:
    if way.is_busy and way.dryer is not None:
        return _("{dryer} is running now: unload it first.", dryer=way.dryer.name)
    if way.step is OperationKind.LOAD and line.is_raw:
        return _("Dried raw it stays raw: cook it before it is eaten.")
    return ""


def first_lines(line: StockLine, today: date) -> list[WayLine]:
    """What to do without any estimate: eat it, or what its state asks for."""
    if line.holds and is_stored(line):
        why = _("It is on hold. Keep it apart until it is released.")
        return [WayLine(_("See why"), f"/lots/{line.code}", why)]
    step = first_step(line, today)
    button = _(VERBS[step]), step_href(step, line)
    window = line.window
    if line.holds:
        return [WayLine(*button, _("It is on hold: not to be eaten, given or mixed for now."))]
    if window is None:
        return [WayLine(*button, _(NO_WINDOW.get(line.limit_word, NO_WINDOW[None])))]
    if step is OperationKind.DISCARD:
        return [WayLine(*button, _("Its published limit has passed: discard it."))]
    if window.late < today and not window.is_capped:
        return _past(line)
    return [WayLine(*button, _(_NEXT.get(step, _NEXT_STEP)))]


_NEXT_STEP = N_("This is its next step.")
_NEXT = {
    OperationKind.EAT: N_("Eat it: then none of it is lost."),
    OperationKind.THAW: N_("Thaw it, then cook it, dry it or eat it."),
    OperationKind.COOK: N_("Cook it, then eat it, chill it or dry it."),
    OperationKind.PACK: N_("Pack it, so that air and moisture stay out."),
    OperationKind.LOAD: N_("Dry it."),
    OperationKind.CHILL: N_("Chill it, fast enough for its two stages."),
}


def _past(line: StockLine) -> list[WayLine]:
    """The date was about quality: look, and decide. Raw food is not tasted."""
    frozen_raw = line.is_raw and line.place_kind is PlaceKind.FREEZER
    if line.is_raw:
        use = OperationKind.THAW if frozen_raw else OperationKind.COOK
        first = N_("If it looks and smells right, cook it soon and all the way through.")
    else:
        use = OperationKind.EAT
        first = N_("If it looks, smells and tastes right, eat it soon.")
    steps = ((use, first), (OperationKind.DISCARD, N_("If not, discard it.")))
    return [WayLine(_(VERBS[step]), step_href(step, line), _(words)) for step, words in steps]
