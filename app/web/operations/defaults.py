"""A form opens as it was filled in last time with the same kind of food, and says so.

Only where food goes and how a step is done. Weights and temperatures are measured, and what a
safety rule asks (readings, seals, what was cleaned, how long something was warm) is answered anew.
"""

from collections.abc import Collection
from typing import Any

from sqlalchemy.orm import Session

from app.language import _
from app.ledger.operations.cook import CookMethod
from app.ledger.queries.last_time import LastTime, last_time
from app.ledger.queries.stock import StockLine
from app.ledger.words import OperationKind, PlaceKind
from app.web.messages import day
from app.web.operations.base import OperationForm

_WARM = frozenset({PlaceKind.ROOM, PlaceKind.BENCH})
_PLACED = frozenset(
    {
        OperationKind.THAW,
        OperationKind.TRIM,
        OperationKind.GRIND,
        OperationKind.BLEND,
        OperationKind.COOK,
        OperationKind.CHILL,
        OperationKind.SKIM,
        OperationKind.DRAIN,
        OperationKind.BLANCH,
        OperationKind.MOVE,
    }
)


def as_last_time(form: OperationForm, line: StockLine | None, session: Session) -> None:
    """Fill in what was chosen last time for such food, and say so beside the field."""
    if line is None or form.verb not in _PLACED:
        return
    last = last_time(session, form.verb, line)
    if last is None:
        return
    offered = {option.value for option in form["place_id"].choices}
    place_id = usual_place(last, form, line, offered)
    if place_id is not None:
        _fill(form["place_id"], place_id, last)
    if form.verb is OperationKind.COOK and last.method in set(CookMethod):
        _fill(form["method"], last.method, last)


def usual_place(
    last: LastTime, form: OperationForm, line: StockLine, offered: Collection[Any]
) -> int | None:
    """Where such food went last time, if it can go there again; None to keep the form's own place.

    Nothing is proposed that is warmer than the step itself proposes: what belongs into the cold
    stays there unless somebody chooses otherwise, and no habit moves moist food out of it.
    """
    if last.place_id not in offered:
        return None
    if form.verb is OperationKind.MOVE:
        is_here = last.place_id == line.place_id
        return None if is_here or not may_stand(line, last.place_kind) else last.place_id
    return last.place_id if form.at_bench in _WARM or last.place_kind not in _WARM else None


def may_stand(line: StockLine, kind: PlaceKind) -> bool:
    """May a habit propose a place of this kind: is it cold, or the food dry?"""
    return line.is_dried or kind not in _WARM


def last_words(last: LastTime) -> str:
    """Where a default comes from."""
    return _("As last time, {day}.", day=day(last.on))


def _fill(field: Any, value: Any, last: LastTime) -> None:
    field.data = value
    said = [_(field.description)] if field.description else []
    field.description = " ".join([*said, last_words(last)])
