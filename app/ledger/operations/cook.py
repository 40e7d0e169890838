"""Cook: heat, with or without water; only a centre reading at the target takes the raw mark."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum

from sqlalchemy.orm import Session

from app.ledger.errors import ProblemKind, refuse
from app.ledger.lots import kind_of, known_lot, made_from, wrap_for
from app.ledger.makeup import composition_of
from app.ledger.mass import to_kg
from app.ledger.models import Lot
from app.ledger.operations._post import (
    Make,
    Measured,
    Posted,
    Posting,
    Take,
    losses,
    post,
)
from app.ledger.queries.trace import raw_classes
from app.ledger.refrigerated import in_its_days
from app.ledger.safety import Applied, gate, noted, rule_set_of, together
from app.ledger.stock import StockRef
from app.ledger.uncovered import not_covered_words
from app.ledger.words import AdditionKind, LossKind, OperationKind, ReadingKind
from app.science.classes import Form, Treatment
from app.science.composition import Composition, with_added_water, with_lost_water
from app.science.errors import ScienceError
from app.science.safety.rule import Verdict
from app.science.safety.verdicts import clears_raw, colour_note, cooked, cooked_from_history


class CookMethod(StrEnum):
    """How it was heated."""

    SIMMER = "simmer"
    ROAST = "roast"
    FRY = "fry"
    STEAM = "steam"
    REDUCE = "reduce"  # boiling a broth or sauce down


@dataclass(frozen=True, slots=True)
class Centre:
    """A centre temperature, in the unit it was typed in and in degrees Celsius."""

    value: float
    unit: str
    temp_c: float
    typed: str


@dataclass(frozen=True, slots=True)
class CentreAt:
    """The centre at a time of the cooking, min; None where the probe failed."""

    minutes: float
    centre: Centre | None


@dataclass(frozen=True, slots=True)
class Cook:
    """What goes on the heat, what is added, and what weighs what afterwards."""

    ref: StockRef
    mass_mg: int
    method: CookMethod
    made_mg: int
    place_id: int
    done_on: date
    water_mg: int = 0
    centre: Centre | None = None  # at the end
    history: tuple[CentreAt, ...] = ()  # all along, from a probe
    rest_minutes: float = 0.0
    name: str = ""  # a stew has another name than its meat; empty: as before
    note: str = ""
    reason: str = ""


def cook(session: Session, request: Cook, *, at: datetime, by: int | None) -> Posted:
    """Cook a lot; what is missing afterwards has evaporated.

    The lot keeps its raw mark unless the reading of its centre at the end, or the history of its
    readings, meets the target of its kind.

    Raises:
        Refused: more comes out than went in, more evaporated than there was water, a reading
            that looks mistyped or food whose days are over, without a reason.
    """
    lot = known_lot(session, request.ref)
    evaporated_mg = request.mass_mg + request.water_mg - request.made_mg
    checkpoints = together(
        lambda: _checkpoints(session, lot, request),
        lambda: in_its_days(session, [request.ref], request.done_on, request.reason, at),
    )
    done = not lot.is_raw or clears_raw(
        [applied.verdict for applied in checkpoints],
        [applied.verdict.id for applied in checkpoints if applied.reason],
    )
    new = made_from(
        session,
        lot,
        request.done_on,
        name=request.name or lot.name,
        composition=_cooked_composition(session, lot, request, evaporated_mg),
        treatments=frozenset({Treatment.COOKED} if done else ()),
        clears_raw=lot.is_raw and done,
        wrap=wrap_for(kind_of(session, request.place_id)),
        water_low=None,
        water_high=None,
    )
    additions = [(AdditionKind.WATER, request.water_mg, "")]
    posting = Posting(
        OperationKind.COOK,
        request.done_on,
        note=request.note,
        method=request.method,
        takes=[Take(request.ref, request.mass_mg)],
        makes=[Make(request.place_id, request.made_mg, new)],
        additions=[addition for addition in additions if addition[1] > 0],
        losses=losses((LossKind.EVAPORATED, evaporated_mg)),
        readings=_readings(request),
        checkpoints=checkpoints,
    )
    return post(session, posting, at=at, by=by)


def _readings(request: Cook) -> list[Measured]:
    at_end = [(None, request.centre)]
    along = [(one.minutes / 60.0, one.centre) for one in request.history]
    return [
        Measured(ReadingKind.CENTRE, centre.temp_c, centre.typed, hours)
        for hours, centre in (*at_end, *along)
        if centre is not None
    ]


def _checkpoints(session: Session, lot: Lot, request: Cook) -> list[Applied]:
    aside = noted(not_covered_words(request.note))
    if not lot.is_raw:
        return aside
    if request.centre is None and not request.history:
        aside += noted(colour_note(request.note))
    return [*gate(_verdicts(session, lot, request), request.reason, stops_refuse=False), *aside]


def _verdicts(session: Session, lot: Lot, request: Cook) -> tuple[Verdict, ...]:
    """By the reading at the end, unless only the history shows the target."""
    foods, form, rule_set = raw_classes(session, lot), Form(lot.form), rule_set_of(session)
    insisted = bool(request.reason.strip())
    centre = request.centre
    at_end = cooked(
        foods,
        form,
        centre.value if centre else None,
        centre.unit if centre else "C",
        rest_minutes=request.rest_minutes,
        rule_set=rule_set,
        insisted=insisted,
    )
    if not request.history or clears_raw(at_end):
        return at_end
    unit, readings = _as_typed(request.history)
    along = cooked_from_history(
        foods,
        form,
        readings,
        unit,
        rest_minutes=request.rest_minutes,
        rule_set=rule_set,
        insisted=insisted,
    )
    return along if centre is None or clears_raw(along) else at_end


def _as_typed(history: Sequence[CentreAt]) -> tuple[str, list[tuple[float, float | None]]]:
    """The unit of a history and its readings in it: as typed where all were typed alike."""
    centres = [one.centre for one in history]
    units = {centre.unit for centre in centres if centre}
    unit, alike = (units.pop(), True) if len(units) == 1 else ("C", False)
    values = [None if c is None else c.value if alike else c.temp_c for c in centres]
    return unit, [(one.minutes, value) for one, value in zip(history, values, strict=True)]


def _cooked_composition(
    session: Session, lot: Lot, request: Cook, evaporated_mg: int
) -> Composition:
    before = composition_of(session, lot)
    if request.mass_mg <= 0:
        return before  # refused when it is posted
    pot_kg = to_kg(request.mass_mg + request.water_mg)
    pot = with_added_water(before, to_kg(request.mass_mg), to_kg(request.water_mg))
    try:
        return with_lost_water(pot, pot_kg, to_kg(max(evaporated_mg, 0)))
    except ScienceError as error:
        raise refuse(
            "made_mg", ProblemKind.IMPOSSIBLE, reason="more_evaporated_than_water"
        ) from error
