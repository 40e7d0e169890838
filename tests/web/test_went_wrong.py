"""Something went wrong: told, judged food by food, accepted, looked back at and taken back.

The fates asked for are those of FoodSafety.gov (frozen food, reviewed 2021; refrigerated food,
2010), of the two-hour rule (FSIS) and of the 2-hour/4-hour rule (FSANZ), as published.
"""

from collections.abc import Callable
from contextlib import AbstractContextManager
from datetime import date, timedelta
from typing import Any

import pytest
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from app.ledger.book import Book
from app.ledger.checks import check_all
from app.ledger.codes import code_of
from app.ledger.holds import active_holds, holds_on
from app.ledger.models import Checkpoint, Household, Incident, IncidentLot, Operation, Stock
from app.ledger.operations.climate import ChangeClimate, ReadingIn, change_climate
from app.ledger.operations.leave import Leave, discard, eat
from app.ledger.operations.unload import DryMade, Unload, unload
from app.ledger.stock import StockRef
from app.ledger.words import IncidentKind
from app.science.classes import Treatment
from app.web.went_wrong.words import KINDS
from tests import builders as b
from tests.web.conftest import HandClock
from tests.web.pages import Page, Tablet

Given = Callable[..., Any]
Unchanged = Callable[[], AbstractContextManager[None]]
PEAS, RASPBERRIES, DEER, STEW, RICE = "11304", "09302", "17164", "22905", "20045"
FREEZER, FRIDGE = "/went-wrong/power_out?place=1", "/went-wrong/power_out?place=2"
LEFT_OUT = "/went-wrong/left_out"
COOKED = frozenset({Treatment.COOKED})


@pytest.fixture(autouse=True)
def _two_days_later(clock: HandClock) -> None:
    """It is seven in the evening in Britain, two days after the food came in."""
    clock.forward(days=2)


def ask(tablet: Tablet, address: str, **told: Any) -> Page:
    """Tell it, and ask what it means."""
    return tablet.fill(address, work_out="1", **told)


def accept(tablet: Tablet, page: Page, address: str, **changes: Any) -> Page:
    """Agree, with some choices made differently."""
    return tablet.send(page.form(), address, **changes)


def written(book: Book) -> int:
    with book.reading() as session:
        return session.scalar(select(func.count(Incident.operation_id))) or 0


def fates(book: Book) -> dict[str, str]:
    """The fate of each lot by its name, in the newest incident."""
    with book.reading() as session:
        newest = session.scalar(select(func.max(Incident.operation_id)))
        rows = session.scalars(select(IncidentLot).where(IncidentLot.operation_id == newest))
        return {b.lot_of(session, StockRef(row.lot_id, 1)).name: row.fate for row in rows}


def freezer_full(given: Given) -> dict[str, StockRef]:
    """Peas, venison, raspberries and pouches."""
    foods = {"Peas": PEAS, "Venison": DEER, "Raspberries": RASPBERRIES}
    return {
        name: given(b.take_in, food, place=b.FREEZER, name=name) for name, food in foods.items()
    }


THAWED = {"from_at": "2025-10-22T06:00", "to_at": "2025-10-22T18:00", "ice": "no"}


# -- the menu ---------------------------------------------------------------------------------


def test_the_menu_names_everything_that_can_go_wrong_and_keeps_the_place_asked(
    tablet: Tablet,
) -> None:
    page = tablet.get("/went-wrong?place=1")
    assert page.status == 200
    for kind, words in KINDS.items():
        assert words.title in page.words
        assert f"/went-wrong/{kind}?place=1" in page.html
    assert "Something went wrong" in tablet.get("/write").words


@pytest.mark.parametrize("kind", IncidentKind)
def test_every_kind_has_its_page_with_and_without_food(
    tablet: Tablet, given: Given, kind: IncidentKind
) -> None:
    assert tablet.get(f"/went-wrong/{kind}").status == 200
    freezer_full(given)
    given(b.pouches)
    assert tablet.get(f"/went-wrong/{kind}").status == 200


@pytest.mark.parametrize(
    "address",
    ["/went-wrong/fire", "/went-wrong/worn?lot=zzz", "/incidents/1", "/incidents/" + "9" * 30],
)
def test_what_is_not_there_is_said_to_be_not_there(
    tablet: Tablet, given: Given, address: str
) -> None:
    given(b.take_in)
    assert tablet.get(address).status == 404


