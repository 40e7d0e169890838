"""Two tablets and eight, at the same instant on the same food, over real sockets.

Each gets what it asked for or a clear refusal; no gram is lost and none is there twice.
"""

import logging
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import select

from app.ledger.checks import check_all
from app.ledger.codes import code_of
from app.ledger.models import Operation, Package
from app.ledger.stock import StockRef
from app.ledger.words import OperationKind
from tests import builders as b
from tests.browser.live import Live, serving
from tests.databases import Shelf
from tests.web.pages import Page
from tests.web.wire import WireTablet, at_once, filled

ROUNDS = 3
Given = Callable[..., Any]
several = pytest.mark.parametrize("count", [2, 8])


@pytest.fixture
def live(furnished_file: Path, shelf: Shelf, caplog: pytest.LogCaptureFixture) -> Iterator[Live]:
    """The application served from a folder of its own; nothing of the database may be logged."""
    settings = shelf.settings(furnished_file)
    with caplog.at_level(logging.WARNING), serving(settings, b.evening(b.TODAY)) as found:
        found.clock.forward(days=2)
        yield found
        with found.book.reading() as session:
            assert check_all(session) == []
    said = [r for r in caplog.records if r.name != "waitress.queue"]  # it tells of waiting tasks
    assert [r.getMessage() for r in said] == []


@pytest.fixture
def given(live: Live) -> Given:
    """Food that is there already."""

    def put(build: Callable[..., Any], *args: Any, **changes: Any) -> Any:
        with live.book.writing() as session:
            return build(session, *args, **changes)

    return put


def ready(live: Live, address: str, **typed: Any) -> Callable[[], Page]:
    """A tablet that has opened a page and filled its form; calling it sends the form."""
    tablet = WireTablet(live.address)
    values = filled(tablet.get(address).form(), **typed)
    return lambda: tablet.post(address, values)


def clear(pages: list[Page]) -> tuple[list[Page], list[Page]]:
    """Those that were written and those that were refused; there is no third kind."""
    for page in pages:
        assert page.status in (303, 422), page.words[:300]
        assert "locked" not in page.html
        assert page.status == 303 or page.summary, page.words[:300]
    written = [page for page in pages if page.status == 303]
    return written, [page for page in pages if page.status == 422]


def done(live: Live, kind: OperationKind) -> list[int]:
    """The operations of a kind."""
    with live.book.reading() as session:
        return list(session.scalars(select(Operation.id).where(Operation.kind == kind)))


def stock(live: Live) -> dict[StockRef, int]:
    with live.book.reading() as session:
        return b.all_stock(session)


@several
def test_a_lot_is_shared_out_to_the_gram_and_the_rest_is_refused(
    live: Live, given: Given, count: int
) -> None:
    for _ in range(ROUNDS):
        food = given(b.take_in, mass_g=500)
        eat = f"/write/eat?from={food}"
        tablets = [ready(live, eat, refs=str(food), mass_mg="150 g") for _ in range(count)]
        written, refused = clear(at_once(tablets))
        assert len(written) == min(count, 3)
        assert stock(live)[food] == (500 - 150 * len(written)) * b.G
        for page in refused:
            assert "50 g" in page.words  # what is left, in words
            assert page.typed("mass_mg") == ["150 g"]


@several
def test_the_last_of_a_lot_is_packed_by_one(live: Live, given: Given, count: int) -> None:
    dry = given(b.dried)
    typed = {
        "packaging_id": b.FOIL_POUCH,
        "absorber_id": b.CC_300,
        "place_id": b.PANTRY,
        "net_mg__0__net": "130",
        "net_mg__1__net": "130",
        "seal_checked": "y",
        "reason": "eaten within the year",
    }
    tablets = [ready(live, f"/write/pack?from={dry}", **typed) for _ in range(count)]
    pages = at_once(tablets)
    assert sorted(page.status for page in pages) == [303] + [422] * (count - 1)
    for page in pages:
        assert page.status == 303 or page.summary or "Somebody" in page.words, page.words[:400]
    on_shelf = {ref: mg for ref, mg in stock(live).items() if ref.place_id == b.PANTRY}
    assert list(on_shelf.values()) == [130 * b.G, 130 * b.G]
    assert dry not in stock(live)
    with live.book.reading() as session:
        assert sorted(session.scalars(select(Package.number))) == [1, 2]


