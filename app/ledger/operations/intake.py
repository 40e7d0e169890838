"""Intake: bringing food into the household's ledger, weighed bowl by bowl."""

from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy.orm import Session

from app.ledger.errors import Problem, ProblemKind, Refused, refuse
from app.ledger.game import GameIn, game_verdicts, hold_causes, is_wild, marks_of, tell_story
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
from app.ledger.operations.hold import PutOnHold, hold
from app.ledger.safety import Applied, gate, noted, rule_set_of
from app.ledger.words import (
    AdditionKind,
    Ammunition,
    CompositionBasis,
    Mark,
    OperationKind,
    SourceKind,
)
from app.science.classes import FoodClass, Form, Treatment
from app.science.composition import Composition
from app.science.errors import NotInTable
from app.science.foods import Food, food
from app.science.packaging import PackagingKind
from app.science.safety.allergens import Allergen, own_allergens
from app.science.safety.rule import Verdict
from app.science.safety.verdicts import fish_notes, looked_for


@dataclass(frozen=True, slots=True)
class SourceIn:
    """Where the food came from, as the person told it."""

    kind: SourceKind
    name: str
    tag: str = ""
    from_whom: str = ""
    taken_with_lead: bool = False  # where no more was told than that; else see GameIn


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
    allergens: frozenset[str] | None = None  # empty: somebody looked, and there are none
    fat_fraction: float | None = None  # measured or printed on the packet
    wrap: PackagingKind | None = None
    game: GameIn | None = None  # None: nobody was asked
    warm_hours: float | None = None  # fish: above 4.4 °C, 40 °F, before it was cold
    note: str = ""
    reason: str = ""


def intake(session: Session, request: Intake, *, at: datetime, by: int | None) -> Posted:
    """Record what came in as a lot of its own.

    Game that looked sick, whose test is awaited or found a disease, is on hold from the start.

    Raises:
        Refused: an empty tally, a bowl heavier empty than full, a harvest after the day of
            intake, an unknown food or place, fish that was warm too long, or a rule of wild game
            that asks for a reason.
    """
    mass_mg = _net(request)
    _check_dates(request)
    known = _known_food(request)
    game = request.game or _untold(request.source)
    checkpoints = _checkpoints(session, request, known, game)
    source = _source(session, request, known, game)
    posting = Posting(
        OperationKind.INTAKE,
        request.done_on,
        note=request.note,
        makes=[Make(request.place_id, mass_mg, _lot(session, request, known, game, source))],
        additions=[(AdditionKind.INTAKE, mass_mg, request.source.name)],
        weighings=request.bowls,
        checkpoints=[*checkpoints, *noted(_looked_for(request, known))],
        balance_field="bowls",
    )
    posted = post(session, posting, at=at, by=by)
    for cause in hold_causes([applied.verdict for applied in checkpoints], game):
        held = PutOnHold(posted.lot_ids, cause, request.done_on, request.source.tag)
        hold(session, held, at=at, by=by)
    return posted


def _untold(source: SourceIn) -> GameIn:
    """The story of game of which only the source was told."""
    lead = Ammunition.LEAD if source.taken_with_lead else Ammunition.UNKNOWN
    return GameIn(ammunition=lead)


def _source(session: Session, request: Intake, known: Food, game: GameIn) -> Source:
    told = request.source
    source = Source(
        kind=told.kind,
        name=told.name,
        tag=told.tag,
        from_whom=told.from_whom,
        taken_with_lead=game.ammunition is Ammunition.LEAD,
    )
    session.add(source)
    session.flush()
    if request.game is not None and is_wild(known):
        tell_story(session, source.id, game)
    return source


def _lot(session: Session, request: Intake, known: Food, game: GameIn, source: Source) -> NewLot:
    composition, basis = _composition(request, known.composition)
    was_asked = request.game is not None or request.source.taken_with_lead
    return NewLot(
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
        allergens_at_intake=_contains(request, known) or frozenset(),
        marks=marks_of(known, game) - (frozenset() if was_asked else {Mark.LEAD}),
        harvest=request.harvest,
        source_id=source.id,
    )


def _checkpoints(session: Session, request: Intake, known: Food, game: GameIn) -> list[Applied]:
    """Only what was asked is judged; where nobody was asked, the rules are noted."""
    rule_set = rule_set_of(session)
    of_game = game_verdicts(
        known, request.name, request.form, game, rule_set, reason=request.reason
    )
    if request.game is None:
        return [*noted(of_game), *gate(_of_fish(request, known), request.reason)]
    checkpoints = gate(of_game, request.reason, stops_refuse=False)  # a stop is a hold here
    return [*checkpoints, *gate(_of_fish(request, known), request.reason)]


def _of_fish(request: Intake, known: Food) -> tuple[Verdict, ...]:
    if request.warm_hours is None:
        return ()
    words = f"{request.name} {known.name}"
    return fish_notes(known.food_class, words, outings=[(request.warm_hours, None)])


def _contains(request: Intake, known: Food) -> frozenset[str] | None:
    """What was told and what the food is by itself; None where nobody looked and it is none."""
    own = frozenset(map(str, own_allergens(known.food_class, known.name)))
    if request.allergens is None:
        return own or None
    return request.allergens | own


def _looked_for(request: Intake, known: Food) -> tuple[Verdict, ...]:
    contains = _contains(request, known)
    return looked_for(None if contains is None else map(Allergen.parse, contains))


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
