"""What no page may do with bad input: fail, write, forget what was typed, or obey it."""

import shutil
from collections.abc import Callable
from contextlib import AbstractContextManager
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from flask import Flask
from sqlalchemy import select

from app.ledger.book import Book
from app.ledger.codes import code_of, lot_id_of
from app.ledger.models import Operation, PostingKey
from app.ledger.queries.stock import stock_lines
from app.ledger.stock import StockRef
from app.web.operations.forms import FORMS
from tests import builders as b
from tests.web.conftest import HandClock
from tests.web.pages import Page, Sent, Tablet

Given = Callable[..., Any]
Unchanged = Callable[[], AbstractContextManager[None]]
HOSTILE = "<script>alert(1)</script>\"'><img src=x onerror=alert(2)>{{7*7}}"
PAGES = ["intake", "pack", "load", *FORMS]


@pytest.fixture(scope="module")
def furnished_file(furnished_file: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The household of the builders with the food of `starts`, made once for all of these tests."""
    path = tmp_path_factory.mktemp("stocked") / "stillroom.db"
    shutil.copy(furnished_file, path)
    book = Book(path)
    with book.writing() as session:
        b.take_in(session, name="Moose trim")
        b.take_in(session, place=b.FREEZER)
        b.take_in(session, b.SWEETCORN)
        b.dried(session)
        b.pouches(session)
    book.close()
    return path


@pytest.fixture
def starts(book: Book, clock: HandClock) -> dict[str, StockRef]:
    """A row of stock that each page can start from."""
    clock.forward(days=2)
    with book.reading() as session:
        lines = stock_lines(session, one_by_one=True)
    meat, frozen, corn, dry, pouch = (line.ref for line in lines[:5])
    special = {"thaw": frozen, "blanch": corn, "pack": dry, "open": pouch, "eat": pouch}
    return {kind: special.get(kind, meat) for kind in PAGES}


def address_of(kind: str, starts: dict[str, StockRef]) -> str:
    """The address of a page with its start."""
    return f"/write/{kind}" if kind == "intake" else f"/write/{kind}?from={starts[kind]}"


def opened(tablet: Tablet, kind: str, starts: dict[str, StockRef]) -> tuple[str, Sent]:
    """A page, opened, with a note typed."""
    address = address_of(kind, starts)
    form = tablet.get(address).form()
    form.values["note"] = "typed before supper"
    return address, form


# -- forms that are not ours, not whole, or far too large --------------------------------------


@pytest.mark.parametrize(
    ("kind", "token"),
    [*((kind, "forged") for kind in PAGES), *(("eat", odd) for odd in (None, "", "20251020##0"))],
)
def test_a_bad_token_writes_nothing_keeps_what_was_typed_and_can_be_sent_again(
    tablet: Tablet, starts: dict[str, StockRef], unchanged: Unchanged, kind: str, token: str | None
) -> None:
    address, form = opened(tablet, kind, starts)
    with unchanged():
        page = tablet.send(form, address, csrf_token=token)
    assert page.status == 422
    assert "could not be recognised as ours" in page.summary
    assert page.typed("note") == ["typed before supper"]
    again = tablet.send(page.form(), address)
    assert "could not be recognised" not in again.summary


def test_the_token_of_another_tablet_does_not_count(app: Flask, unchanged: Unchanged) -> None:
    one, other = Tablet(app), Tablet(app)
    form = one.get("/write/intake").form()
    other.get("/write/intake")
    with unchanged():
        page = other.send(form, "/write/intake", name="Moose", bowls__0__gross="500", food="moose")
    assert page.status == 422
    assert "could not be recognised as ours" in page.summary


@pytest.mark.parametrize(
    ("kind", "key"),
    [
        *((kind, None) for kind in PAGES),
        *(("eat", odd) for odd in ("", "short", "x" * 65, "with spaces in between", "../../key")),
    ],
)
def test_a_missing_or_odd_key_writes_nothing_and_is_mended_by_the_page(
    tablet: Tablet, starts: dict[str, StockRef], unchanged: Unchanged, kind: str, key: str | None
) -> None:
    address, form = opened(tablet, kind, starts)
    with unchanged():
        page = tablet.send(form, address, key=key)
    assert page.status == 422
    assert page.typed("note") == ["typed before supper"]
    assert len(page.typed("key")[0]) >= 16 or page.summary.count(":") > 1


def test_a_form_without_a_key_is_written_when_it_is_sent_once_more(
    tablet: Tablet, starts: dict[str, StockRef], unchanged: Unchanged
) -> None:
    address, form = opened(tablet, "trim", starts)
    with unchanged():
        page = tablet.send(form, address, made_mg="1000", key="short")
    assert "send it once more" in page.summary
    assert tablet.send(page.form(), address).status == 303


@pytest.mark.parametrize("kind", PAGES)
def test_an_empty_form_is_asked_for_what_it_needs(
    tablet: Tablet, starts: dict[str, StockRef], unchanged: Unchanged, kind: str
) -> None:
    with unchanged():
        page = tablet.post(address_of(kind, starts), {})
    assert page.status == 422
    assert page.beside("done_on") == "Something is needed here."
    assert page.summary


@pytest.mark.parametrize("address", [*(f"/write/{kind}" for kind in PAGES), "/labels/printed"])
def test_a_form_of_ten_megabytes_is_not_read(
    tablet: Tablet, unchanged: Unchanged, address: str
) -> None:
    with unchanged():
        page = tablet.post(address, {"note": "x" * 10_000_000})
    assert page.status == 413
    assert "Too much at once" in page.words
    assert "Nothing was written" in page.words
    assert "Traceback" not in page.html


def test_a_form_in_many_parts_is_not_read(tablet: Tablet, unchanged: Unchanged) -> None:
    parts: dict[str, Any] = {f"bowls-{i}-gross": "1" for i in range(600)}
    with unchanged():
        answer = tablet.client.post("/write/intake", data=parts | {"x": (BytesIO(b"x"), "x")})
    assert answer.status_code == 413
    assert b"Traceback" not in answer.data


# -- doubles -----------------------------------------------------------------------------------


def test_a_form_sent_three_times_is_written_once_even_when_nothing_is_left(
    tablet: Tablet, book: Book, starts: dict[str, StockRef]
) -> None:
    address, form = opened(tablet, "thaw", starts)
    answers = [tablet.send(form, address) for _ in range(3)]
    assert len({(answer.status, answer.location) for answer in answers}) == 1
    assert answers[0].status == 303
    with book.reading() as session:
        kinds = session.scalars(select(Operation.kind)).all()
        assert kinds.count("thaw") == 1
        assert len(session.scalars(select(PostingKey)).all()) == 1


def test_a_refused_form_uses_no_key_up(
    tablet: Tablet, book: Book, starts: dict[str, StockRef]
) -> None:
    address, form = opened(tablet, "trim", starts)
    assert tablet.send(form, address, made_mg="9 kg").status == 422
    assert tablet.send(form, address, made_mg="1 kg").status == 303


# -- hostile text ------------------------------------------------------------------------------


def tame(page: Page) -> None:
    """The text is there to read, and nothing of it has become part of the page."""
    for tag, attributes in page.tags:
        assert attributes.get("src") != "x"
        assert "onerror" not in attributes
        assert tag != "script" or attributes.get("src", "").startswith("/static/")
    assert "onerror=alert(2)>49" not in page.words  # {{7*7}} was not worked out


def test_markup_in_a_name_is_only_text_wherever_the_name_is_shown(tablet: Tablet) -> None:
    typed = {
        "name": HOSTILE,
        "food": "Pork, fresh, ground, raw (10219)",
        "source_name": HOSTILE,
        "tag": HOSTILE,
        "from_whom": HOSTILE,
        "note": HOSTILE,
        "bowls__0__gross": "1 kg",
        "bowls__0__bowl": HOSTILE,
    }
    written = tablet.fill("/write/intake", **typed)
    assert written.status == 303, written.summary
    lot = tablet.get(written.location)
    assert lot.words.count("<script>alert(1)</script>") >= 5  # flash, heading, source, note, bowl
    tame(lot)
    code = written.location.rsplit("/", 1)[1]
    start = f"{lot_id_of(code)}-{b.FRIDGE}"
    shown = [
        "/",
        "/lots",
        "/labels",
        f"/labels?lot={code}",
        "/write/pack",
        f"/lots/{code}/worked-out",
    ]
    shown += [f"/write/{kind}?from={start}" for kind in ("grind", "eat", "blend", "pack", "load")]
    shown += ["/history", f"/places/{b.FRIDGE}"]
    for address in shown:
        page = tablet.get(address)
        assert page.status == 200, address
        tame(page)
        assert "alert(1)" in page.words + str(page.typed("name")), address
    assert tablet.get(f"/labels.pdf?ref={start}").status in (200, 422)


def test_markup_that_is_refused_comes_back_as_text(tablet: Tablet, unchanged: Unchanged) -> None:
    with unchanged():
        page = tablet.fill(
            "/write/intake", name=HOSTILE, food=HOSTILE, bowls__0__gross=HOSTILE, done_on=HOSTILE
        )
    tame(page)
    assert page.typed("name") == [HOSTILE]
    assert page.typed("food") == [HOSTILE]
    assert page.typed("bowls-0-gross") == [HOSTILE]
    assert page.typed("done_on") == [HOSTILE]


def test_markup_in_a_search_is_only_text(tablet: Tablet) -> None:
    page = Page(tablet.client.get("/lots", query_string={"q": HOSTILE}))
    tame(page)
    assert page.typed("q") == [HOSTILE]


def test_characters_that_do_not_print_are_dropped_from_names(tablet: Tablet) -> None:
    typed = {"food": "Pork, fresh, ground, raw (10219)", "bowls__0__gross": "1 kg"}
    written = tablet.fill("/write/intake", name="Moo\x00se\x07\x1b[31m", **typed)
    assert "Moose[31m" in tablet.get(written.location).words


def test_names_of_every_script_are_kept(tablet: Tablet) -> None:
    typed = {"food": "Pork, fresh, ground, raw (10219)", "bowls__0__gross": "1 kg"}
    for name in ("Älg, mald", "Лось", "ヘラジカ", "🫎 steak", "e\u0301lan", "أيل"):
        written = tablet.fill("/write/intake", name=name, **typed)
        assert name in tablet.get(written.location).words


# -- addresses ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "address",
    [
        "/lots/ZZZZZ",
        "/lots/%00",
        "/lots/..%2f..%2fetc",
        "/lots/" + "A" * 3000,
        "/l/nonsense",
        "/L/",
        "/runs/99",
        "/runs/-1",
        "/runs/" + "9" * 40,
        "/places/" + "9" * 40,
        "/operations/" + "9" * 40,
        "/lots/ZZZZZ/worked-out",
        "/write/" + "x" * 3000,
        "/static/../secret",
        "/static/%2e%2e/%2e%2e/secret",
        "/secret",
    ],
)
def test_an_address_of_nothing_is_a_page_that_says_so(tablet: Tablet, address: str) -> None:
    page = tablet.get(address)
    assert page.status == 404
    assert "There is no such lot or page." in page.words


def test_a_lot_of_a_right_code_that_was_never_made_is_not_found(tablet: Tablet) -> None:
    assert tablet.get(f"/lots/{code_of(4711)}").status == 404
    assert tablet.get(f"/labels?lot={code_of(4711)}").status == 404


@pytest.mark.parametrize("kind", [k for k in PAGES if k != "intake"])
def test_food_that_was_taken_meanwhile_is_said_beside_the_choice(
    tablet: Tablet, book: Book, starts: dict[str, StockRef], kind: str, unchanged: Unchanged
) -> None:
    address, form = opened(tablet, kind, starts)
    taken = tablet.fill(f"/write/discard?from={starts[kind]}", words="the dog had it")
    assert taken.status == 303, taken.summary
    with unchanged():
        page = tablet.send(form, address, made_mg="10", name="x")
    assert page.status == 422
    assert page.summary
