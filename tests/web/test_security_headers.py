"""What every page keeps to: nothing inline, nothing from elsewhere, and a look never writes."""

import re
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager
from typing import Any

import pytest
from flask import Flask
from sqlalchemy import event

from app.ledger.book import Book
from app.ledger.codes import code_of
from app.ledger.household import change_calendar_token
from app.ledger.operations.hold import PutOnHold, hold
from app.ledger.operations.incident import LotFate, WentWrong, went_wrong
from app.ledger.words import HoldCause, IncidentFate, IncidentKind
from app.science.safety.worn import past_its_best
from app.web.foretell.views import TOPICS
from app.web.household.add_forms import ADD_FORMS
from app.web.operations.forms import FORMS
from tests import builders as b
from tests.web.conftest import HandClock
from tests.web.pages import Page, Tablet

Given = Callable[..., Any]
Unchanged = Callable[[], AbstractContextManager[None]]
READS = re.compile(r"\s*(?:SELECT|WITH|BEGIN|PRAGMA|ROLLBACK)\b", re.I)


@pytest.fixture
def furnished(given: Given, clock: HandClock) -> dict[str, list[Any]]:
    """Something of everything, and what may stand in an address for it."""
    raw, pouches = given(b.take_in), given(b.pouches)
    meat = given(b.cooked, 500)
    run = given(b.loaded, b.a_tray(meat, 500))
    token = "a-calendar-token"  # noqa: S105 (of this test alone)
    given(change_calendar_token, token)
    awaited = PutOnHold((given(b.take_in, name="Hare").lot_id,), HoldCause.TEST_AWAITED, b.TODAY)
    given(b.do, hold, awaited)
    worn = LotFate(raw, IncidentFate.WORN, past_its_best(), since=b.TODAY)
    wrong = given(b.do, went_wrong, WentWrong(IncidentKind.WORN, b.TODAY, (worn,)))
    clock.forward(days=2)
    return {
        "code": [code_of(raw.lot_id), code_of(pouches[0].lot_id), code_of(meat.lot_id)],
        "word": list(FORMS),
        "run_id": [run],
        "place_id": list(range(1, 7)),
        "operation_id": [1, 2],
        "thing": list(ADD_FORMS),
        "question": list(TOPICS),
        "ref": [raw, pouches[0]],
        "key": [f"seal-{pouches[0].lot_id}", f"thermometer-{b.FRIDGE}"],
        "token": [token],
        "hold_id": [1],
        "source_id": [1],
        "mishap": list(IncidentKind),
        "span": ["1-2"],
        "incident_id": [wrong.operation_id],
    }


NOTHING_THERE = (
    "/nowhere",
    "/lots/ZZZZZ",
    "/labels.pdf",  # of no lot
    "/household/secure/stillroom.crt",  # without https there is none
)


def addresses(app: Flask, known: dict[str, list[Any]]) -> Iterator[str]:
    """Every address that can be opened, each with everything that may stand in it."""
    for rule in app.url_map.iter_rules():
        if rule.endpoint == "static" or "GET" not in (rule.methods or ()):
            continue
        (name,) = rule.arguments or {""}
        for value in known[name] if name else [""]:
            yield re.sub(r"<[^>]+>", str(value), rule.rule)
    for ref in known["ref"]:
        yield from (f"/write/{word}?from={ref}" for word in [*known["word"], "pack", "load"])
        yield f"/labels.pdf?ref={ref}"
    yield from (f"/labels?lot={code}" for code in known["code"])
    yield from (
        "/history?before=3",
        "/history?before=" + "9" * 40,
        "/lots?q=moose",
        "/lots?q=nothing+like+it",
        "/nowhere",
        "/lots/ZZZZZ",
    )


def test_every_address_answers_with_the_policy_and_without_anything_inline(
    app: Flask, tablet: Tablet, furnished: dict[str, list[Any]]
) -> None:
    opened = 0
    for address in addresses(app, furnished):
        page = tablet.get(address)
        assert page.status in (200, 303, 404, 422), address
        if page.status in (404, 422):
            assert address in NOTHING_THERE, address
        has_policy(page, address)
        has_nothing_inline(page, address)
        opened += page.status == 200
    assert opened > 60


