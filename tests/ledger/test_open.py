"""Open: a package's seal is broken, and its short window runs."""

from datetime import timedelta

from sqlalchemy.orm import Session

from app.ledger.operations.correct import Correct, correct
from app.ledger.operations.open import Open, open_package
from app.ledger.stock import find_stock
from tests.builders import TODAY, G, do, estimate_of, on_hand, pouches, refusal, take_in

OPENED = TODAY + timedelta(days=10)


def test_an_opened_pouch_stays_where_it_is_with_all_its_mass(session: Session) -> None:
    one, two, _ = pouches(session, 80, 81, 82)
    do(session, open_package, Open((two,), OPENED))
    assert [on_hand(session, ref) for ref in (one, two)] == [80 * G, 81 * G]
    rows = [find_stock(session, ref) for ref in (one, two)]
    assert [row.opened_on for row in rows if row] == [None, OPENED]


def test_an_opened_pouch_keeps_less_long(session: Session) -> None:
    one, two, _ = pouches(session)
    do(session, open_package, Open((two,), OPENED))
    sealed, opened = estimate_of(session, one), estimate_of(session, two)
    assert sealed is not None
    assert opened is not None
    assert sealed.central is not None
    assert opened.central is not None
    assert opened.central < sealed.central


def test_it_is_opened_once(session: Session) -> None:
    one, *_ = pouches(session)
    do(session, open_package, Open((one,), OPENED))
    assert refusal(session, open_package, Open((one,), OPENED)).kind == "nothing_to_do"


def test_only_packages_are_opened(session: Session) -> None:
    problem = refusal(session, open_package, Open((take_in(session),), TODAY))
    assert (problem.field, problem.kind) == ("refs", "wrong_state")


def test_an_opening_that_is_taken_back_never_was(session: Session) -> None:
    one, *_ = pouches(session)
    before = estimate_of(session, one)
    assert before is not None
    key = before.key
    posted = do(session, open_package, Open((one,), OPENED))
    do(session, correct, Correct(posted.operation_id, OPENED, "it was another one"))
    row, after = find_stock(session, one), estimate_of(session, one)
    assert row is not None
    assert row.opened_on is None
    assert after is not None
    assert after.key == key


def test_several_are_opened_in_one_entry_or_none_is(session: Session) -> None:
    one, two, three = pouches(session)
    do(session, open_package, Open((three,), OPENED))
    assert refusal(session, open_package, Open((one, three), OPENED)).kind == "nothing_to_do"
    assert refusal(session, open_package, Open((), OPENED)).kind == "missing"
    do(session, open_package, Open((one, two), OPENED))
    rows = [find_stock(session, ref) for ref in (one, two, three)]
    assert [row.opened_on for row in rows if row] == [OPENED] * 3
