"""Grind: one or more lots become one ground lot that knows them all."""

from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy.orm import Session

from app.ledger.errors import ProblemKind, refuse
from app.ledger.game import lead_notes
from app.ledger.lots import kind_of, known_lot, made_from, need_mass, wrap_for
from app.ledger.makeup import makeup_of, mixed
from app.ledger.mass import to_kg
from app.ledger.models import Lot
from app.ledger.operations._post import Make, Posted, Posting, Take, losses, post
from app.ledger.refreezing import refreezing
from app.ledger.refrigerated import in_its_days, no_fresher
from app.ledger.residues import (
    crossing,
    in_grinder,
    makes_raw,
    passed_on,
    passes_allergens,
    with_cleaning,
)
from app.ledger.safety import Applied, together
from app.ledger.seasonings import carried
from app.ledger.stock import StockRef
from app.ledger.windows import treatments_of
from app.ledger.words import LossKind, OperationKind
from app.science.classes import DRIED, Form, Treatment


@dataclass(frozen=True, slots=True)
class Part:
    """One lot that goes in, and how much of it."""

    ref: StockRef
    mass_mg: int


@dataclass(frozen=True, slots=True)
class Grind:
    """What goes through the grinder and what comes out."""

    parts: tuple[Part, ...]
    name: str
    made_mg: int
    place_id: int
    done_on: date
    trimmed_mg: int = 0
    stuck_mg: int = 0
    spilled_mg: int = 0
    unexplained_mg: int = 0
    cleaned: bool | None = None  # the grinder, since the food before; None: nobody was asked
    note: str = ""
    reason: str = ""


def grind(session: Session, request: Grind, *, at: datetime, by: int | None) -> Posted:
    """Grind lots together. The result is no fresher than any part and keeps every mark.

    A grinder that was not cleaned down passes on what was in it before.

    Raises:
        Refused: nothing to grind, more than is on hand, masses that do not add up, ready food
            after raw in a grinder that was not cleaned, or food whose days are over.
    """
    if not request.parts:
        raise refuse("parts", ProblemKind.MISSING)
    need_mass({f"parts[{i}].mass": part.mass_mg for i, part in enumerate(request.parts)})
    lots = [known_lot(session, p.ref, f"parts[{i}].ref") for i, p in enumerate(request.parts)]
    makeup = mixed(
        [
            (makeup_of(session, lot), to_kg(part.mass_mg))
            for lot, part in zip(lots, request.parts, strict=True)
        ]
    )
    heaviest = lots[max(range(len(lots)), key=lambda i: request.parts[i].mass_mg)]
    refs = [part.ref for part in request.parts]
    asked = together(
        lambda: _crossed(session, request, lots),
        lambda: in_its_days(session, refs, request.done_on, request.reason, at),
        lambda: refreezing(session, refs, request.place_id, request.reason),
    )
    new = made_from(
        session,
        heaviest,
        request.done_on,
        name=request.name,
        form=_form(session, request.parts),
        composition=makeup.composition,
        water_low=makeup.water_low,
        water_high=makeup.water_high,
        water_is_measured=makeup.water_is_measured,
        treatments=frozenset({Treatment.GROUND}),
        is_raw=makes_raw(asked),
        may_contain=_traces(session, lots) if passes_allergens(asked) else frozenset(),
        wrap=wrap_for(kind_of(session, request.place_id)),
    )
    new = no_fresher(session, new, refs, request.place_id)
    posting = Posting(
        OperationKind.GRIND,
        request.done_on,
        note=with_cleaning(request.note, request.cleaned),
        takes=[
            Take(part.ref, part.mass_mg, f"parts[{i}].mass") for i, part in enumerate(request.parts)
        ],
        checkpoints=[
            *lead_notes(session, [lot.id for lot in lots]),
            *(carried(session, [lot.id for lot in lots], frozenset()) if len(lots) > 1 else ()),
            *asked,
        ],
        makes=[Make(request.place_id, request.made_mg, new)],
        losses=losses(
            (LossKind.TRIM, request.trimmed_mg),
            (LossKind.STUCK, request.stuck_mg),
            (LossKind.SPILLED, request.spilled_mg),
            (LossKind.UNEXPLAINED, request.unexplained_mg),
        ),
    )
    return post(session, posting, at=at, by=by)


def _crossed(session: Session, request: Grind, lots: list[Lot]) -> list[Applied]:
    if request.cleaned is not False:
        return []
    return crossing(session, in_grinder(session), lots, request.reason)


def _traces(session: Session, lots: list[Lot]) -> frozenset[str]:
    passed = passed_on(session, in_grinder(session), [lot.id for lot in lots])
    return frozenset(map(str, passed))


def _form(session: Session, parts: tuple[Part, ...]) -> Form:
    """Dry food is ground to powder, everything else to mince."""
    all_dry = all(treatments_of(session, part.ref.lot_id) & DRIED for part in parts)
    return Form.POWDER if all_dry else Form.GROUND
