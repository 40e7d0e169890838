"""What the printed guide says in the household's own words: its name, its places, a window."""

from datetime import timedelta

from app.language import N_, _
from app.ledger.queries import places as places_query
from app.ledger.words import PlaceKind
from app.web import scope
from app.web.window_drawing import WindowView

_KINDS: tuple[tuple[str, tuple[PlaceKind, ...]], ...] = (
    (N_("Frozen: {places}."), (PlaceKind.FREEZER,)),
    (N_("Cold: {places}."), (PlaceKind.FRIDGE,)),
    (N_("On the shelf: {places}."), (PlaceKind.ROOM,)),
    (N_("Being worked on: {places}."), (PlaceKind.BENCH,)),
    (N_("Being dried: {places}."), (PlaceKind.FREEZE_DRYER, PlaceKind.DEHYDRATOR)),
)
MOST_NAMED = 8
_EARLY_DAYS, _CENTRAL_DAYS, _LATE_DAYS, _OLD_DAYS = 150, 400, 1100, 120  # a drawing, no estimate


def household_name() -> str:
    """What the household calls itself."""
    known = scope.household()
    return known.name if known else ""


def place_sentences() -> list[str]:
    """Its places by what they are for, a sentence for each sort there is."""
    known = places_query.places(scope.reading())
    found = []
    for words, kinds in _KINDS:
        names = [place.name for place in known if PlaceKind(place.kind) in kinds]
        if len(names) > MOST_NAMED:
            names = [*names[: MOST_NAMED - 1], "…"]
        if names:
            found.append(_(words, places="; ".join(names)))
    return found


def example_window() -> WindowView:
    """A window to learn reading on."""
    today = scope.today()
    early, central, late = (
        today + timedelta(days=days) for days in (_EARLY_DAYS, _CENTRAL_DAYS, _LATE_DAYS)
    )
    words = _("An example: begun four months ago, best before five months to three years from now.")
    return WindowView(today - timedelta(days=_OLD_DAYS), early, central, late, today, False, words)