def test_the_lot_leads_here_with_itself_chosen(tablet: Tablet, given: Given) -> None:
    ref = given(b.take_in)
    code = code_of(ref.lot_id)
    assert f"/went-wrong?lot={code}" in tablet.get(f"/lots/{code}").html
    page = tablet.get(f"/went-wrong/left_out?lot={code}")
    assert page.typed("refs") == [str(ref)]


# -- power cuts -------------------------------------------------------------------------------


def test_asking_what_it_means_writes_nothing(
    tablet: Tablet, given: Given, unchanged: Unchanged
) -> None:
    freezer_full(given)
    with unchanged():
        page = ask(tablet, FREEZER, **THAWED, warm_hours="3")
    assert page.status == 200
    assert "12 h" in page.words


def test_peas_venison_and_raspberries_after_three_warm_hours(
    tablet: Tablet, given: Given, book: Book
) -> None:
    refs = freezer_full(given)
    page = ask(tablet, FREEZER, **THAWED, warm_hours="3")
    for part in ("Food Safety During Power Outage", "reviewed 2021", "Local rules", "Never taste"):
        assert part in page.words
    done = accept(tablet, page, FREEZER)
    assert done.status == 303
    assert fates(book) == {"Peas": "refreeze", "Venison": "discard", "Raspberries": "look"}
    with book.reading() as session:
        assert b.on_hand(session, refs["Venison"]) == 0
        assert [hold.name for hold in active_holds(session)] == ["Raspberries"]
        assert check_all(session) == []


def test_raspberries_without_mould_are_frozen_again_when_somebody_looked(
    tablet: Tablet, given: Given, book: Book
) -> None:
    freezer_full(given)
    page = ask(tablet, FREEZER, **THAWED, warm_hours="3")
    accept(tablet, page, FREEZER, fates__2__fate="refreeze")
    assert fates(book)["Raspberries"] == "refreeze"
    with book.reading() as session:
        assert active_holds(session) == []


def test_peas_warm_for_over_six_hours_are_discarded(
    tablet: Tablet, given: Given, book: Book
) -> None:
    freezer_full(given)
    accept(tablet, ask(tablet, FREEZER, **THAWED, warm_hours="6.5"), FREEZER)
    assert fates(book)["Peas"] == "discard"


def test_a_full_freezer_nobody_looked_into_asks_to_look_at_each_food(
    tablet: Tablet, given: Given, book: Book
) -> None:
    freezer_full(given)
    told = {"from_at": "2025-10-21T02:00", "to_at": "2025-10-22T18:00", "is_full": "full"}
    page = ask(tablet, FREEZER, **told)
    assert "About 48 h if the door stayed shut" in page.words
    assert "Look at each food for ice" in page.words
    accept(tablet, page, FREEZER)
    assert set(fates(book).values()) == {"look"}


def test_ice_is_told_lot_by_lot(tablet: Tablet, given: Given, book: Book) -> None:
    freezer_full(given)
    page = ask(tablet, FREEZER, **THAWED, warm_hours="")
    again = tablet.send(page.form(), FREEZER, work_out="1", fates__1__ice="yes")
    assert again.form().values["fates-1-fate"] == "refreeze"
    accept(tablet, again, FREEZER)
    assert fates(book)["Venison"] == "refreeze"
    with book.reading() as session:
        rows = session.scalars(select(IncidentLot).order_by(IncidentLot.id)).all()
        assert [row.is_icy for row in rows] == [False, True, False]


def test_four_and_a_half_hours_without_power_lose_the_rice_and_keep_the_pouch(
    tablet: Tablet, given: Given, book: Book
) -> None:
    given(b.take_in, RICE, name="Rice", treatments=COOKED, is_raw=False)
    given(b.take_in, DEER, name="Dry", treatments=COOKED | {Treatment.DRIED_FREEZE}, is_raw=False)
    told = {"from_at": "2025-10-22T13:00", "to_at": "2025-10-22T17:30"}
    page = ask(tablet, FRIDGE, **told)
    assert "raw meat juice" in page.words
    accept(tablet, page, FRIDGE)
    assert fates(book) == {"Rice": "discard", "Dry": "keep"}