def has_policy(page: Page, address: str) -> None:
    """The headers that say what may run."""
    headers = page.response.headers
    policy = dict(
        part.strip().split(" ", 1) for part in headers["Content-Security-Policy"].split(";")
    )
    for kind in ("default-src", "script-src", "style-src", "connect-src", "form-action"):
        assert policy[kind] == "'self'", address
    for kind in ("object-src", "base-uri", "frame-ancestors"):
        assert policy[kind] == "'none'", address
    assert headers["X-Content-Type-Options"] == "nosniff", address
    assert headers["Referrer-Policy"] == "same-origin", address
    if page.response.mimetype == "text/html":
        assert headers["Cache-Control"] == "no-store", address


def has_nothing_inline(page: Page, address: str) -> None:
    """No style or script that the policy would block, and nothing from another house."""
    for tag, attributes in page.tags:
        where = f"{address}: <{tag} {attributes}>"
        assert tag != "style", where
        assert tag != "script" or attributes.get("src"), where
        assert "style" not in attributes, where
        assert not [name for name in attributes if name.startswith("on")], where
        for name in ("href", "src", "action"):
            target = attributes.get(name, "")
            assert not re.match(r"(?i)\s*(?:[a-z]+:|//)", target), where


def test_a_look_never_writes(
    app: Flask, tablet: Tablet, book: Book, furnished: dict[str, list[Any]], unchanged: Unchanged
) -> None:
    sent: list[str] = []

    def note(_c: Any, _cursor: Any, statement: str, *_: Any) -> None:
        sent.append(statement)

    with unchanged():
        event.listen(book.engine, "before_cursor_execute", note)
        for address in addresses(app, furnished):
            tablet.get(address)
        event.remove(book.engine, "before_cursor_execute", note)
    assert len(sent) > 200
    assert [statement for statement in sent if not READS.match(statement)] == []


def test_the_style_and_the_scripts_of_a_page_exist_and_may_be_kept_for_long(
    tablet: Tablet,
) -> None:
    page = tablet.get("/")
    files = [a.get("href") or a["src"] for tag, a in page.tags if tag in ("link", "script")]
    assert len(files) > 5
    for address in files:
        assert "?v=" in address or address.startswith("/static/fonts/")
        assert tablet.get(address).status == 200


def test_the_cookie_cannot_be_read_by_scripts_nor_sent_from_elsewhere(tablet: Tablet) -> None:
    cookie = tablet.get("/write/intake").response.headers["Set-Cookie"]
    assert cookie.startswith("stillroom=")
    assert "HttpOnly" in cookie
    assert "SameSite=Lax" in cookie


@pytest.mark.parametrize(
    ("base", "said"),
    [
        ("https://192.168.1.4", True),
        ("http://localhost", True),
        ("http://127.0.0.1:8420", True),
        ("http://[::1]:8420", True),
        ("http://192.168.1.4:8420", False),  # a browser would complain of it on every page
    ],
)
def test_the_opener_policy_is_said_where_a_browser_heeds_it(
    tablet: Tablet, base: str, said: bool
) -> None:
    headers = tablet.client.get("/", base_url=base).headers
    assert headers.get("Cross-Origin-Opener-Policy") == ("same-origin" if said else None)


def test_a_name_that_is_none_is_refused_with_all_headers(tablet: Tablet) -> None:
    answer = tablet.client.get("/", headers={"Host": "no name:at all"})
    assert answer.status_code in (400, 421)
    assert answer.headers["X-Content-Type-Options"] == "nosniff"


def test_a_method_that_a_page_does_not_know_is_said_calmly(tablet: Tablet) -> None:
    page = tablet.post("/lots", {})
    assert page.status == 405
    assert "Nothing was written" in page.words


def test_a_fault_of_ours_shows_no_trace(
    app: Flask, tablet: Tablet, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object) -> None:
        raise RuntimeError("the secret inside")

    monkeypatch.setattr("app.web.eat_first.views.eat_first", broken)
    page = tablet.get("/")
    assert page.status == 500
    assert "A fault of ours" in page.words
    for inside in ("Traceback", "RuntimeError", "the secret inside", ".py"):
        assert inside not in page.html
    has_policy(page, "/")
