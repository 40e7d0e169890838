"""The calendar of what comes due: valid, steady, secret, and no more than a list."""

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from flask import Flask
from icalendar import Calendar, Event

from app.ledger.book import Book
from app.ledger.household import calendar_token, change_calendar_token
from app.ledger.models import Household
from app.ledger.operations.cook import cook
from app.ledger.operations.pack import pack
from tests import builders as b
from tests.web.conftest import HandClock
from tests.web.pages import Page, Tablet

Given = Callable[..., Any]

TOKEN = "kV3-0123456789abcdefghij"  # noqa: S105 (of these tests alone)
ADDRESS = f"/calendar/{TOKEN}.ics"


@pytest.fixture
def pouches(given: Given) -> int:
    """Three pouches packed on 21 October 2025, and a calendar that has an address."""
    given(change_calendar_token, TOKEN)
    return int(given(b.pouches)[0].lot_id)


@pytest.fixture
def phone(app: Flask) -> Tablet:
    """A phone that never opened a page of ours."""
    return Tablet(app)


def raw(phone: Tablet) -> bytes:
    """The calendar as it is sent."""
    page = phone.get(ADDRESS)
    assert page.status == 200
    return page.data


def events(data: bytes) -> dict[str, Event]:
    """The events of a calendar by the beginning of their UID."""
    calendar = Calendar.from_ical(data)
    return {str(event["UID"]).split("@")[0]: event for event in calendar.walk("VEVENT")}


def day_of(event: Event) -> date:
    """The day an event stands on."""
    start = event.decoded("DTSTART")
    assert isinstance(start, date)
    assert not isinstance(start, datetime)
    return start


# -- what is in it -------------------------------------------------------------------------------


def test_what_is_due_and_comes_within_a_year_is_in_it(phone: Tablet, pouches: int) -> None:
    found = events(raw(phone))
    assert set(found) == {f"seal-{pouches}", f"look-{pouches}"}
    assert day_of(found[f"seal-{pouches}"]) == date(2025, 10, 22)
    assert day_of(found[f"look-{pouches}"]) == date(2026, 10, 21)
    seal = found[f"seal-{pouches}"]
    assert str(seal["SUMMARY"]).startswith("Look at the seals: Moose trim, ")
    assert "3 packs, Pantry: is each drawn tight" in str(seal["DESCRIPTION"])
    assert str(seal["URL"]) == f"http://localhost/due/seal-{pouches}"
    assert seal.decoded("DTEND") - day_of(seal) == timedelta(days=1)


def test_what_is_overdue_moves_along_to_today(
    phone: Tablet, pouches: int, clock: HandClock
) -> None:
    clock.forward(days=30)
    assert day_of(events(raw(phone))[f"seal-{pouches}"]) == date(2025, 11, 19)


def test_the_next_look_keeps_the_uid_of_the_last(
    phone: Tablet, tablet: Tablet, pouches: int, clock: HandClock
) -> None:
    key = f"look-{pouches}"
    before = events(raw(phone))[key]
    clock.forward(days=366)
    form = next(f for f in tablet.get("/due").forms if f.action == f"/due/{key}")
    tablet.send(form, "/due")
    after = events(raw(phone))[key]
    assert after["UID"] == before["UID"]
    assert day_of(after) == date(2027, 10, 21)
    assert after.decoded("DTSTAMP") > before.decoded("DTSTAMP")


def test_days_are_those_of_the_household(phone: Tablet, given: Given, clock: HandClock) -> None:
    given(change_calendar_token, TOKEN)
    given(b.take_in, place=b.FREEZER)
    clock.forward(days=7, hours=6, minutes=15)  # after midnight by UTC; clocks went back meanwhile
    assert day_of(events(raw(phone))[f"thermometer-{b.FREEZER}"]) == date(2025, 10, 28)


def test_umlauts_and_punctuation_survive(phone: Tablet, given: Given, book: Book) -> None:
    given(change_calendar_token, TOKEN)
    name = "Hühnerbrühe; süß, „Größe“ \\ eins"
    with book.writing() as session:
        session.get_one(Household, 1).name = "Müller & Söhne"
        meat = b.take_in(session, name=name)
        pot = b.made(b.do(session, cook, b.a_cook(meat, 1000, 1000)), b.BENCH)
        b.do(session, pack, b.a_pack(b.dried(session, food=pot), 80))
    calendar = Calendar.from_ical(raw(phone))
    assert str(calendar["X-WR-CALNAME"]) == "Müller & Söhne: what is due"
    summaries = [str(event["SUMMARY"]) for event in calendar.walk("VEVENT")]
    assert any(name in summary for summary in summaries)


# -- RFC 5545 ------------------------------------------------------------------------------------


@pytest.fixture
def many(given: Given, phone: Tablet, clock: HandClock, pouches: int) -> bytes:
    """The calendar of a house where everything comes due."""
    given(b.take_in, place=b.FREEZER, name="Ein sehr langer Name für die Brühe aus Hühnern, Süß")
    given(b.take_in)
    run = given(b.loaded, b.a_tray(given(b.cooked), 1000))
    given(b.weigh, run, 1, 900, 20)
    clock.forward(days=40)
    return raw(phone)


def test_lines_end_and_fold_as_the_standard_wants(many: bytes) -> None:
    """RFC 5545, 3.1: lines are delimited by CRLF and SHOULD NOT be longer than 75 octets."""
    assert many.endswith(b"\r\n")
    assert many.count(b"\n") == many.count(b"\r\n") == many.count(b"\r")
    assert max(map(len, many.split(b"\r\n"))) <= 75
    many.decode("utf-8")


