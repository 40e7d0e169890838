"""An answer that never arrives, a double tap on the wire: every form is written once.

The first group sends each form of the application twice in the same instant and compares the ledger
with that of a household in which it was sent once.
"""

import logging
import shutil
from collections.abc import Callable, Iterator
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from flask import Flask
from jinja2 import FileSystemBytecodeCache
from sqlalchemy import func, select
from werkzeug.datastructures import FileStorage, MultiDict
from werkzeug.test import encode_multipart

from app.ledger.archive.backup import back_up
from app.ledger.book import Book
from app.ledger.checks import check_all
from app.ledger.codes import code_of
from app.ledger.devices import devices, new_code
from app.ledger.household import calendar_token
from app.ledger.models import Device, Operation, PairingCode, PostingKey, Stock
from app.ledger.operations import first_day as whole_freezer
from app.ledger.operations.first_day import AlreadyThere, FirstDay, Since
from app.ledger.operations.hold import PutOnHold, hold
from app.ledger.operations.intake import SourceIn
from app.ledger.stock import StockRef
from app.ledger.words import HoldCause, SourceKind
from app.settings import Settings
from app.web.factory import create_app
from app.web.operations.forms import FORMS
from app.web.routes import ROUTES
from tests import builders as b
from tests.browser.live import Live, serving
from tests.databases import Shelf
from tests.web.conftest import HandClock, everything
from tests.web.hindered import impatient, somebody_writing
from tests.web.pages import Page, Tablet
from tests.web.wire import WireTablet, at_once, filled

Ready = tuple[str, MultiDict[str, str]]  # where to send it, and what
Kitchen = dict[str, StockRef]
NO_PAGE_OF_ITS_OWN = "/labels/printed"
PORK = "Pork, fresh, ground, raw (10219)"


