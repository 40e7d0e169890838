"""What can be done today about food on hand, and the time that each way buys. Writes nothing.

Every way is asked of the rules that would judge its entry: what they would refuse, or would want a
reason for, is not proposed. Gains come from the same windows as all dates, so they are estimates of
quality. Food without a window gets none: there only the gates speak, and the cold is no cure.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date

from sqlalchemy.orm import Session

from app.ledger.errors import Refused
from app.ledger.lots import known_lot
from app.ledger.mass import to_kg, to_mg
from app.ledger.models import Absorber, Lot, Packaging, Place
from app.ledger.operations import load, move, pack
from app.ledger.queries.packages import PackageOption, kept_anew, options_for
from app.ledger.queries.places import places
from app.ledger.queries.stock import StockLine
from app.ledger.runs import dryer_kind, open_runs
from app.ledger.stock import find_stock
from app.ledger.windows import (
    SEEN_WORN,
    KeptFrom,
    keeping_of,
    places_of,
    share_used,
    stays_of,
)
from app.ledger.words import OperationKind, PlaceKind
from app.science.classes import FoodClass, Treatment
from app.science.composition import with_water
from app.science.drying import RESIDUAL_WATER, DryerKind
from app.science.errors import ScienceError
from app.science.safety.low_oxygen import Kept
from app.science.safety.rule import Outcome, worst
from app.science.safety.verdicts import oxygen_free_pack
from app.science.sorption import water_activity
from app.science.window import Keeping, Window, estimate

LEAST_DAYS, LEAST_SHARE = 1.0, 0.02  # of the central life; as app.science.window counts a help
TRAY_MG = 500_000  # a tray's own weight means nothing to the rules; they look at the food
_DRIED_BY = {
    DryerKind.FREEZE: Treatment.DRIED_FREEZE,
    DryerKind.AIR: Treatment.DRIED_AIR,
}


@dataclass(frozen=True, slots=True)
class Gain:
    """Days that a way buys at the early end, the centre and the late end of the window."""

    early: float
    central: float
    late: float


@dataclass(frozen=True, slots=True)
class Way:
    """One thing to do: the step, where the food goes and in what, and the window from today on."""

    step: OperationKind
    place: Place
    window: Window  # in days from today
    gain: Gain
    packaging: Packaging | None = None
    absorber: Absorber | None = None
    is_pumped_down: bool = False
    is_busy: bool = False  # the dryer runs
    dryer: Place | None = None
    dried_by: DryerKind | None = None
    count: int = 0  # into how many packages


@dataclass(frozen=True, slots=True)
class _Food:
    """One row of stock as it is kept, on a day."""

    line: StockLine
    lot: Lot
    keeping: Keeping
    start: date
    today: date
    left: tuple[float, float, float]  # days from today to the three ends of its window
    is_fixed: bool  # by a published limit, as that of a refrigerator: no package moves it

    def gain(self, new: Window) -> Gain:
        """What a window that is counted from today buys."""
        days = (new.early_days, new.central_days, new.late_days)
        return Gain(*(after - before for after, before in zip(days, self.left, strict=True)))

    def is_worth_it(self, gain: Gain) -> bool:
        """Nothing lost at either end, and something won at the centre."""
        least = max(LEAST_DAYS, LEAST_SHARE * self.left[1])
        return min(gain.early, gain.late) >= 0.0 and gain.central >= least


def ways(session: Session, line: StockLine, today: date) -> tuple[Way, ...]:
    """The ways that buy time for a line of stock, the longest gain first.

    Args:
        line: as lists show it; of several packages the first speaks for all. today: the day on
            which it would be done.
    Returns:
        At most one way for each sort of place, one to pack it anew and one for each dryer. None
        for food on hold, without a window, past its window, or seen to be past its best.
    """
    food = _food(session, line, today)
    if food is None:
        return ()
    found = [*_moves(session, food), *_packs(session, food), *_dryings(session, food)]
    return tuple(sorted(found, key=lambda way: -way.gain.central))


def _food(session: Session, line: StockLine, today: date) -> _Food | None:
    window = line.window
    if window is None or line.holds or line.limit_word == SEEN_WORN:
        return None
    if window.late < today and not window.is_capped:
        return None
    row = find_stock(session, line.ref)
    inputs = keeping_of(session, row) if row else None
    if inputs is None:
        return None
    start, keeping = inputs
    now = _window(keeping)
    if now is None:
        return None
    passed = (today - start).days
    left = (now.early_days - passed, now.central_days - passed, now.late_days - passed)
    return _Food(line, known_lot(session, line.ref), keeping, start, today, left, now.is_fixed)


def _window(keeping: Keeping) -> Window | None:
    try:
        answer = estimate(keeping)
    except ScienceError:
        return None
    return answer if isinstance(answer, Window) else None


def _since(window: Window, days: int) -> Window:
    """The same window, counted from so many days later."""
    return replace(
        window,
        early_days=window.early_days - days,
        central_days=window.central_days - days,
        late_days=window.late_days - days,
    )


# -- another place -------------------------------------------------------------------------------


def _moves(session: Session, food: _Food) -> Iterator[Way]:
    """Of each sort of place the one where it keeps longest, if that is longer than here."""
    best: dict[str, Way] = {}
    for place in places(session):
        kind = PlaceKind(place.kind)
        if kind.is_dryer or kind is PlaceKind.BENCH or place.id == food.line.place_id:
            continue
        way = _move(session, food, place)
        known = best.get(kind)
        if way is not None and (known is None or way.gain.central > known.gain.central):
            best[kind] = way
    yield from best.values()


def _move(session: Session, food: _Food, place: Place) -> Way | None:
    try:
        move.posting_of(session, move.Move(food.line.refs, place.id, food.today))
    except Refused:
        return None
    stays = [*places_of(session, food.lot, food.line.ref), KeptFrom(food.today, place)]
    history = stays_of(session, food.line.ref, stays, food.start)
    new = _window(replace(food.keeping, history=history))
    if new is None:
        return None
    new = _since(new, (food.today - food.start).days)
    gain = food.gain(new)
    return Way(OperationKind.MOVE, place, new, gain) if food.is_worth_it(gain) else None


# -- another package -----------------------------------------------------------------------------


def _packs(session: Session, food: _Food) -> Iterator[Way]:
    """The best package for what lies loose, or for what is taken out of one that is worse."""
    line = food.line
    if food.is_fixed or (line.package_count and not food.keeping.is_dried):
        return
    place = _where_packed(session, line)
    if place is None:
        return
    used = share_used(session, line.ref, on=food.today)
    base = kept_anew(session, food.keeping, place.id, food.today, share_used=used)
    mass_mg = line.mass_mg // max(line.package_count, 1)
    count = 1 if line.package_count else None
    options = options_for(session, base, mass_mg, place.id, count=count)
    allowed = (x for x in options if _may_pack(session, food, x, place))
    step = OperationKind.PORTION if line.package_count else OperationKind.PACK
    yield from _best(food, step, place, allowed)


def _where_packed(session: Session, line: StockLine) -> Place | None:
    """Where it lies, or from the bench where such food is put: the shelf when dry, else frozen."""
    known = places(session)
    if line.place_kind is not PlaceKind.BENCH:
        return next((place for place in known if place.id == line.place_id), None)
    wanted = PlaceKind.ROOM if line.is_dried else PlaceKind.FREEZER
    return next((place for place in known if place.kind == wanted), None)


def _may_pack(session: Session, food: _Food, option: PackageOption, place: Place) -> bool:
    request = pack.Pack(
        ref=food.line.ref,
        packaging_id=option.packaging.id,
        net_mg=(option.each_mg,) * option.count,
        place_id=place.id,
        done_on=food.today,
        absorber_id=option.absorber.id if option.absorber else None,
        pressure_fraction=option.keeping.sealed_pressure_fraction if option.keeping else 1.0,
        minutes_open=0.0,
    )
    try:
        pack.looked_over(session, request)
    except Refused:
        return False
    return True


def _best(
    food: _Food,
    step: OperationKind,
    place: Place,
    options: Iterable[PackageOption],
    dryer: Place | None = None,
    *,
    is_busy: bool = False,
) -> Iterator[Way]:
    """The first option, of those ranked by what can be relied on, if it buys time."""
    for option in options:
        if not isinstance(option.answer, Window):
            return
        gain = food.gain(option.answer)
        if food.is_worth_it(gain):
            yield Way(
                step,
                place,
                option.answer,
                gain,
                option.packaging,
                option.absorber,
                option.is_pumped_down,
                is_busy,
                dryer,
                dryer_kind(dryer) if dryer else None,
                option.count,
            )
        return


# -- dried ---------------------------------------------------------------------------------------


def _dryings(session: Session, food: _Food) -> Iterator[Way]:
    """In each sort of dryer, then packed for the shelf in the best package that the rules allow."""
    shelf = next((p for p in places(session) if p.kind == PlaceKind.ROOM), None)
    if food.keeping.is_dried or shelf is None:
        return
    busy = {run.place_id for run in open_runs(session)}
    dryers = [p for p in places(session) if PlaceKind(p.kind).is_dryer]
    free_first = sorted(dryers, key=lambda place: place.id in busy)
    for dryer in {place.kind: place for place in reversed(free_first)}.values():
        if _may_load(session, food, dryer):
            dry = _dried(food, dryer_kind(dryer))
            yield from _dried_ways(session, food, dry, dryer, shelf, is_busy=dryer.id in busy)


def _may_load(session: Session, food: _Food, dryer: Place) -> bool:
    whole_mg = food.line.mass_mg // max(food.line.package_count, 1) + TRAY_MG
    tray = load.TrayLoaded(food.line.ref, whole_mg, "", TRAY_MG, "")
    try:
        load.looked_over(session, load.Load(dryer.id, (tray,), food.today))
    except Refused:
        return False
    return True


def _dried(food: _Food, kind: DryerKind) -> Keeping | None:
    """The food as it usually comes out of such a dryer; None where it is drier now."""
    keeping, residual = food.keeping, RESIDUAL_WATER[kind]
    low, high = residual.span
    if keeping.composition.water <= high:
        return None
    dry = with_water(keeping.composition, residual.value)
    mass_kg = to_kg(food.line.mass_mg) * keeping.composition.solids / dry.solids
    return replace(
        keeping,
        treatments=keeping.treatments | {_DRIED_BY[kind]},
        composition=dry,
        water_low=low,
        water_high=high,
        net_mass_kg=max(mass_kg, 0.001),
    )


def _dried_ways(
    session: Session, food: _Food, dry: Keeping | None, dryer: Place, shelf: Place, *, is_busy: bool
) -> Iterator[Way]:
    if dry is None:
        return
    used = share_used(session, food.line.ref, on=food.today)
    base = kept_anew(session, dry, shelf.id, food.today, share_used=used)
    options: Sequence[PackageOption] = options_for(session, base, to_mg(dry.net_mass_kg), shelf.id)
    if not _may_go_without_oxygen(food.lot, dry):
        options = [x for x in options if x.absorber is None and not x.is_pumped_down]
    yield from _best(food, OperationKind.LOAD, shelf, options, dryer, is_busy=is_busy)


def _may_go_without_oxygen(lot: Lot, dry: Keeping) -> bool:
    """Would the rules let it be sealed with an absorber, weighed until nothing more is lost?"""
    try:
        wet = with_water(dry.composition, dry.wettest)
        activity: float | None = water_activity(FoodClass(lot.food_class), wet)
    except ScienceError:
        activity = None
    verdicts = oxygen_free_pack(
        FoodClass(lot.food_class),
        fat_fraction=dry.composition.fat,
        water_low=dry.driest,
        water_high=dry.wettest,
        water_activity=activity,
        moisture_is_measured=True,
        weighings_agree=True,
        raw=lot.is_raw,
        kept=Kept.SHELF,
    )
    return worst(verdicts) in (Outcome.PASS, Outcome.NOTE)
