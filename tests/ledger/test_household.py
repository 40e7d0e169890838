"""The household: set up once, changed at will, every name once."""

import dataclasses

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from app.ledger.book import Book
from app.ledger.calendar import today_of
from app.ledger.errors import Refused
from app.ledger.household import (
    AbsorberIn,
    BowlIn,
    FirstRun,
    PackagingIn,
    PlaceIn,
    Settings,
    add_absorber,
    add_bowl,
    add_packaging,
    add_person,
    add_place,
    change_settings,
    set_up,
)
from app.ledger.models import Household, Person, Place
from app.ledger.queries.places import household, places
from app.ledger.words import PlaceKind, UnitSystem
from app.science.packaging import PackagingKind
from tests.builders import OLD, PLACES, TODAY, a_household, evening

SETTINGS = Settings("Birkbrae", UnitSystem.METRIC, 310.0, "Europe/London")


def test_before_the_first_run_there_is_no_household_and_the_day_is_utcs(empty_book: Book) -> None:
    with empty_book.reading() as session:
        assert household(session) is None
        assert today_of(session, evening(TODAY)) == TODAY


def test_the_first_run_keeps_all_it_was_told(empty_book: Book) -> None:
    with empty_book.writing() as session:
        a_household(session, rule_set="uk", units=UnitSystem.US)
    with empty_book.reading() as session:
        row = session.scalars(select(Household)).one()
        assert (row.name, row.units, row.rule_set, row.altitude_m) == ("Birkbrae", "us", "uk", 310)
        assert row.created_at == evening(OLD)
        assert [place.name for place in places(session)] == [place.name for place in PLACES]
        assert [p.name for p in session.scalars(select(Person).order_by(Person.id))] == [
            "Ailsa",
            "Ewan",
        ]


def test_there_is_one_household(session: Session) -> None:
    with pytest.raises(Refused):
        set_up(session, FirstRun(SETTINGS, (), (), (), ()), at=evening(TODAY))


def test_settings_change_and_the_day_of_founding_does_not(session: Session) -> None:
    change_settings(session, dataclasses.replace(SETTINGS, name="Tigh na Mara", altitude_m=5.0))
    row = session.scalars(select(Household)).one()
    assert (row.name, row.altitude_m, row.created_at) == ("Tigh na Mara", 5.0, evening(OLD))


def test_every_name_is_given_once(session: Session) -> None:
    taken = (
        lambda: add_place(session, PLACES[0]),
        lambda: add_packaging(session, PackagingIn("Glass jar, 1 l", PackagingKind.TUB, 5.0)),
        lambda: add_absorber(session, AbsorberIn("300", 5.0)),
        lambda: add_bowl(session, BowlIn("Blue bowl", 0)),
        lambda: add_person(session, "Ewan"),
    )
    for add in taken:
        with pytest.raises(Refused) as caught:
            add()
        assert [p.kind for p in caught.value.problems] == ["duplicate_name"]


def test_what_is_added_can_be_found(session: Session) -> None:
    cellar = PlaceIn("Cold cellar", PlaceKind.ROOM, (2.0, 7.0, 11.0), 0.85)
    place = session.get_one(Place, add_place(session, cellar))
    assert (place.name, place.temp_c, place.relative_humidity) == ("Cold cellar", 7.0, 0.85)
    assert session.get_one(Person, add_person(session, "Isla")).name == "Isla"


@pytest.mark.parametrize("temps_c", [(5.0, 4.0, 6.0), (2.0, 8.0, 6.0), (float("nan"), 4.0, 6.0)])
def test_temperatures_rise_from_lowest_to_highest(
    session: Session, temps_c: tuple[float, float, float]
) -> None:
    with pytest.raises(Refused) as caught:
        add_place(session, PlaceIn("Cellar", PlaceKind.ROOM, temps_c))
    assert caught.value.problems[0].field == "temps_c"
