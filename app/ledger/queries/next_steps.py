"""Which step a lot can take next, the likeliest first."""

from collections.abc import Sequence

from app.ledger.queries.stock import StockLine
from app.ledger.words import OperationKind, PlaceKind
from app.science.classes import FoodClass, Form, Treatment

Step = OperationKind
_NOT_WHILE_HELD = (Step.EAT, Step.GIVE, Step.BLEND)
_COME_FIRST = frozenset({Step.CHILL, Step.DISCARD, Step.UNLOAD})  # safety waits for no habit
_NO_HABIT = frozenset({Step.MOVE, Step.OPEN, Step.MEASURE, Step.GIVE, Step.DISCARD})
_WHOLE_FISH = (FoodClass.FISH_LEAN, FoodClass.FISH_FATTY, FoodClass.SHELLFISH)


def next_steps(line: StockLine) -> tuple[OperationKind, ...]:
    """Every step that makes sense for a line of stock; the first is the one it needs next."""
    if line.place_kind.is_dryer:
        return (Step.UNLOAD,)
    if line.holds:
        return _while_held(line)
    steps = [*_likely(line), *_always(line)]
    return tuple(dict.fromkeys(steps))


def proposed(line: StockLine, past: Sequence[OperationKind]) -> tuple[OperationKind, ...]:
    """The next steps, with what people mostly did with such food in front.

    Args:
        line: food on hand. past: the last steps taken with food of this kind and state, the newest
            first.
    Returns:
        The same steps as `next_steps`, in order. A habit never comes before chilling or discarding,
        changes nothing of food on hold, and raw animal food is not proposed to be eaten.
    """
    steps = next_steps(line)
    usual = often(past)
    if line.holds or steps[0] in _COME_FIRST or usual is None:
        return steps
    is_unsafe = usual is Step.EAT and line.is_raw and line.food_class.is_animal
    if usual not in steps or usual in _NO_HABIT or is_unsafe:
        return steps
    return (usual, *(step for step in steps if step is not usual))


def often(past: Sequence[OperationKind]) -> OperationKind | None:
    """The step taken most often, and at least twice; of two as often the newer."""
    best = max(past, key=lambda kind: (past.count(kind), -past.index(kind)), default=None)
    return best if best is not None and past.count(best) > 1 else None


def is_stored(line: StockLine) -> bool:
    """Has it come to rest, packed or put away?"""
    return bool(line.package_count) or line.place_kind in (PlaceKind.FREEZER, PlaceKind.ROOM)


def _while_held(line: StockLine) -> tuple[OperationKind, ...]:
    """Work on it alone may go on, and it may be thrown away; what is stored is kept apart."""
    first = (Step.MOVE, Step.DISCARD) if is_stored(line) else ()
    steps = [*first, *_likely(line), *_always(line)]
    return tuple(step for step in dict.fromkeys(steps) if step not in _NOT_WHILE_HELD)


def _likely(line: StockLine) -> tuple[OperationKind, ...]:
    if line.package_count:
        must_thaw = line.place_kind is PlaceKind.FREEZER and line.is_raw
        return (Step.THAW, Step.EAT) if must_thaw else (Step.EAT,)
    if line.is_dried:
        return (Step.PACK, Step.EAT)
    if line.place_kind is PlaceKind.FREEZER:
        return (Step.THAW, Step.BLEND) if line.food_class is FoodClass.FAT else (Step.THAW,)
    if line.food_class is FoodClass.FAT:
        return (Step.BLEND, Step.PACK)
    if not line.food_class.is_animal:
        blanched = line.treatments & {Treatment.BLANCHED, Treatment.COOKED}
        if line.food_class is FoodClass.FRUIT or blanched:
            return (Step.LOAD, Step.PACK)
        return (Step.BLANCH, Step.LOAD, Step.COOK)
    if line.is_raw:
        raw = (Step.COOK, Step.BLEND, Step.PORTION, Step.PACK)
        if line.form is Form.PIECES and line.food_class not in _WHOLE_FISH:
            return (Step.GRIND, Step.TRIM, *raw)
        return raw if line.form is Form.GROUND else (Step.COOK, Step.TRIM, Step.GRIND, *raw)
    return _after_cooking(line)


def _after_cooking(line: StockLine) -> tuple[OperationKind, ...]:
    """A pot is chilled, then skimmed, then drained; what comes of it is dried or packed."""
    following = {
        OperationKind.COOK: (Step.CHILL,),
        OperationKind.CHILL: (Step.SKIM, Step.DRAIN),
        OperationKind.SKIM: (Step.DRAIN,),
    }
    if line.food_class is FoodClass.BROTH:
        return (Step.LOAD, Step.COOK) if line.made_by is Step.COOK else (Step.COOK, Step.LOAD)
    return (*following.get(line.made_by, ()), Step.LOAD, Step.PACK)


def _always(line: StockLine) -> tuple[OperationKind, ...]:
    if line.package_count:
        opening = () if line.opened_on else (Step.OPEN,)
        thawing = (Step.THAW,) if line.place_kind is PlaceKind.FREEZER else ()
        return (*opening, Step.MOVE, *thawing, Step.MEASURE, Step.GIVE, Step.DISCARD)
    loose = (Step.PORTION, Step.GRIND, Step.BLEND, Step.COOK, Step.CHILL, Step.PACK, Step.LOAD)
    frozen = line.place_kind is PlaceKind.FREEZER
    return (*(() if frozen else loose), Step.MOVE, Step.EAT, Step.MEASURE, Step.GIVE, Step.DISCARD)
