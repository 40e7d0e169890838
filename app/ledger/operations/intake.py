"""Intake: bringing food into the household's ledger, weighed bowl by bowl."""

from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy.orm import Session

from app.ledger.errors import Problem, ProblemKind, Refused, refuse
from app.ledger.lots import kind_of, wrap_for
from app.ledger.models import Source
from app.ledger.operations._post import (
    BowlWeighed,
    Make,
    NewLot,
    Posted,
    Posting,
    post,
)
from app.ledger.safety import noted, rule_set_of
from app.ledger.words import AdditionKind, CompositionBasis, OperationKind, SourceKind
from app.science.classes import FoodClass, Form, Treatment
from app.science.composition import Composition
from app.science.errors import NotInTable
from app.science.foods import Food, food
from app.science.packaging import PackagingKind
from app.science.safety.allergens import own_allergens
from app.science.safety.game import Step
from app.science.safety.verdicts import game_notes


@dataclass(frozen=True, slots=True)
class SourceIn:
    """Where the food came from, as the person told it."""

    kind: SourceKind
    name: str
    tag: str = ""
    from_whom: str = ""
    taken_with_lead: bool = False


@dataclass(frozen=True, slots=True)
class Intake:
    """What is taken in. Harvest and keeping dates may span a month or a year."""

    name: str
    food_ndb: str
    form: Form
    source: SourceIn
    bowls: tuple[BowlWeighed, ...]
    place_id: int
    done_on: date
    harvest: tuple[date, date] | None = None
    kept_since: date | None = None  # when it came into its present keeping, if before done_on
    is_raw: bool | None = None  # None: as its class has it
    treatments: frozenset[Treatment] = frozenset()
    allergens: frozenset[str] = frozenset()
    fat_fraction: float | None = None  # measured or printed on the packet
    wrap: PackagingKind | None = None
    note: str = ""


def intake(session: Session, request: Intake, *, at: datetime, by: int | None) -> Posted:
    """Record what came in as a lot of its own.

    Raises:
        Refused: an empty tally, a bowl heavier empty than full, a harvest after the day of
            intake, an unknown food or place.
    """
    mass_mg = _net(request)
    _check_dates(request)
    known = _known_food(request)
    composition, basis = _composition(request, known.composition)
    source = Source(
        kind=request.source.kind,
        name=request.source.name,
        tag=request.source.tag,
        from_whom=request.source.from_whom,
        taken_with_lead=request.source.taken_with_lead,
    )
    session.add(source)
    session.flush()
    lot = NewLot(
        name=request.name,
        food_ndb=request.food_ndb,
        food_class=known.food_class,
        form=request.form,
        composition=composition,
        basis=basis,
        kept_since=request.kept_since or request.done_on,
        wrap=wrap_for(kind_of(session, request.place_id), request.wrap),
        treatments=request.treatments,
        is_raw=_is_raw(request, known.food_class),
        allergens_at_intake=request.allergens
        | {str(a) for a in own_allergens(known.food_class, known.name)},
        harvest=request.harvest,
        source_id=source.id,
    )
    verdicts = game_notes(
        known.food_class,
        f"{request.name} {known.name}",
        lead_ammunition=request.source.taken_with_lead or None,
        step=Step.APART,
        rule_set=rule_set_of(session),
    )
    posting = Posting(
        OperationKind.INTAKE,
        request.done_on,
        note=request.note,
        makes=[Make(request.place_id, mass_mg, lot)],
        additions=[(AdditionKind.INTAKE, mass_mg, request.source.name)],
        weighings=request.bowls,
        checkpoints=noted(verdicts),
        balance_field="bowls",
    )
    return post(session, posting, at=at, by=by)


def _net(request: Intake) -> int:
    problems = [
        Problem(
            f"bowls[{i}].tare",
            ProblemKind.TARE_ABOVE_GROSS,
            {"gross_mg": bowl.gross_mg, "tare_mg": bowl.tare_mg},
        )
        for i, bowl in enumerate(request.bowls)
        if bowl.tare_mg >= bowl.gross_mg
    ]
    if not request.bowls:
        problems.append(Problem("bowls", ProblemKind.MISSING))
    if problems:
        raise Refused(*problems)
    return sum(bowl.gross_mg - bowl.tare_mg for bowl in request.bowls)


def _known_food(request: Intake) -> Food:
    try:
        return food(request.food_ndb)
    except NotInTable as error:
        raise refuse("food_ndb", ProblemKind.UNKNOWN_CHOICE) from error


def _check_dates(request: Intake) -> None:
    if request.harvest and request.harvest[0] > request.done_on:
        raise refuse(
            "done_on",
            ProblemKind.BEFORE_HARVEST,
            date=request.done_on,
            harvest=request.harvest[0],
        )
    if request.kept_since and request.kept_since > request.done_on:
        raise refuse(
            "kept_since", ProblemKind.IN_FUTURE, date=request.kept_since, today=request.done_on
        )


def _is_raw(request: Intake, food_class: FoodClass) -> bool:
    if not food_class.is_animal:
        return False
    return request.is_raw if request.is_raw is not None else True


def _composition(request: Intake, table: Composition) -> tuple[Composition, CompositionBasis]:
    """The table's composition, or the same lean at the fat fraction the household knows."""
    fat = request.fat_fraction
    if fat is None or table.fat >= 1.0:
        return table, CompositionBasis.TABLE
    if not 0.0 <= fat <= 1.0:
        raise refuse("fat_fraction", ProblemKind.IMPOSSIBLE, reason="no_fraction")
    scale = (1.0 - fat) / (1.0 - table.fat)
    rest = {
        name: min(1.0, getattr(table, name) * scale)
        for name in ("water", "protein", "carbohydrate", "ash", "fibre")
    }
    return Composition(fat=fat, **rest), CompositionBasis.MEASURED