def test_a_load_that_stopped_in_the_dryer_is_held_and_so_is_what_is_unloaded(
    tablet: Tablet, given: Given, book: Book
) -> None:
    meat = given(b.cooked)
    run = given(b.loaded, b.a_tray(meat, 1000))
    address = f"/went-wrong/power_out?place={b.FREEZE_DRYER}"
    page = ask(tablet, address, from_at="2025-10-22T15:00")
    assert page.form().values["fates-0-fate"] == "look"
    assert (
        page.form().values["fates-0-reason"] == "It lies in the dryer: unload it, then discard it."
    )
    assert accept(tablet, page, address).status == 303
    request = Unload(run, (DryMade(meat.lot_id, 260 * b.G),), b.BENCH, b.TODAY + timedelta(days=2))
    dry = given(lambda session: b.made(b.do(session, unload, request), b.BENCH))
    with book.reading() as session:
        assert holds_on(session, dry.lot_id)
        assert check_all(session) == []


def test_readings_of_the_place_tell_how_long_it_was_warm(
    tablet: Tablet, given: Given, book: Book, clock: HandClock
) -> None:
    given(b.take_in, STEW, name="Stew", treatments=COOKED, is_raw=False)
    at = [clock.now - timedelta(minutes=30 * n) for n in range(20, -1, -1)]
    readings = tuple(ReadingIn(instant, 9.0) for instant in at)
    request = ChangeClimate(b.FRIDGE, clock.now.date(), readings=readings)
    given(change_climate, request, at=clock.now, by=None)
    address = "/went-wrong/door_open?place=2"
    page = ask(tablet, address, from_at="2025-10-22T15:00", to_at="2025-10-22T19:00")
    assert "4 h too warm, at most 9 °C" in page.words
    accept(tablet, page, address)
    with book.reading() as session:
        assert session.scalars(select(Incident.warm_hours)).one() == pytest.approx(4.0)


def test_what_came_later_is_not_listed_and_what_was_not_there_is_left_out(
    tablet: Tablet, given: Given, book: Book
) -> None:
    given(b.take_in, DEER, place=b.FREEZER, name="There")
    given(b.take_in, DEER, place=b.FREEZER, name="Not there")
    given(b.take_in, DEER, place=b.FREEZER, name="Later", on=b.TODAY + timedelta(days=2))
    told = {"from_at": "2025-10-21T06:00", "to_at": "2025-10-21T18:00", "ice": "no"}
    page = ask(tablet, FREEZER, **told)
    assert "Later" not in page.words
    accept(tablet, page, FREEZER, fates__1__fate="none")
    assert fates(book) == {"There": "discard"}


def test_a_window_grows_shorter_when_food_is_frozen_again(
    tablet: Tablet, given: Given, book: Book
) -> None:
    ref = given(b.take_in, DEER, place=b.FREEZER)
    with book.reading() as session:
        before = b.estimate_of(session, ref).central
    told = THAWED | {"from_at": "2025-10-20T20:00", "ice": "yes"}
    accept(tablet, ask(tablet, FREEZER, **told), FREEZER)
    with book.reading() as session:
        after = b.estimate_of(session, ref).central
    assert before is not None
    assert after is not None
    assert after < before


# -- a rule that says discard ------------------------------------------------------------------


def test_a_rule_that_says_discard_is_overruled_only_with_a_reason(
    tablet: Tablet, given: Given, book: Book, unchanged: Unchanged
) -> None:
    freezer_full(given)
    page = ask(tablet, FREEZER, **THAWED, warm_hours="3")
    with unchanged():
        refused = accept(tablet, page, FREEZER, fates__1__fate="use_now", note="for the dogs")
    assert refused.status == 422
    assert "Give a reason" in refused.beside("fates-1-reason")
    assert refused.form().values["fates-1-fate"] == "use_now"
    assert refused.form().values["note"] == "for the dogs"
    done = accept(tablet, refused, FREEZER, fates__1__reason="boiled for the dogs")
    assert done.status == 303
    assert fates(book)["Venison"] == "use_now"
    with book.reading() as session:
        kept = session.scalars(select(Checkpoint).where(Checkpoint.reason != "")).one()
        assert (kept.rule, kept.outcome, kept.reason) == (
            "OUT-FREEZER", "stop", "boiled for the dogs",
        )  # fmt: skip
    assert "Decided otherwise: boiled for the dogs" in tablet.get(done.location).words


