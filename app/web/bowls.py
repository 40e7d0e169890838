"""The household's bowls as buttons of a tally, and a sentence about its scale."""

from dataclasses import dataclass

from sqlalchemy.orm import Session

from app.language import _, figures
from app.ledger.models import Household
from app.ledger.queries import places
from app.units import format_mass


@dataclass(frozen=True, slots=True)
class BowlButton:
    """A saved bowl, as the tally macro takes it."""

    name: str
    tare: str


def bowl_buttons(session: Session) -> list[BowlButton]:
    """Every saved bowl with its tare in grams; the trays of a dryer are no bowls."""
    return [
        BowlButton(bowl.name, format_mass(bowl.tare_mg, exact=True))
        for bowl in places.bowls(session)
        if not is_tray(bowl.name)
    ]


def is_tray(name: str) -> bool:
    """Trays are saved with the bowls, and known by their names."""
    return "tray" in name.casefold()


def scale_words(household: Household | None) -> str | None:
    """What the scale shows, if the household said so."""
    if household is None:
        return None
    return _(
        "The scale shows steps of {scale_step}.",
        scale_step=figures(format_mass(household.scale_step_mg)),
    )
