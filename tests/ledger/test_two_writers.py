"""Two tablets at once on one ledger: everything is written once, nothing is lost."""

from collections import Counter
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from threading import Event
from typing import Any

import pytest
from sqlalchemy import func, select
from sqlalchemy.exc import OperationalError
from sqlalchemy.orm import Session

from app.ledger.book import Book
from app.ledger.checks import check_all
from app.ledger.engines import Hindrance, hindrance_of
from app.ledger.errors import Refused
from app.ledger.models import Operation, PostingKey, Stock
from app.ledger.operations.intake import intake
from app.ledger.operations.leave import Leave, eat
from app.ledger.operations.move import Move, move
from app.ledger.operations.portion import Portion, portion
from app.ledger.stock import StockRef
from tests.builders import (
    FREEZER,
    FRIDGE,
    TODAY,
    G,
    an_intake,
    do,
    evening,
    on_hand,
    pouches,
    take_in,
)
from tests.databases import only_a_file

TABLETS = 8
PATIENCE_S = 60.0  # only so that a test that hangs ends
TOMORROW = TODAY + timedelta(days=1)


def post_once(book: Book, key: str, work: Callable[[Session], Any]) -> bool:
    """The road of every form: one transaction, which a key that was used before ends at once."""

    def once(session: Session) -> bool:
        if session.get(PostingKey, key) is not None:
            return False
        work(session)
        session.add(PostingKey(key=key, location="/", recorded_at=evening(TODAY)))
        return True

    return book.write(once)


def at_once(jobs: list[Callable[[], Any]]) -> Counter[object]:
    """Do all jobs on several threads and count the answers; a refusal counts by its kind."""

    def answer(job: Callable[[], Any]) -> object:
        try:
            return job()
        except Refused as refused:
            return str(refused.problems[0].kind)

    with ThreadPoolExecutor(TABLETS) as pool:
        return Counter(pool.map(answer, jobs))


def test_two_hundred_taps_of_twenty_forms_are_twenty_entries(book: Book) -> None:
    def tap(key: int) -> Callable[[], bool]:
        return lambda: post_once(
            book, f"form-{key:020}", lambda session: do(session, intake, an_intake())
        )

    answers = at_once([tap(number % 20) for number in range(200)])
    assert answers == {True: 20, False: 180}
    with book.reading() as session:
        assert session.scalar(select(func.count(Operation.id))) == 20
        assert session.scalar(select(func.sum(Stock.mass_mg))) == 20 * 1000 * G
        assert check_all(session) == []


def test_a_pouch_eaten_by_several_tablets_is_eaten_once(book: Book) -> None:
    with book.writing() as session:
        pouch, other, _ = pouches(session, 80, 81, 82)

    def tap(number: int) -> Callable[[], bool]:
        return lambda: post_once(
            book,
            f"tablet-{number:020}",
            lambda session: do(session, eat, Leave((pouch,), TOMORROW)),
        )

    assert at_once([tap(number) for number in range(TABLETS)]) == {
        True: 1,
        "not_on_hand": TABLETS - 1,
    }
    with book.reading() as session:
        assert (on_hand(session, pouch), on_hand(session, other)) == (0, 81 * G)
        assert check_all(session) == []


def test_a_lot_is_never_shared_out_beyond_what_there_is(book: Book) -> None:
    with book.writing() as session:
        ref = take_in(session, mass_g=1000)
    requests: list[tuple[Callable[..., Any], Any]] = [
        (portion, Portion(ref, 150 * G, "Part", FRIDGE, TODAY)),
        (eat, Leave((ref,), TODAY, mass_mg=150 * G)),
        (move, Move((ref,), FREEZER, TODAY, mass_mg=150 * G)),
    ] * 4

    def tap(number: int) -> Callable[[], bool]:
        use_case, request = requests[number]
        return lambda: post_once(
            book, f"tap-{number:020}", lambda session: do(session, use_case, request)
        )

    assert at_once([tap(number) for number in range(12)]) == {True: 6, "not_on_hand": 6}
    with book.reading() as session:
        assert on_hand(session, ref) == 100 * G
        assert check_all(session) == []


def test_a_form_that_was_refused_can_be_sent_again(book: Book) -> None:
    with book.writing() as session:
        ref = take_in(session, mass_g=100)

    def send(mass_g: int) -> Callable[[], bool]:
        request = Leave((ref,), TODAY, mass_mg=mass_g * G)
        return lambda: post_once(book, "k" * 20, lambda session: do(session, eat, request))

    assert at_once([send(101)]) == {"not_on_hand": 1}
    assert at_once([send(99)]) == {True: 1}
    with book.reading() as session:
        assert on_hand(session, StockRef(ref.lot_id, FRIDGE)) == 1 * G


def test_a_writer_waits_for_another_and_both_entries_stand(book: Book) -> None:
    holds, may_end = Event(), Event()

    def first() -> bool:
        with book.writing() as session:
            do(session, intake, an_intake())
            holds.set()
            assert may_end.wait(PATIENCE_S)
        return True

    def second() -> bool:
        assert holds.wait(PATIENCE_S)
        may_end.set()  # the first goes on while this one already asks for the lock
        return post_once(book, "second" * 4, lambda session: do(session, intake, an_intake()))

    assert at_once([first, second]) == {True: 2}
    with book.reading() as session:
        assert session.scalar(select(func.count(Operation.id))) == 2
        assert check_all(session) == []


@only_a_file
def test_a_writer_that_waited_too_long_is_told_why_and_wrote_nothing(book: Book) -> None:
    """In PostgreSQL they need not wait: what each writes is of no concern to the other."""
    hasty = Book(book.path, wait_ms=20)
    with book.writing() as session:
        take_in(session)
        with pytest.raises(OperationalError) as caught, hasty.writing() as other:
            do(other, intake, an_intake())
        assert hindrance_of(caught.value) is Hindrance.BUSY
    with hasty.writing() as session:
        take_in(session)
    with hasty.reading() as session:
        assert session.scalar(select(func.count(Operation.id))) == 2
    hasty.close()


def test_a_reader_sees_one_moment_however_much_is_written_meanwhile(book: Book) -> None:
    with book.writing() as session:
        ref = take_in(session, mass_g=100)
    with book.reading() as before:
        assert on_hand(before, ref) == 100 * G
        with book.writing() as session:
            do(session, eat, Leave((ref,), TODAY, mass_mg=60 * G))
        assert on_hand(before, ref) == 100 * G
        before.expire_all()
        assert on_hand(before, ref) == 100 * G
    with book.reading() as after:
        assert on_hand(after, ref) == 40 * G
