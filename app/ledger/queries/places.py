"""Places and what the household owns."""

from dataclasses import dataclass

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from app.ledger.errors import NotFound
from app.ledger.models import Absorber, Bowl, Household, Packaging, Person, Place, Stock
from app.ledger.queries.stock import StockLine, stock_lines


@dataclass(frozen=True, slots=True)
class PlaceLine:
    """A place and how much lies there."""

    place: Place
    lot_count: int
    mass_mg: int


def household(session: Session) -> Household | None:
    """The household, or None before the first-run page was filled in."""
    return session.scalar(select(Household))


def places(session: Session) -> list[Place]:
    """Every place in the order they were made."""
    return list(session.scalars(select(Place).order_by(Place.id)))


def place_lines(session: Session) -> list[PlaceLine]:
    """Every place with what it holds."""
    held = {
        place_id: (count, mass_mg)
        for place_id, count, mass_mg in session.execute(
            select(
                Stock.place_id, func.count(Stock.lot_id.distinct()), func.sum(Stock.mass_mg)
            ).group_by(Stock.place_id)
        )
    }
    return [PlaceLine(place, *held.get(place.id, (0, 0))) for place in places(session)]


def place_contents(session: Session, place_id: int) -> tuple[Place, list[StockLine]]:
    """A place and the lines that lie there; NotFound when there is no such place."""
    return place_by_id(session, place_id), stock_lines(session, place_id=place_id)


def place_by_id(session: Session, place_id: int) -> Place:
    """The place with this number; NotFound when there is none."""
    place = session.get(Place, place_id)
    if place is None:
        raise NotFound(str(place_id))
    return place


def bowls(session: Session) -> list[Bowl]:
    """The household's bowls and trays."""
    return list(session.scalars(select(Bowl).order_by(Bowl.id)))


def packagings(session: Session) -> list[Packaging]:
    """The packages the household owns."""
    return list(session.scalars(select(Packaging).order_by(Packaging.id)))


def absorbers(session: Session) -> list[Absorber]:
    """The absorbers the household owns, smallest first."""
    return list(session.scalars(select(Absorber).order_by(Absorber.rating_ml)))


def people(session: Session) -> list[Person]:
    """Those who write entries."""
    return list(session.scalars(select(Person).order_by(Person.id)))