@pytest.mark.parametrize("fate", ["keep", "eaten", "", "<b>"])
def test_a_fate_that_was_not_offered_is_refused(
    tablet: Tablet, given: Given, unchanged: Unchanged, fate: str
) -> None:
    freezer_full(given)
    page = ask(tablet, FREEZER, **THAWED, warm_hours="3")
    with unchanged():
        refused = accept(tablet, page, FREEZER, fates__0__fate=fate)
    assert refused.status == 422
    assert "Choose one" in refused.beside("fates-0-fate")


# -- afterwards -------------------------------------------------------------------------------


def test_the_incident_can_be_handed_on_and_taken_back_at_one_tap(
    tablet: Tablet, given: Given, book: Book
) -> None:
    refs = freezer_full(given)
    done = accept(tablet, ask(tablet, FREEZER, **THAWED, warm_hours="3"), FREEZER)
    page = tablet.get(done.location)
    for part in (
        "Birkbrae", "Discarded in all: 1.00 kg (2 lb 3.3 oz)", "Chest freezer",
        "22 October 2025, 06:00", "Venison", "discarded",
        "1 discarded", "1 on hold until somebody has looked", "OUT-FREEZER", "FoodSafety.gov",
        "Local rules",
    ):  # fmt: skip
        assert part in page.words
    assert "safe" not in page.words.lower().replace("food safety", "").replace("foodsafety", "")
    number = done.location.rsplit("/", 1)[1]
    assert done.location in tablet.get(f"/operations/{number}").html
    undo = next(form for form in page.forms if form.action.endswith("/undo"))
    tablet.post(undo.action, undo.values)
    with book.reading() as session:
        assert b.on_hand(session, refs["Venison"]) == 1000 * b.G
        assert active_holds(session) == []
        assert check_all(session) == []
    assert "Taken back" in tablet.get(done.location).words


def test_a_lot_is_told_what_was_judged_of_it_and_an_entry_tells_each_finding_once(
    tablet: Tablet, given: Given
) -> None:
    refs = freezer_full(given)
    given(b.take_in, PEAS, place=b.FREEZER, name="More peas")
    done = accept(tablet, ask(tablet, FREEZER, **THAWED, warm_hours="3"), FREEZER)
    lot = tablet.get(f"/lots/{code_of(refs['Peas'].lot_id)}")
    assert lot.html.count("rule OUT-FREEZER") == 1
    assert "Vegetables, blanched or packed" in lot.words
    assert "Fruit, home or bought packs" not in lot.words
    entry = tablet.get(f"/operations/{done.location.rsplit('/', 1)[1]}")
    assert entry.html.count("Vegetables, blanched or packed") == 1  # two lots of peas
    assert entry.html.count("rule OUT-FREEZER") == 3  # peas, raspberries and venison


def test_the_same_hours_are_told_of_another_place_at_one_tap(tablet: Tablet, given: Given) -> None:
    freezer_full(given)
    done = accept(tablet, ask(tablet, FREEZER, **THAWED), FREEZER)
    again = "/went-wrong/power_out?from_at=2025-10-22T06:00&to_at=2025-10-22T18:00"
    assert again.replace("&", "&amp;") in tablet.get(done.location).html
    page = tablet.get(again)
    assert page.typed("from_at") == ["2025-10-22T06:00"]
    assert page.typed("to_at") == ["2025-10-22T18:00"]


def test_food_to_be_used_now_and_opened_packs_lead_to_their_steps(
    tablet: Tablet, given: Given
) -> None:
    raw = given(b.take_in, name="Mince")
    told = {"refs": str(raw), "from_at": "2025-10-22T17:30", "to_at": "2025-10-22T19:00"}
    done = accept(tablet, ask(tablet, LEFT_OUT, **told), LEFT_OUT)
    assert f"/write/cook?from={raw}" in tablet.get(done.location).html
    pouch = given(b.pouches)[0]
    address = f"/went-wrong/seal_failed?lot={code_of(pouch.lot_id)}"
    done = accept(tablet, ask(tablet, address, refs=str(pouch)), address)
    assert "Repack or use it" in tablet.get(done.location).words


# -- left out, kept warm, packs ----------------------------------------------------------------