@several
def test_an_entry_is_taken_back_or_rested_on_never_both(
    live: Live, given: Given, count: int
) -> None:
    for number in range(ROUNDS):
        food = given(b.take_in, mass_g=500)
        with live.book.reading() as session:
            intake = b.lot_of(session, food).operation_id
        eat, back = f"/write/eat?from={food}", f"/operations/{intake}/correct"
        tablets = [
            ready(live, eat, refs=str(food), mass_mg="10 g")
            if (i + number) % 2
            else ready(live, back, reason="weighed the wrong bowl")
            for i in range(count)
        ]
        before = set(done(live, OperationKind.EAT))
        written, _ = clear(at_once(tablets))
        eaten = set(done(live, OperationKind.EAT)) - before
        with live.book.reading() as session:
            reversals = session.scalars(
                select(Operation.id).where(Operation.reverses_id == intake)
            ).all()
        assert (len(reversals), len(eaten)) in ((1, 0), (0, count // 2))
        assert len(written) == len(reversals) + len(eaten)
        left = 0 if reversals else (500 - 10 * len(eaten)) * b.G
        assert stock(live).get(food, 0) == left


@several
def test_a_pouch_is_carried_away_or_eaten_by_one(live: Live, given: Given, count: int) -> None:
    for pouch in given(b.pouches):
        away = f"/write/move?from={pouch}"
        tablets = [
            ready(live, f"/write/eat?from={pouch}", refs=str(pouch))
            if i % 2
            else ready(live, away, refs=str(pouch), place_id=b.FREEZER)
            for i in range(count)
        ]
        written, refused = clear(at_once(tablets))
        assert (len(written), len(refused)) == (1, count - 1)
        there = {r: mg for r, mg in stock(live).items() if r.package_id == pouch.package_id}
        assert list(there.values()) in ([], [80 * b.G])
        assert pouch not in there


@several
def test_nothing_is_given_away_once_it_is_on_hold(live: Live, given: Given, count: int) -> None:
    for number in range(ROUNDS):
        food = given(b.take_in, mass_g=500)
        hold = f"/holds/new?lot={code_of(food.lot_id)}"
        give = f"/write/give?from={food}"
        tablets = [
            ready(live, give, refs=str(food), mass_mg="10 g", words="Morag")
            if (i + number) % 2
            else ready(live, hold, cause="recall", lot_ids=str(food.lot_id))
            for i in range(count)
        ]
        given_before, held_before = done(live, OperationKind.GIVE), done(live, OperationKind.HOLD)
        written, refused = clear(at_once(tablets))
        gave = set(done(live, OperationKind.GIVE)) - set(given_before)
        held = set(done(live, OperationKind.HOLD)) - set(held_before)
        assert len(held) == count // 2
        assert len(written) == len(held) + len(gave)
        assert all(operation < min(held) for operation in gave)
        assert all("is on hold" in page.words for page in refused)
        assert stock(live)[food] == (500 - 10 * len(gave)) * b.G


def test_many_pages_are_read_while_many_entries_are_written(live: Live, given: Given) -> None:
    food = given(b.take_in, mass_g=500)
    eat = f"/write/eat?from={food}"
    writers = [ready(live, eat, refs=str(food), mass_mg="1 g") for _ in range(4)]
    reader = WireTablet(live.address)
    addresses = ("/", "/lots", f"/lots/{code_of(food.lot_id)}", "/history")
    readers = [lambda address=address: reader.get(address) for address in addresses]
    pages = at_once([*writers, *readers])
    assert [page.status for page in pages] == [303] * 4 + [200] * 4
    assert stock(live)[food] == 496 * b.G
