"""Setting up a household and changing what it told us about itself."""

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.ledger.climates import Warmth, fault_of
from app.ledger.errors import NotFound, Problem, ProblemKind, Refused, refuse
from app.ledger.models import Absorber, Bowl, Household, Packaging, Person, Place
from app.ledger.words import PlaceKind, UnitSystem
from app.science.packaging import PackagingKind


@dataclass(frozen=True, slots=True)
class PlaceIn:
    """A place to be added; temperatures in °C as low, usual, high."""

    name: str
    kind: PlaceKind
    temps_c: tuple[float, float, float]
    relative_humidity: float = 0.55
    tray_count: int | None = None
    tray_area_m2: float | None = None
    capacity_ml: float | None = None


@dataclass(frozen=True, slots=True)
class PackagingIn:
    """A kind of package to be added."""

    name: str
    kind: PackagingKind
    volume_ml: float
    area_cm2: float | None = None


@dataclass(frozen=True, slots=True)
class AbsorberIn:
    """An oxygen absorber to be added."""

    name: str
    rating_ml: float
    is_self_activated: bool = True


@dataclass(frozen=True, slots=True)
class BowlIn:
    """A bowl or tray to be added."""

    name: str
    tare_mg: int


@dataclass(frozen=True, slots=True)
class Settings:
    """The household's own settings."""

    name: str
    units: UnitSystem
    altitude_m: float
    time_zone: str
    rule_set: str = "us"
    scale_step_mg: int = 1_000
    label_width_mm: float = 100.0
    label_height_mm: float = 62.0
    label_printer_dpi: int = 203


@dataclass(frozen=True, slots=True)
class FirstRun:
    """Everything the first-run page asks."""

    settings: Settings
    people: tuple[str, ...]
    places: tuple[PlaceIn, ...]
    packagings: tuple[PackagingIn, ...]
    absorbers: tuple[AbsorberIn, ...]
    bowls: tuple[BowlIn, ...] = ()


def set_up(session: Session, request: FirstRun, *, at: datetime) -> None:
    """Start a household.

    Raises:
        Refused: there is one already, or a place or package name is given twice.
    """
    if session.scalar(select(Household.id)) is not None:
        raise refuse("settings", ProblemKind.NOTHING_TO_DO)
    session.add(_household(request.settings, at))
    for name in request.people:
        session.add(Person(name=name))
    for place in request.places:
        add_place(session, place)
    for packaging in request.packagings:
        add_packaging(session, packaging)
    for absorber in request.absorbers:
        add_absorber(session, absorber)
    for bowl in request.bowls:
        add_bowl(session, bowl)
    session.flush()


def change_settings(session: Session, settings: Settings) -> None:
    """Change the household's settings; an altitude changes windows, so refresh them after."""
    household = session.scalars(select(Household)).one()
    fresh = _household(settings, household.created_at)
    for column in (c.key for c in Household.__table__.columns):
        if column not in ("id", "created_at", "calendar_token"):
            setattr(household, column, getattr(fresh, column))
    session.flush()


def change_units(session: Session, person_id: int, units: UnitSystem | None) -> None:
    """Which units a person reads first; None: those of the household.

    Raises:
        NotFound: there is no such person.
    """
    person = session.get(Person, person_id)
    if person is None:
        raise NotFound(f"person {person_id}")
    person.units = None if units is None else str(units)
    session.flush()


def change_language(session: Session, person_id: int, language: str | None) -> None:
    """In which language a person reads; None: as the browser of the device asks.

    Raises:
        NotFound: there is no such person.
    """
    person = session.get(Person, person_id)
    if person is None:
        raise NotFound(f"person {person_id}")
    person.language = language
    session.flush()


def add_place(session: Session, new: PlaceIn) -> int:
    """Add a place; Refused when the name is taken or no place can be as warm as that."""
    low, usual, high = new.temps_c
    if (fault := fault_of(Warmth(low, usual, high, new.relative_humidity))) is not None:
        raise Refused(Problem("temps_c", ProblemKind.IMPOSSIBLE, {"reason": fault}))
    row = Place(
        name=new.name,
        kind=new.kind,
        temp_low_c=low,
        temp_c=usual,
        temp_high_c=high,
        relative_humidity=new.relative_humidity,
        tray_count=new.tray_count,
        tray_area_m2=new.tray_area_m2,
        capacity_ml=new.capacity_ml,
    )
    return _add(session, row)


def change_place(session: Session, place_id: int, *, name: str, capacity_ml: float | None) -> None:
    """Give a place another name or size; how warm it is changes by a climate of its own.

    Raises:
        Refused: no such place, or another place has that name.
    """
    place = session.get(Place, place_id)
    if place is None:
        raise refuse("place_id", ProblemKind.UNKNOWN_PLACE)
    taken = session.scalar(select(Place.id).where(Place.name == name, Place.id != place_id))
    if taken is not None:
        raise refuse("name", ProblemKind.DUPLICATE_NAME, name=name)
    place.name, place.capacity_ml = name, capacity_ml
    session.flush()


def calendar_token(session: Session) -> str | None:
    """The secret end of the calendar's address; None while the household has none."""
    return session.scalar(select(Household.calendar_token))


def change_calendar_token(session: Session, token: str | None) -> None:
    """Give the calendar another address, or none: phones that know the old one see it no more."""
    household = session.scalars(select(Household)).one()
    household.calendar_token = token
    session.flush()


def add_packaging(session: Session, new: PackagingIn) -> int:
    """Add a kind of package; Refused when the name is taken."""
    row = Packaging(name=new.name, kind=new.kind, volume_ml=new.volume_ml, area_cm2=new.area_cm2)
    return _add(session, row)


def add_absorber(session: Session, new: AbsorberIn) -> int:
    """Add an absorber; Refused when the name is taken."""
    row = Absorber(name=new.name, rating_ml=new.rating_ml, is_self_activated=new.is_self_activated)
    return _add(session, row)


def add_bowl(session: Session, new: BowlIn) -> int:
    """Add a bowl with its tare; Refused when the name is taken."""
    return _add(session, Bowl(name=new.name, tare_mg=new.tare_mg))


def add_person(session: Session, name: str) -> int:
    """Add somebody who writes entries; Refused when the name is taken."""
    return _add(session, Person(name=name))


def _add(session: Session, row: Place | Packaging | Absorber | Bowl | Person) -> int:
    table = type(row)
    taken = session.scalar(select(table.id).where(table.name == row.name))
    if taken is not None:
        raise refuse("name", ProblemKind.DUPLICATE_NAME, name=row.name)
    session.add(row)
    session.flush()
    return row.id


def _household(settings: Settings, at: datetime) -> Household:
    return Household(
        id=1,
        name=settings.name,
        units=settings.units,
        altitude_m=settings.altitude_m,
        time_zone=settings.time_zone,
        rule_set=settings.rule_set,
        scale_step_mg=settings.scale_step_mg,
        label_width_mm=settings.label_width_mm,
        label_height_mm=settings.label_height_mm,
        label_printer_dpi=settings.label_printer_dpi,
        created_at=at,
    )