@pytest.mark.parametrize(
    ("minutes", "fate"), [(115, "keep"), (130, "discard")], ids=["1 h 55", "2 h 10"]
)
def test_a_stew_left_out_for_nearly_and_for_over_two_hours(
    tablet: Tablet, given: Given, book: Book, clock: HandClock, minutes: int, fate: str
) -> None:
    stew = given(b.take_in, STEW, name="Stew", treatments=COOKED, is_raw=False)
    begins = clock.now.replace(hour=19) - timedelta(minutes=minutes)  # summer time in Britain
    told = {"refs": str(stew), "from_at": f"{begins:%Y-%m-%dT%H:%M}", "temp": "22"}
    accept(tablet, ask(tablet, LEFT_OUT, **told), LEFT_OUT)
    assert fates(book) == {"Stew": fate}


def test_three_outings_of_fifty_minutes_are_too_long_together(
    tablet: Tablet, given: Given, book: Book, clock: HandClock
) -> None:
    stew = given(b.take_in, STEW, name="Stew", treatments=COOKED, is_raw=False)
    found = []
    for hour in (10, 13, 16):
        told = {
            "refs": str(stew), "from_at": f"2025-10-22T{hour}:00", "to_at": f"2025-10-22T{hour}:50",
            "temp": "22",
        }  # fmt: skip
        accept(tablet, ask(tablet, LEFT_OUT, **told), LEFT_OUT)
        found.append(fates(book)["Stew"])
    assert found == ["keep", "keep", "discard"]


def test_three_hours_in_australia_mean_eat_it_now(tablet: Tablet, given: Given, book: Book) -> None:
    def move_to_australia(session: Session) -> None:
        session.get_one(Household, 1).rule_set = "au"

    given(move_to_australia)
    stew = given(b.take_in, STEW, name="Stew", treatments=COOKED, is_raw=False)
    told = {"refs": str(stew), "from_at": "2025-10-22T16:00", "to_at": "2025-10-22T19:00"}
    page = ask(tablet, LEFT_OUT, **told)
    assert "eat it now" in page.words
    accept(tablet, page, LEFT_OUT)
    assert fates(book) == {"Stew": "use_now"}


def test_chili_that_stood_at_fifty_two_degrees_for_three_hours(
    tablet: Tablet, given: Given, book: Book
) -> None:
    chili = given(b.take_in, STEW, name="Chili", treatments=COOKED, is_raw=False)
    address = "/went-wrong/kept_warm"
    told = {"refs": str(chili), "from_at": "2025-10-22T16:00", "temp": "52 °C"}
    accept(tablet, ask(tablet, address, **told), address)
    assert fates(book) == {"Chili": "discard"}


def test_a_pouch_gone_loose_is_open_from_the_day_it_was_packed(
    tablet: Tablet, given: Given, book: Book
) -> None:
    pouches = given(b.pouches)
    address = f"/went-wrong/seal_failed?lot={code_of(pouches[0].lot_id)}"
    done = accept(tablet, ask(tablet, address, refs=str(pouches[1])), address)
    assert done.status == 303
    with book.reading() as session:
        rows = session.scalars(select(Stock).order_by(Stock.package_id)).all()
        opened = {row.package_id: row.opened_on for row in rows if row.package_id}
    assert opened[pouches[1].package_id] == b.TODAY + timedelta(days=1)
    assert opened[pouches[0].package_id] is None


def test_freezer_burn_ends_the_best_time_and_names_its_source(
    tablet: Tablet, given: Given, book: Book
) -> None:
    ref = given(b.take_in, DEER, place=b.FREEZER, name="Venison")
    address = "/went-wrong/freezer_burn"
    page = ask(tablet, address, refs=str(ref))
    assert "no fault of safety" in page.words
    assert "Freezing and Food Safety" in page.words
    accept(tablet, page, address)
    assert fates(book) == {"Venison": "worn"}
    with book.reading() as session:
        assert b.estimate_of(session, ref).limit_word == "seen_worn"