@pytest.fixture(scope="module")
def furnished_file(furnished_file: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A household with something for every form to start from, made once for all of these tests."""
    path = tmp_path_factory.mktemp("stocked") / "stillroom.db"
    shutil.copy(furnished_file, path)
    book = Book(path)
    with book.writing() as session:
        for make in LARDER.values():
            make(session)
    book.close()
    return path


def on_trays(session: Any) -> StockRef:
    """Sweetcorn in the box dehydrator: run 3, since the dry food and the pouches were two."""
    corn = b.take_in(session, b.SWEETCORN)
    b.loaded(session, b.a_tray(corn, 1000), place=b.DEHYDRATOR)
    return StockRef(corn.lot_id, b.DEHYDRATOR)


def awaited(session: Any) -> StockRef:
    """A moose held for a test: hold 1."""
    ref = b.take_in(session, name="Moose shoulder")
    b.do(session, hold, PutOnHold((ref.lot_id,), HoldCause.TEST_AWAITED, b.TODAY, "wasting"))
    return ref


def recalled(session: Any) -> StockRef:
    """Farm lamb that the butcher rang about: hold 2."""
    ref = b.take_in(session, name="Farm lamb")
    b.do(session, hold, PutOnHold((ref.lot_id,), HoldCause.RECALL, b.TODAY, "butcher rang"))
    return ref


LARDER: dict[str, Callable[[Any], StockRef]] = {
    "meat": b.take_in,
    "frozen": lambda session: b.take_in(session, place=b.FREEZER),
    "corn": lambda session: b.take_in(session, b.SWEETCORN),
    "pot": b.a_pot,
    "dry": b.dried,
    "pouch": lambda session: b.pouches(session)[0],
    "trays": on_trays,
    "awaited": awaited,
    "recalled": recalled,
}


@pytest.fixture
def kitchen(book: Book, clock: HandClock) -> Kitchen:
    """Where the food of the larder lies, two days on."""
    clock.forward(days=2)
    with book.reading() as session:
        loose = {b.lot_of(session, ref).id: ref for ref in b.all_stock(session)}
        refs = sorted(loose.values(), key=lambda ref: ref.lot_id)
    places = [b.FRIDGE, b.FREEZER, b.FRIDGE, b.FRIDGE, b.BENCH, b.PANTRY, b.DEHYDRATOR]
    found = dict(zip(LARDER, refs, strict=True))
    assert [ref.place_id for ref in refs] == [*places, b.FRIDGE, b.FRIDGE]
    return found


# -- every form of the application -------------------------------------------------------------

WORK: dict[str, tuple[str, dict[str, object]]] = {
    "thaw": ("frozen", {}),
    "trim": ("meat", {"made_mg": "1 kg"}),
    "grind": ("meat", {"parts__0__mass": "1 kg", "name": "Mince", "made_mg": "1 kg"}),
    "blend": ("meat", {"mass_mg": "500", "made_mg": "600", "other_mass_mg": "100", "name": "Mix"}),
    "portion": ("meat", {"mass_mg": "200", "name": "Part"}),
    "cook": ("meat", {"made_mg": "1000", "centre": "85"}),
    "chill": ("pot", {"reason": "shallow tub in snow"}),
    "skim": ("pot", {"fat_mg": "0"}),
    "drain": ("pot", {"drained_mg": "1500", "broth_mg": "1500"}),
    "blanch": ("corn", {"made_mg": "1 kg"}),
    "move": ("meat", {"place_id": b.FREEZER}),
    "open": ("pouch", {}),
    "measure": ("meat", {"water": "70"}),
    "eat": ("meat", {}),
    "give": ("pouch", {"words": "Morag"}),
    "discard": ("pouch", {"words": "the dog had it"}),
}
PAGES: dict[str, tuple[str, dict[str, object]]] = {
    "/write/intake": ("", {"name": "Pork", "food": PORK, "bowls__0__gross": "1 kg"}),
    "/places/new": ("", {"name": "Cellar", "kind": "room"}),
    f"/places/{b.FREEZER}/edit": ("", {"name": "Upright freezer"}),
    f"/places/{b.FREEZER}/warm": ("", {"usual": "-22", "low": "-24", "high": "-20"}),
    f"/places/{b.FREEZER}/readings": ("", {"reading": "-18"}),
    f"/due/thermometer-{b.FRIDGE}": ("", {"temp": "4"}),
    "/holds/1/result": ("", {"hold_id": "not_detected", "note": "lab 7"}),
    "/holds/2/release": ("", {"hold_ids": "looked_fine", "note": "another batch"}),
    "/operations/1/correct": ("", {"reason": "weighed the wrong bowl"}),
    "/household/settings": ("", {"name": "Birkbrae Hill"}),
    "/household/person/new": ("", {"name": "Isla"}),
    "/household/bowl/new": ("", {"name": "Steel bowl", "tare_mg": "311"}),
    "/household/absorber/new": ("", {"name": "50 cc", "rating_ml": "50", "kind": "moist"}),
    "/household/package/new": ("", {"name": "Small jar", "kind": "glass_jar", "volume": "0.5 l"}),
    "/runs/3#weigh": ("weigh-3", {"number": "1", "gross": "900"}),
    "/runs/3#unload": ("unload-3", {"made__0__mass": "300"}),
}


def work(kind: str, tablet: Tablet, kitchen: Kitchen) -> Ready:
    """A page that starts from food."""
    start, typed = WORK[kind]
    address = f"/write/{kind}?from={kitchen[start]}"
    refs: dict[str, object] = {}
    if kind == "blend":
        refs = {"other_ref": kitchen["corn"]}
    return address, filled(tablet.get(address).form(), **typed, **refs)


def page(address: str, tablet: Tablet, _kitchen: Kitchen) -> Ready:
    """A page that starts from nothing, or a form of a page with several."""
    form_id, typed = PAGES[address]
    address = address.partition("#")[0]
    form = tablet.get(address).form(form_id)
    return form.action or address, filled(form, **typed)


def packed(tablet: Tablet, kitchen: Kitchen) -> Ready:
    address = f"/write/pack?from={kitchen['dry']}"
    typed = {"packaging_id": b.FOIL_POUCH, "absorber_id": b.CC_300, "place_id": b.PANTRY}
    more = {"net_mg__0__net": "80", "net_mg__1__net": "80", "seal_checked": "y"}
    form = tablet.get(address).form()
    return address, filled(form, **typed, **more, reason="eaten within the year")


def loaded(tablet: Tablet, kitchen: Kitchen) -> Ready:
    address = f"/write/load?from={kitchen['pot']}"
    rows = {"trays__0__ref": kitchen["pot"], "trays__0__gross": "1600", "trays__0__tare": "600"}
    return address, filled(tablet.get(address).form(), **rows, reason="kept frozen afterwards")


def mixed(tablet: Tablet, kitchen: Kitchen) -> Ready:
    rows = {f"parts__{i}__ref": kitchen[x] for i, x in enumerate(("meat", "corn", "pot"))}
    rows |= {f"parts__{i}__mass": "100" for i in range(3)}
    form = tablet.get("/write/mix").form()
    return "/write/mix", filled(form, **rows, name="Hash", made_mg="300")


def tried(tablet: Tablet, kitchen: Kitchen) -> Ready:
    rows: dict[str, object] = {}
    for i, drained in enumerate(("140", "120")):
        row = {"dry": "50", "water": "150", "temp": "60", "minutes": "20", "drained": drained}
        rows |= {f"sides__{i}__{name}": value for name, value in row.items()}
        rows[f"sides__{i}__ref"] = kitchen["dry"]
    return "/write/trial", filled(tablet.get("/write/trial").form(), **rows)


def listed(tablet: Tablet, _kitchen: Kitchen) -> Ready:
    """Two packets of a first day, to be taken back together."""
    corn = AlreadyThere(
        *("Corn", b.SWEETCORN, Since(b.TODAY, b.TODAY), 1, 100 * b.G, "100 g", False, False)
    )
    whole = FirstDay((corn, corn), b.FREEZER, SourceIn(SourceKind.PLOT, "Plot"), b.TODAY)
    book: Book = tablet.client.application.extensions["stillroom.book"]
    with book.writing() as session:
        first, last = whole_freezer.first_day(session, whole, at=b.evening(b.TODAY), by=None)
    address = f"/write/first-day/{first.operation_id}-{last.operation_id}"
    return address, filled(tablet.get(address).form("take-back"))


def labelled(tablet: Tablet, kitchen: Kitchen) -> Ready:
    address = f"/labels?lot={code_of(kitchen['pouch'].lot_id)}"
    (form,) = [f for f in tablet.get(address).forms if f.action == "/labels/printed"]
    return form.action, form.values


def held(tablet: Tablet, kitchen: Kitchen) -> Ready:
    address = f"/holds/new?lot={code_of(kitchen['meat'].lot_id)}"
    return address, filled(tablet.get(address).form(), cause="recall")


def went_wrong(tablet: Tablet, _kitchen: Kitchen) -> Ready:
    """A power cut that discards some food and holds other: three operations in one."""
    address = f"/went-wrong/power_out?place={b.FREEZER}"
    told = {"from_at": "2025-10-22T06:00", "to_at": "2025-10-22T18:00", "ice": "no"}
    asked = tablet.fill(address, work_out="1", warm_hours="3", **told)
    assert asked.status == 200, asked.summary
    return address, asked.form().values


def logged(tablet: Tablet, _kitchen: Kitchen) -> Ready:
    address = f"/places/{b.FREEZER}/logger"
    rows = [
        f"2025-10-{day:02} {hour}:00,-1{hour % 7}.0" for day in range(1, 20) for hour in (12, 18)
    ]
    data = "\n".join(["Time,Temperature (°C)", *rows]).encode()
    token = tablet.get(address).form("logger").values["csrf_token"]
    sent = {"csrf_token": token, "file": FileStorage(BytesIO(data), "freezer.csv")}
    boundary, body = encode_multipart(sent)
    kind = f"multipart/form-data; boundary={boundary}"
    shown = Page(tablet.client.post(address, data=body, content_type=kind))
    return address, filled(shown.form(), step="write", reason="read twice")


def taken_stock(tablet: Tablet, kitchen: Kitchen) -> Ready:
    """What differs is shown first; then it is written."""
    address = f"/places/{b.FRIDGE}/stocktake"
    answer = {f"row-{kitchen['meat']}": "gone", "reason": "eaten and not written down"}
    compared = tablet.fill(address, **answer)
    assert compared.status == 200, compared.summary
    return address, compared.form().values


def first_day(tablet: Tablet, _kitchen: Kitchen) -> Ready:
    """Two lots, two operations, one sending."""
    rows: dict[str, object] = {}
    for i, (food, weight) in enumerate((("moose", "2 kg"), ("apples", "500"))):
        row = {"food": food, "weight": weight, "since": "2024-10"}
        rows |= {f"rows__{i}__{name}": value for name, value in row.items()}
    return "/write/first-day", filled(tablet.get("/write/first-day").form(), **rows)


KEYED: dict[str, Callable[[Tablet, Kitchen], Ready]] = {
    **{f"/write/{kind}": lambda t, k, kind=kind: work(kind, t, k) for kind in WORK},
    **{address: lambda t, k, address=address: page(address, t, k) for address in PAGES},
    "/write/pack": packed,
    "/write/load": loaded,
    "/write/mix": mixed,
    "/write/trial": tried,
    "/labels/printed": labelled,
    "/write/first-day/1-2": listed,
    "/holds/new": held,
    "/went-wrong/power_out": went_wrong,
    f"/places/{b.FREEZER}/logger": logged,
    f"/places/{b.FRIDGE}/stocktake": taken_stock,
    "/write/first-day": first_day,
}
BARE = {
    "history.undo",
    "household.calendar",
    "household.writer",
    "household.units",
    "household.reading_language",
    "devices.pair",
} | {
    "devices.new_code",
    "devices.remove",
}


def test_no_form_of_the_application_is_left_out(app: Flask) -> None:
    urls = app.url_map.bind("localhost")
    sent = {urls.match(a.replace("#", "/"), method="POST")[0].split(" ")[0] for a in KEYED}
    all_of_them = {view for _, view, methods in ROUTES if "POST" in methods}
    assert all_of_them - sent == BARE | {"household.first_run"}
    assert set(WORK) == {str(kind) for kind in FORMS}


@pytest.mark.parametrize("name", KEYED)
def test_a_form_sent_twice_in_the_same_instant_is_written_once(
    app: Flask,
    book: Book,
    tablet: Tablet,
    kitchen: Kitchen,
    clock: HandClock,
    templates: FileSystemBytecodeCache,
    tmp_path: Path,
    name: str,
) -> None:
    address, values = KEYED[name](tablet, kitchen)
    once = alone(app, book, tablet, clock, templates, tmp_path)
    hindered_first(once, address, values)
    first = once.post(address, values)
    assert first.status == 303, first.words[:600]
    again = twin(app, tablet)
    answers = at_once([lambda: tablet.post(address, values), lambda: again.post(address, values)])
    assert [answer.status for answer in answers] == [303, 303], answers[1].words[:300]
    other: Book = once.client.application.extensions["stillroom.book"]
    if isinstance(book.where, Path):
        assert {answer.location for answer in answers} == {first.location}
        assert everything(book) == everything(other)
    else:  # a number that was given to what was given up is not given again
        assert len({answer.location for answer in answers}) == 1
        assert amounts(book) == amounts(other)
    other.close()
    with book.reading() as session:
        assert check_all(session) == []
        assert session.scalars(select(PostingKey.key)).all() == [values["key"]]


def amounts(book: Book) -> tuple[dict[str, object], list[int]]:
    """How many rows each table has, and every amount on hand."""
    counts = {name: many for name, many in everything(book).items() if name != "on hand"}
    with book.reading() as session:
        return counts, sorted(session.scalars(select(Stock.mass_mg)))


def hindered_first(tablet: Tablet, address: str, values: MultiDict[str, str]) -> None:
    """While somebody else writes, every form comes back with its key, to be sent once more."""
    app = tablet.client.application
    with impatient(app) as book, somebody_writing(book):
        page = tablet.post(address, values)
    assert page.status == 503
    own = address != NO_PAGE_OF_ITS_OWN
    assert "Somebody else is writing just now" in (page.summary if own else page.words)
    kept = page.typed("key") if own else [page.form("once-more").values["key"]]
    assert values["key"] in kept


def alone(
    app: Flask,
    book: Book,
    tablet: Tablet,
    clock: HandClock,
    templates: FileSystemBytecodeCache,
    folder: Path,
) -> Tablet:
    """The same tablet at a copy of the household, as it is now."""
    settings = Settings(folder / "alone")
    settings.data_dir.mkdir()
    back_up(book.where, settings.data_file)
    shutil.copy(folder / "secret", settings.data_dir)
    other = create_app(settings, clock)
    everything(other.extensions["stillroom.book"])  # the first connection turns its log on
    other.testing = True
    other.jinja_env.bytecode_cache = templates
    return twin(other, tablet)


def twin(app: Flask, tablet: Tablet) -> Tablet:
    """A second connection of the same browser: it has the same cookie."""
    found = Tablet(app)
    cookie = tablet.client.get_cookie("stillroom")
    if cookie is not None:
        found.client.set_cookie("stillroom", cookie.value)
    return found


def test_the_first_page_sent_twice_in_the_same_instant_opens_one_ledger(new_app: Flask) -> None:
    tablet = Tablet(new_app)
    form = tablet.get("/first-run").form()
    typed = {"name": "Birkbrae", "people": "Ailsa, Ewan", "altitude": "310"}
    values = filled(form, **typed, time_zone="Europe/London")
    again = twin(new_app, tablet)
    answers = at_once(
        [lambda: tablet.post("/first-run", values), lambda: again.post("/first-run", values)]
    )
    assert [(a.status, a.location) for a in answers] == [(303, "/first-steps")] * 2
    counts = everything(new_app.extensions["stillroom.book"])
    assert (counts["household"], counts["person"], counts["posting_key"]) == (1, 2, 1)


# -- buttons that have no key: doing them twice is doing them once ------------------------------


def pressed_twice(app: Flask, tablet: Tablet, shown: str, action: str) -> list[Page]:
    """Press a button of a page on two connections in the same instant."""
    (form,) = [f for f in tablet.get(shown).forms if f.action == action][:1]
    again = twin(app, tablet)
    return at_once(
        [lambda: tablet.post(action, form.values), lambda: again.post(action, form.values)]
    )


def test_an_undo_pressed_twice_in_the_same_instant_takes_back_once(
    app: Flask, tablet: Tablet, book: Book, kitchen: Kitchen
) -> None:
    assert tablet.fill(f"/write/eat?from={kitchen['meat']}").status == 303
    with book.reading() as session:
        newest = session.scalar(select(func.max(Operation.id)))
    answers = pressed_twice(app, tablet, f"/operations/{newest}", f"/operations/{newest}/undo")
    assert [answer.status for answer in answers] == [303, 303]
    with book.reading() as session:
        assert session.scalar(select(func.max(Operation.id))) == (newest or 0) + 1
        assert b.on_hand(session, kitchen["meat"]) == 1000 * b.G
        assert check_all(session) == []


def test_the_calendar_has_one_address_however_often_it_is_asked_for(
    app: Flask, tablet: Tablet, book: Book
) -> None:
    answers = pressed_twice(app, tablet, "/household", "/household/calendar")
    assert [answer.status for answer in answers] == [303, 303]
    with book.reading() as session:
        assert calendar_token(session) is not None


def test_of_two_codes_asked_for_at_once_one_pairs_a_device(
    app: Flask, tablet: Tablet, book: Book
) -> None:
    answers = pressed_twice(app, tablet, "/household/devices", "/household/devices/code")
    assert [answer.status for answer in answers] == [200, 200]
    with book.reading() as session:
        assert session.scalar(select(func.count()).select_from(PairingCode)) == 1


def test_a_device_is_paired_once_and_shut_out_once(
    app: Flask, tablet: Tablet, book: Book, clock: HandClock
) -> None:
    with book.writing() as session:
        code = new_code(session, at=clock())
    tablets = [Tablet(app), Tablet(app)]
    for one in tablets:
        one.client.environ_base["REMOTE_ADDR"] = "192.168.1.23"
    forms = [filled(one.get("/pair").form(), code=code, name="Kitchen") for one in tablets]
    answers = at_once(
        [lambda i=i: tablets[i].post("/pair", forms[i]) for i in range(2)]  # type: ignore[misc]
    )
    assert sorted(answer.status for answer in answers) == [303, 422]  # two devices, one code
    with book.reading() as session:
        (device_id,) = [device.id for device in devices(session)]
    action = f"/household/devices/{device_id}/remove"
    answers = pressed_twice(app, tablet, "/household/devices", action)
    assert [answer.status for answer in answers] == [303, 303]
    with book.reading() as session:
        assert session.scalars(select(Device)).all() == []


def test_a_double_tap_on_pairing_pairs_once_and_is_no_wrong_code(
    app: Flask, book: Book, clock: HandClock
) -> None:
    with book.writing() as session:
        code = new_code(session, at=clock())
    one = Tablet(app)
    one.client.environ_base["REMOTE_ADDR"] = "192.168.1.23"
    values = filled(one.get("/pair").form(), code=code, name="Kitchen")
    other = twin(app, one)
    other.client.environ_base["REMOTE_ADDR"] = "192.168.1.23"
    answers = at_once([lambda: one.post("/pair", values), lambda: other.post("/pair", values)])
    assert [(answer.status, answer.location) for answer in answers] == [(303, "/")] * 2
    assert one.post("/pair", values).status == 303
    with book.reading() as session:
        assert len(devices(session)) == 1


# -- answers that get lost on the way ------------------------------------------------------------


@pytest.fixture
def live(furnished_file: Path, shelf: Shelf, caplog: pytest.LogCaptureFixture) -> Iterator[Live]:
    """The application served from a folder of its own; nothing may be logged but waiting tasks."""
    settings = shelf.settings(furnished_file)
    with caplog.at_level(logging.ERROR), serving(settings, b.evening(b.TODAY)) as found:
        found.clock.forward(days=2)
        yield found
    assert [record.getMessage() for record in caplog.records] == []


def eaten(book: Book) -> int:
    with book.reading() as session:
        assert check_all(session) == []
        kinds = session.scalars(select(Operation.kind)).all()
        return kinds.count("eat")


MEAT = StockRef(1, b.FRIDGE)
EAT = f"/write/eat?from={MEAT}"


def test_an_answer_lost_on_the_way_is_found_by_sending_the_form_again(live: Live) -> None:
    tablet = WireTablet(live.address)
    for number in range(1, 11):
        values = filled(tablet.get(EAT).form(), refs=str(MEAT), mass_mg="10 g")
        tablet.post_and_hang_up(EAT, values)
        answers = [tablet.post(EAT, values) for _ in range(2)]
        assert [answer.status for answer in answers] == [303, 303]
        assert eaten(live.book) == number
    with live.book.reading() as session:
        assert b.on_hand(session, MEAT) == 900 * b.G


def test_a_person_is_told_that_it_was_written_already(live: Live) -> None:
    tablet = WireTablet(live.address)
    values = filled(tablet.get(EAT).form(), refs=str(MEAT))
    first, again = tablet.post(EAT, values), tablet.post(EAT, values)
    assert (again.status, again.location) == (303, first.location)
    assert "That was written already; it stands in the ledger once." in tablet.get("/").words


def test_the_same_form_after_a_restart_finds_its_first_answer(
    furnished_file: Path, shelf: Shelf
) -> None:
    settings = shelf.settings(furnished_file)
    later = b.evening(b.TODAY).replace(day=b.TODAY.day + 2)
    with serving(settings, later) as before:
        tablet = WireTablet(before.address)
        values = filled(tablet.get(EAT).form(), refs=str(MEAT), mass_mg="10 g")
        unsent = filled(tablet.get(EAT).form(), refs=str(MEAT), mass_mg="20 g")
        first = tablet.post(EAT, values)
    with serving(settings, later) as after:
        same = WireTablet(after.address)
        same.cookie = tablet.cookie
        again = same.post(EAT, values)
        assert (again.status, again.location) == (first.status, first.location) == (303, "/")
        assert eaten(after.book) == 1
        assert same.post(EAT, unsent).status == 303  # opened before, sent after: the token holds
        assert eaten(after.book) == 2


def test_a_double_tap_on_the_wire_is_one_entry(live: Live) -> None:
    tablet = WireTablet(live.address)
    for number in range(1, 6):
        values = filled(tablet.get(EAT).form(), refs=str(MEAT), mass_mg="10 g")
        answers = at_once([lambda values=values: tablet.post(EAT, values)] * 4)  # type: ignore[misc]
        assert [(answer.status, answer.location) for answer in answers] == [(303, "/")] * 4
        assert eaten(live.book) == number
