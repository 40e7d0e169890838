"""Print labels: what stands on a label is kept, as a window computed later may differ."""

import pytest
from sqlalchemy import select
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from app.ledger.models import LabelPrint
from app.ledger.operations.print_labels import Printed, labels_printed
from tests.builders import TODAY, entry_count, pouches, take_in


def test_the_words_on_each_label_are_kept_and_no_mass_moves(session: Session) -> None:
    one, two, _ = pouches(session)
    before = entry_count(session)
    words = {one: "best from now to 2027", two: "best from now to 2028"}
    labels_printed(session, [Printed(ref, said) for ref, said in words.items()], on=TODAY)
    rows = session.scalars(select(LabelPrint).order_by(LabelPrint.id)).all()
    assert [(row.lot_id, row.package_id, row.window_words) for row in rows] == [
        (ref.lot_id, ref.package_id, said) for ref, said in words.items()
    ]
    assert {row.printed_on for row in rows} == {TODAY}
    assert entry_count(session) == before


def test_a_loose_lot_has_labels_too_and_they_can_be_printed_again(session: Session) -> None:
    ref = take_in(session)
    for words in ("in the fridge until Friday", "in the fridge until Saturday"):
        labels_printed(session, [Printed(ref, words)], on=TODAY)
    assert len(session.scalars(select(LabelPrint)).all()) == 2


def test_a_label_of_no_lot_cannot_be_kept(session: Session) -> None:
    ref = take_in(session)
    with pytest.raises(IntegrityError), session.begin_nested():
        labels_printed(session, [Printed(type(ref)(999, 1), "never")], on=TODAY)
