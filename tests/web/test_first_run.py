"""The page that starts a ledger: what it asks, what it writes, and what it refuses."""

from typing import Any

from flask import Flask
from sqlalchemy import func, select

from app.ledger.book import Book
from app.ledger.models import Absorber, Bowl, Household, Packaging, Person, Place
from app.web.household.zones import NEUTRAL, zone_of_machine, zones
from tests.web.pages import Page, Tablet

FAMILY = {"name": "Birkbrae", "people": "Ailsa, Ewan", "altitude": "310"}


def open_ledger(app: Flask, **changes: Any) -> Page:
    """Fill the page in as the family would, with some answers differently."""
    answers: dict[str, Any] = FAMILY | {"time_zone": "Europe/London"} | changes
    return Tablet(app).fill("/first-run", **answers)


def ledger_of(app: Flask) -> Book:
    found: Book = app.extensions["stillroom.book"]
    return found


def household_of(app: Flask) -> Household | None:
    with ledger_of(app).reading() as session:
        known = session.scalar(select(Household))
        session.expunge_all()
        return known


def names_of(app: Flask, table: type) -> set[str]:
    with ledger_of(app).reading() as session:
        return set(session.scalars(select(table.name)))  # type: ignore[attr-defined]


def test_every_page_leads_to_the_first_run_while_there_is_no_household(new_app: Flask) -> None:
    tablet = Tablet(new_app)
    for address in ("/", "/lots", "/places", "/papers/cautions", "/household", "/write/intake"):
        assert tablet.get(address).location == "/first-run"


def test_three_answers_open_a_ledger_and_say_what_to_do_next(new_app: Flask) -> None:
    tablet = Tablet(new_app)
    answer = tablet.fill("/first-run", **FAMILY, time_zone="Europe/London")
    assert (answer.status, answer.location) == (303, "/first-steps")
    known = household_of(new_app)
    assert known is not None
    assert (known.name, known.altitude_m, known.units) == ("Birkbrae", 310.0, "metric")
    assert names_of(new_app, Person) == {"Ailsa", "Ewan"}
    assert names_of(new_app, Place) == {"Chest freezer", "Fridge", "Pantry shelf", "Kitchen bench"}
    assert "take in the first food" in tablet.get("/").words


def test_the_first_one_named_writes_on_this_device(new_app: Flask) -> None:
    tablet = Tablet(new_app)
    tablet.fill("/first-run", **FAMILY, time_zone="Europe/London")
    pressed = [
        a["value"]
        for tag, a in tablet.get("/household").tags
        if a.get("aria-pressed") == "true" and a["name"] == "person"
    ]
    with ledger_of(new_app).reading() as session:
        assert pressed == [str(session.scalar(select(Person.id).where(Person.name == "Ailsa")))]


def test_feet_are_kept_as_metres(new_app: Flask) -> None:
    assert open_ledger(new_app, altitude="1000", altitude_unit="ft").status == 303
    known = household_of(new_app)
    assert known is not None
    assert round(known.altitude_m, 6) == 304.8


def test_a_dryer_is_added_with_the_area_of_one_of_its_trays(new_app: Flask) -> None:
    answer = open_ledger(
        new_app,
        places=["freezer", "freeze_dryer"],
        freeze_dryer__count="4",
        freeze_dryer__length="45",
        freeze_dryer__width="7 in",
    )
    assert answer.status == 303
    with ledger_of(new_app).reading() as session:
        dryer = session.scalars(select(Place).where(Place.kind == "freeze_dryer")).one()
        assert dryer.tray_count == 4
        assert round(dryer.tray_area_m2 or 0, 6) == round(0.45 * 7 * 0.0254, 6)


def test_what_is_owned_is_added_and_nothing_else(new_app: Flask) -> None:
    open_ledger(
        new_app,
        packages=["pouch_quart"],
        absorbers=["cc_300"],
        bowls__0__name="Blue bowl",
        bowls__0__tare_mg="14.5 oz",
    )
    assert names_of(new_app, Packaging) == {"Foil-laminate pouch, quart"}
    assert names_of(new_app, Absorber) == {"300 cc"}
    with ledger_of(new_app).reading() as session:
        assert session.scalars(select(Bowl.tare_mg)).all() == [411_068]


def test_an_empty_form_says_what_is_needed_beside_each_field(new_app: Flask) -> None:
    answer = open_ledger(
        new_app, name="", people=" , ", altitude="", time_zone="Nowhere", places=[]
    )
    assert answer.status == 422
    assert answer.beside("name") == "Give it a name."
    assert answer.beside("people") == "Give at least one name."
    assert answer.beside("altitude") == "Something is needed here."
    assert "No such zone" in answer.beside("time_zone")
    assert answer.beside("places") == "Tick at least one place."
    assert household_of(new_app) is None


def test_what_was_typed_stays_when_something_is_refused(new_app: Flask) -> None:
    answer = open_ledger(new_app, altitude="high up", absorbers=["cc_100"])
    assert answer.status == 422
    assert answer.typed("altitude") == ["high up"]
    assert answer.typed("people") == ["Ailsa, Ewan"]
    assert answer.typed("absorbers") == ["cc_100"]


def test_nobody_stands_in_the_list_twice(new_app: Flask) -> None:
    answer = open_ledger(new_app, people="Ailsa, Ewan, Ailsa")
    assert (answer.status, answer.beside("people")) == (422, "“Ailsa” stands here twice.")


def test_a_bowl_with_a_name_and_no_weight_does_not_vanish(new_app: Flask) -> None:
    answer = open_ledger(new_app, bowls__0__name="Blue bowl")
    assert answer.status == 422
    assert answer.beside("bowls-0-tare_mg") == "Something is needed here."
    assert answer.typed("bowls-0-name") == ["Blue bowl"]


def test_a_mountain_higher_than_any_village_is_refused(new_app: Flask) -> None:
    answer = open_ledger(new_app, altitude="9000")
    assert answer.status == 422
    assert "6000 m" in answer.beside("altitude")


def test_a_ledger_is_opened_once(new_app: Flask) -> None:
    tablet = Tablet(new_app)
    form = tablet.get("/first-run").form()
    filled = FAMILY | {"time_zone": "UTC"}
    assert tablet.send(form, "/first-run", **filled).status == 303
    assert tablet.send(form, "/first-run", **filled).location == "/first-steps"
    assert tablet.get("/first-run").location == "/"
    with ledger_of(new_app).reading() as session:
        assert session.scalar(select(func.count(Person.id))) == 2


def test_a_form_that_is_not_ours_opens_nothing(new_app: Flask) -> None:
    assert open_ledger(new_app, **{"csrf_token": "forged"}).status == 422
    assert household_of(new_app) is None


def test_the_zone_offered_first_is_one_of_the_database() -> None:
    assert zone_of_machine() in zones()
    assert {"Europe/London", NEUTRAL} <= set(zones())
