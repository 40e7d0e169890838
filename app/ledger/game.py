"""Wild game as it is taken in: its story, what the rules say, the marks it bears, its holds."""

from collections.abc import Iterable
from dataclasses import dataclass

from sqlalchemy import bindparam, select
from sqlalchemy.orm import Session

from app.ledger.models import GameStory, LotMark
from app.ledger.safety import Applied
from app.ledger.temperatures import Typed, mistyped
from app.ledger.words import Ammunition, HoldCause, Mark
from app.science.classes import FoodClass, Form
from app.science.foods import Food
from app.science.safety.game import CWD_HOLD, CWD_POS, GAME_SICK, LEAD, CwdStatus, Step
from app.science.safety.readings import Reading
from app.science.safety.rule import Outcome, RuleSet, Verdict
from app.science.safety.verdicts import game_notes

WILD = frozenset({FoodClass.GAME, FoodClass.GAME_BIRD, FoodClass.WILD_MEAT_EATER})
_IS_LEAD = {
    Ammunition.LEAD: True,
    Ammunition.UNKNOWN: None,
    Ammunition.LEAD_FREE: False,
    Ammunition.NOT_SHOT: False,
}


@dataclass(frozen=True, slots=True)
class GameIn:
    """What is known of a wild animal beyond its name and tag; unknown is said, never guessed."""

    ammunition: Ammunition = Ammunition.UNKNOWN
    looked_sick: bool = False  # looked sick, acted strangely or was found dead
    cwd_status: CwdStatus = CwdStatus.UNKNOWN
    cwd_listed: bool | None = None  # is the region listed for it; None: not known
    hours_to_cold: float | None = None  # from death to 4.4 °C, 40 °F
    centre: Typed | None = None  # by then
    taken_at: str = ""  # region, as told


def is_wild(known: Food) -> bool:
    """Is it an animal that somebody hunted? Rabbits from the hutch are not."""
    return known.food_class in WILD and "domesticated" not in known.name.casefold()


def game_verdicts(
    known: Food,
    name: str,
    form: Form,
    game: GameIn,
    rule_set: RuleSet,
    *,
    reason: str = "",
) -> tuple[Verdict, ...]:
    """What the rules say about taking in a wild animal as a lot of its own; else nothing.

    Args:
        name: as the household calls it. reason: what the person wrote, which insists.
    """
    if not is_wild(known):
        return ()
    centre = game.centre
    return mistyped(Reading.FRIDGE, centre, reason) or game_notes(
        known.food_class,
        f"{name} {known.name}",
        lead_ammunition=_IS_LEAD[game.ammunition],
        is_ground_or_near_wound=form is Form.GROUND,
        cwd_status=game.cwd_status,
        cwd_listed=game.cwd_listed,
        step=Step.APART,
        was_sick=game.looked_sick,
        hours_since_death=game.hours_to_cold,
        centre_c=centre.temp_c if centre else None,
        rule_set=rule_set,
    )


def marks_of(known: Food, game: GameIn) -> frozenset[Mark]:
    """The marks of a wild animal: lead unless it is known to be free of it, and parasites."""
    if not is_wild(known):
        return frozenset()
    has_lead = _IS_LEAD[game.ammunition] is not False
    has_parasites = known.food_class is FoodClass.WILD_MEAT_EATER
    marks = {Mark.LEAD: has_lead, Mark.PARASITE: has_parasites}
    return frozenset(mark for mark, is_so in marks.items() if is_so)


def hold_causes(verdicts: Iterable[Verdict], game: GameIn) -> tuple[HoldCause, ...]:
    """For which causes the animal is put on hold as it is taken in."""
    spoken = {verdict.id for verdict in verdicts}
    causes = {
        HoldCause.LOOKED_SICK: GAME_SICK.id in spoken,
        HoldCause.TEST_POSITIVE: CWD_POS.id in spoken,
        HoldCause.TEST_AWAITED: CWD_HOLD.id in spoken and game.cwd_status is CwdStatus.PENDING,
    }
    return tuple(cause for cause, is_so in causes.items() if is_so)


def tell_story(session: Session, source_id: int, game: GameIn) -> None:
    """Keep what was told of the animal beside its source."""
    session.add(
        GameStory(
            source_id=source_id,
            ammunition=game.ammunition,
            looked_sick=game.looked_sick,
            cwd_status=game.cwd_status,
            cwd_listed=game.cwd_listed,
            hours_to_cold=game.hours_to_cold,
            centre_c=game.centre.temp_c if game.centre else None,
            taken_at=game.taken_at,
        )
    )
    session.flush()


_LEADED = (
    select(LotMark.lot_id)
    .where(LotMark.lot_id.in_(bindparam("lots", expanding=True)), LotMark.mark == Mark.LEAD)
    .distinct()
    .order_by(LotMark.lot_id)
)


def lead_notes(session: Session, lot_ids: Iterable[int]) -> list[Applied]:
    """The note on lead for every one of these lots that bears its mark."""
    note = Verdict(LEAD, Outcome.NOTE)
    marked = session.scalars(_LEADED, {"lots": [*lot_ids]})
    return [Applied(note, lot_id=lot_id) for lot_id in marked]