def test_required_properties_stand_once(many: bytes) -> None:
    """RFC 5545, 3.6: PRODID and VERSION once; 3.6.1: UID and DTSTAMP once in each VEVENT."""
    calendar = Calendar.from_ical(many)
    unfolded = many.replace(b"\r\n ", b"").decode().split("\r\n")
    assert unfolded[0] == "BEGIN:VCALENDAR"
    assert [x for x in unfolded if x.startswith(("VERSION", "PRODID"))] == [
        "VERSION:2.0",
        "PRODID:-//Stillroom//What comes due//EN",
    ]
    found = calendar.walk("VEVENT")
    assert len(found) == 5  # a seal, a look, two thermometers, a tray
    for name in ("UID:", "DTSTAMP:", "SUMMARY:", "DTSTART;VALUE=DATE:", "DTEND;VALUE=DATE:"):
        assert sum(x.startswith(name) for x in unfolded) == len(found), name
    assert len({str(event["UID"]) for event in found}) == len(found)
    assert "localhost" not in " ".join(str(event["UID"]) for event in found)
    assert "METHOD" not in calendar


def test_stamps_are_in_utc_and_not_in_the_future(many: bytes, clock: HandClock) -> None:
    """RFC 5545, 3.8.7.2: DTSTAMP is given in the UTC time format."""
    for event in Calendar.from_ical(many).walk("VEVENT"):
        stamp = event.decoded("DTSTAMP")
        assert stamp.utcoffset() == timedelta(0)
        assert stamp <= clock.now.astimezone(UTC)
    assert b"DTSTAMP;" not in many


def test_the_interval_of_asking_again_is_a_duration(many: bytes) -> None:
    """RFC 7986, 5.7: REFRESH-INTERVAL has the value type DURATION, which must be said."""
    assert b"\r\nREFRESH-INTERVAL;VALUE=DURATION:PT6H\r\n" in many
    assert b"\r\nX-PUBLISHED-TTL:PT6H\r\n" in many


# -- how it is fetched ---------------------------------------------------------------------------


def test_two_fetches_are_the_same_and_the_second_costs_nothing(
    phone: Tablet, pouches: int, clock: HandClock
) -> None:
    first = phone.get(ADDRESS)
    clock.forward(hours=3)
    assert phone.get(ADDRESS).data == first.data
    tag = first.response.headers["ETag"]
    again = phone.client.get(ADDRESS, headers={"If-None-Match": tag})
    assert (again.status_code, again.get_data()) == (304, b"")
    clock.forward(days=3)  # now something is overdue, and stands elsewhere
    assert phone.client.get(ADDRESS, headers={"If-None-Match": tag}).status_code == 200


def test_it_says_what_it_is_and_sets_no_cookie(phone: Tablet, pouches: int) -> None:
    headers = phone.get(ADDRESS).response.headers
    assert headers["Content-Type"] == "text/calendar; charset=utf-8"
    assert "Set-Cookie" not in headers
    assert headers["Cache-Control"] == "private, no-cache"


@pytest.mark.parametrize("token", ["x", TOKEN[:-1], TOKEN + "x", "Ü", "%00", TOKEN.lower()])
def test_another_address_is_not_found(phone: Tablet, pouches: int, token: str) -> None:
    page = phone.get(f"/calendar/{token}.ics")
    assert page.status == 404
    assert b"BEGIN" not in page.data
    assert "Set-Cookie" not in page.response.headers


def test_without_an_address_there_is_no_calendar(phone: Tablet) -> None:
    for token in ("None", "", TOKEN):
        assert phone.get(f"/calendar/{token}.ics").status == 404


# -- the household's page ------------------------------------------------------------------------


def ask(tablet: Tablet, address: str) -> str:
    """Press a button of the calendar; gives what the page says then."""
    page = tablet.get("/household")
    (form,) = (f for f in page.forms if f.action == "/household/calendar")
    assert tablet.send(form, "/household", address=address).status == 303
    return tablet.get("/household").words


def shown(tablet: Tablet) -> str:
    """The address on the page, "" when there is none."""
    boxes = [a for tag, a in tablet.get("/household").tags if a.get("id") == "calendar-address"]
    return boxes[0]["value"] if boxes else ""


def test_the_address_is_made_changed_and_switched_off(
    tablet: Tablet, phone: Tablet, book: Book
) -> None:
    assert shown(tablet) == ""
    assert "has an address now" in ask(tablet, "new")
    first = shown(tablet)
    with book.reading() as session:
        token = calendar_token(session)
    assert token is not None
    assert len(token) >= 32  # 192 bits
    assert first == f"http://localhost/calendar/{token}.ics"
    assert phone.get(first.removeprefix("http://localhost")).status == 200
    assert "The old one is gone" in ask(tablet, "new")
    second = shown(tablet)
    assert phone.get(first.removeprefix("http://localhost")).status == 404
    assert phone.get(second.removeprefix("http://localhost")).status == 200
    ask(tablet, "off")
    assert shown(tablet) == ""
    assert phone.get(second.removeprefix("http://localhost")).status == 404


def test_the_page_says_who_can_read_it_and_from_where(tablet: Tablet) -> None:
    words = ask(tablet, "new")
    assert "must be in the home network" in words
    assert "Whoever has the address can read the list" in words
    assert "This is how this machine calls itself" in words  # asked for as localhost
    from_afar = Page(tablet.client.get("/household", base_url="http://192.168.1.20:8000"))
    assert "This is how this machine calls itself" not in from_afar.words
    (box,) = (a for _, a in from_afar.tags if a.get("id") == "calendar-address")
    assert box["value"].startswith("http://192.168.1.20:8000/calendar/")


def test_nobody_elses_page_can_change_the_address(tablet: Tablet, book: Book) -> None:
    assert tablet.post("/household/calendar", {"address": "new"}).status == 400
    with book.reading() as session:
        assert calendar_token(session) is None