# -- hostile ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("told", "field", "words"),
    [
        ({"to_at": "2025-10-22T05:00"}, "to_at", "The end is before the beginning"),
        ({"to_at": "2025-10-22T23:00"}, "to_at", "still to come"),
        ({"from_at": "2025-10-23T01:00"}, "from_at", "still to come"),
        ({"from_at": ""}, "from_at", "Something is needed"),
        ({"from_at": "yesterday"}, "from_at", "Write day and time"),
        ({"from_at": "2025-10-22T06:00+02:00"}, "from_at", "Write a time here"),
        ({"from_at": "0001-01-01T00:00"}, "from_at", "from 1950 on"),
        ({"warm_hours": "13"}, "warm_hours", "more than the 12 hours it lasted"),
        ({"warm_hours": "-1"}, "warm_hours", "between"),
        ({"warm_hours": "nan"}, "warm_hours", "between"),
        ({"place_id": "99"}, "place_id", "Choose one"),
        ({"place_id": "pantry"}, "place_id", "Choose one"),
    ],
)
def test_what_cannot_be_is_refused_beside_its_field_and_stays_typed(
    tablet: Tablet, given: Given, unchanged: Unchanged, told: dict[str, str], field: str, words: str
) -> None:
    freezer_full(given)
    with unchanged():
        page = ask(tablet, FREEZER, **(THAWED | told), note="the fuse went")
    assert page.status == 422
    assert words in page.beside(field)
    assert page.form().values["note"] == "the fuse went"


def test_fahrenheit_typed_as_celsius_is_asked_about_and_stands_with_a_reason(
    tablet: Tablet, given: Given, book: Book
) -> None:
    freezer_full(given)
    page = ask(tablet, FREEZER, **THAWED, temp="40")
    assert page.status == 422
    assert "Did you mean 40 °F (4.4 °C)" in page.words
    right = tablet.send(page.form(), FREEZER, work_out="1", temp="40 F")
    assert right.status == 200
    assert "May be frozen again" in right.words
    insisted = tablet.send(page.form(), FREEZER, work_out="1", reason="in the sun, read twice")
    accept(tablet, insisted, FREEZER)
    with book.reading() as session:
        note = session.scalars(select(Operation.note).where(Operation.kind == "incident")).one()
    assert "in the sun, read twice" in note


def test_forty_degrees_fahrenheit_are_cold_enough_and_forty_one_are_not(
    tablet: Tablet, given: Given
) -> None:
    # the table's limit is 40 °F; 4.4 °C is its rounding, so that 40 °F = 4.44 °C must still pass
    freezer_full(given)
    at_40 = ask(tablet, FREEZER, **THAWED, temp="40 F")
    at_41 = ask(tablet, FREEZER, **THAWED, temp="41 F")
    assert at_40.form().values["fates-1-fate"] == "refreeze"
    assert at_41.form().values["fates-1-fate"] == "discard"


NIGHTS = [
    ("America/New_York", "2026-11-01T00:30", "2026-11-01T02:30", date(2026, 11, 2), "discard"),
    ("Europe/Berlin", "2026-03-29T01:30", "2026-03-29T03:30", date(2026, 3, 30), "keep"),
    ("Europe/Berlin", "2026-03-29T01:30", "2026-03-29T04:30", date(2026, 3, 30), "keep"),
]  # the IANA time zone database: clocks went back in New York, forward in Berlin


@pytest.mark.parametrize(
    ("zone", "begins", "ends", "now", "fate"), NIGHTS, ids=["3 h", "1 h", "2 h"]
)
def test_hours_are_those_that_passed_when_the_clocks_change(
    tablet: Tablet,
    given: Given,
    book: Book,
    clock: HandClock,
    zone: str,
    begins: str,
    ends: str,
    now: date,
    fate: str,
) -> None:
    def live_there(session: Session) -> None:
        session.get_one(Household, 1).time_zone = zone

    given(live_there)
    stew = given(b.take_in, STEW, name="Stew", treatments=COOKED, is_raw=False)
    clock.now = b.evening(now)
    told = {"refs": str(stew), "from_at": begins, "to_at": ends, "temp": "20 °C"}
    accept(tablet, ask(tablet, LEFT_OUT, **told), LEFT_OUT)
    assert fates(book) == {"Stew": fate}


def test_a_double_tap_writes_once(tablet: Tablet, given: Given, book: Book) -> None:
    freezer_full(given)
    page = ask(tablet, FREEZER, **THAWED, warm_hours="3")
    first, second = accept(tablet, page, FREEZER), accept(tablet, page, FREEZER)
    assert (first.status, second.status) == (303, 303)
    assert first.location == second.location
    assert written(book) == 1


