"""The first ten minutes: a few steps, each with the page where it is done."""

from dataclasses import dataclass

from sqlalchemy import exists, select
from sqlalchemy.orm import Session

from app.language import N_, _
from app.ledger.models import Device, Lot
from app.ledger.queries import places as owned

_DONE = N_("Done. {words}")


@dataclass(frozen=True, slots=True)
class Step:
    """A step as the steps macro takes it."""

    label: str
    href: str
    words: str


def first_items(session: Session) -> list[Step]:
    """What a newcomer does first, with what is done already said to be done."""
    has_food = bool(session.scalar(select(exists().where(Lot.id > 0))))
    has_device = bool(session.scalar(select(exists().where(Device.id > 0))))
    return [
        _step(
            _("Take in the first food"),
            "/write/intake?first=1",
            _("What it is, its weight, where it goes and since when; it takes a minute."),
            is_done=has_food,
        ),
        _step(
            _("What is there already"),
            "/write/first-day",
            _("A full freezer of packets: many rows at once, a year is enough for a date."),
            is_done=False,
        ),
        _step(
            _("Weigh your bowls and trays"),
            "/household/bowl/new",
            _("Each once, empty: its weight is taken off by itself from then on."),
            is_done=bool(owned.bowls(session)),
        ),
        _step(
            _("Open it on the tablet and on phones"),
            "/household/devices",
            _("A code pairs each device of the home network, once."),
            is_done=has_device,
        ),
        _step(
            _("Print the guide"),
            "/papers/guide",
            _("One page for the wall beside the bench."),
            is_done=False,
        ),
    ]


def _step(label: str, href: str, words: str, *, is_done: bool) -> Step:
    return Step(label, href, _(_DONE, words=words) if is_done else words)