def test_food_that_somebody_took_meanwhile_is_named_and_what_was_typed_stays(
    tablet: Tablet, given: Given, book: Book, clock: HandClock
) -> None:
    refs = freezer_full(given)
    page = ask(tablet, FREEZER, **THAWED, warm_hours="3")
    given(discard, Leave((refs["Venison"],), clock.now.date(), words="thawed"), at=clock.now, by=1)
    refused = accept(tablet, page, FREEZER, note="the fuse went")
    assert refused.status == 422
    assert "Venison" in refused.summary
    assert "took it meanwhile" in refused.summary
    assert refused.form().values["note"] == "the fuse went"
    assert written(book) == 0
    assert accept(tablet, refused, FREEZER).status == 303
    assert fates(book) == {"Peas": "refreeze", "Raspberries": "look"}


def test_a_package_that_somebody_ate_meanwhile_is_no_longer_written_of(
    tablet: Tablet, given: Given, book: Book, clock: HandClock
) -> None:
    pouches = given(b.pouches)
    address = f"/went-wrong/seal_failed?lot={code_of(pouches[0].lot_id)}"
    page = ask(tablet, address)
    given(eat, Leave((pouches[0],), clock.now.date()), at=clock.now, by=1)
    refused = accept(tablet, page, address, note="all loose")
    assert refused.status == 422
    assert "not on hand any more" in refused.words
    assert refused.form().values["note"] == "all loose"
    assert written(book) == 0


def test_another_story_told_at_the_last_moment_is_judged_before_it_is_written(
    tablet: Tablet, given: Given, book: Book
) -> None:
    freezer_full(given)
    page = ask(tablet, FREEZER, **THAWED | {"ice": "yes"})
    changed = accept(tablet, page, FREEZER, ice="no", warm_hours="5")
    assert changed.status == 422
    assert "look at them once more" in changed.summary
    assert changed.form().values["fates-1-fate"] == "discard"
    assert written(book) == 0


def test_a_page_that_is_not_ours_writes_nothing(
    tablet: Tablet, given: Given, unchanged: Unchanged
) -> None:
    freezer_full(given)
    page = ask(tablet, FREEZER, **THAWED)
    with unchanged():
        refused = accept(tablet, page, FREEZER, csrf_token="forged")  # noqa: S106 (not a password)
    assert refused.status == 422
    assert "could not be recognised" in refused.words


def test_nothing_there_and_nothing_ticked_are_said_plainly(tablet: Tablet, given: Given) -> None:
    given(b.take_in, DEER)
    assert "nothing to decide" in ask(tablet, FREEZER, **THAWED).summary
    page = ask(tablet, LEFT_OUT, from_at="2025-10-22T15:00")
    assert "Tick what it happened to" in page.beside("refs")
    alone = ask(tablet, FRIDGE, from_at="2025-10-22T10:00")
    nobody = accept(tablet, alone, FRIDGE, fates__0__fate="none")
    assert "nothing to write" in nobody.summary


def test_two_hundred_lots_are_judged_and_written_in_one_go(
    tablet: Tablet, given: Given, book: Book
) -> None:
    def fill(session: Session) -> None:
        for number in range(200):
            b.take_in(session, DEER, 500, place=b.FREEZER, name=f"Packet {number + 1}")

    given(fill)
    page = ask(tablet, FREEZER, **THAWED, warm_hours="3")
    assert "To be discarded: 200" in page.words
    done = accept(tablet, page, FREEZER)
    assert done.status == 303
    assert tablet.get(done.location).status == 200
    with book.reading() as session:
        assert session.scalar(select(func.count(IncidentLot.id))) == 200
        assert session.scalars(select(Stock).where(Stock.place_id == b.FREEZER)).all() == []


def test_hostile_words_stay_words(tablet: Tablet, given: Given) -> None:
    freezer_full(given)
    hostile = "<script>alert(1)</script>"
    page = ask(tablet, FREEZER, **THAWED, note=hostile)
    assert hostile not in page.html
    done = accept(tablet, page, FREEZER, note=hostile)
    assert hostile not in tablet.get(done.location).html
    again = tablet.get("/went-wrong/power_out?from_at=<b>&place=-1")
    assert again.status == 200
    assert "<b>" not in again.html.replace("<body>", "")
