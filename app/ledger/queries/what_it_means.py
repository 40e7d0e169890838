"""What it means that something went wrong, food by food, by the published rules. Writes nothing."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

from sqlalchemy.orm import Session

from app.ledger.calendar import zone_of
from app.ledger.queries.at_place import Air
from app.ledger.queries.outings import Outing, outings_of
from app.ledger.queries.seals import Seal, seals_of
from app.ledger.queries.stock import StockLine
from app.ledger.safety import rule_set_of
from app.ledger.stock import StockRef
from app.ledger.words import IncidentFate, IncidentKind, PlaceKind
from app.science.classes import DRIED, FoodClass, Treatment
from app.science.keeping import NoWindowReason
from app.science.packaging import PackagingKind
from app.science.safety.absorbers import ABS_EXPOSE
from app.science.safety.outage import WARM_C, WARM_HOURS, Fate, OutageAnswer
from app.science.safety.outage_lots import fate_in_freezer, fate_in_fridge
from app.science.safety.readings import to_celsius
from app.science.safety.rule import Outcome, RuleSet, Verdict, worst
from app.science.safety.thawing import THAW_VACFISH, ThawWay
from app.science.safety.verdicts import (
    freezer_outage,
    held_hot,
    left_out,
    sealed_jar,
    thawed,
)
from app.science.safety.worn import freezer_burnt, past_its_best, seal_lost

KEEP, REFREEZE, LOOK = IncidentFate.KEEP, IncidentFate.REFREEZE, IncidentFate.LOOK
USE_NOW, OPENED = IncidentFate.USE_NOW, IncidentFate.OPENED
WORN, DISCARD = IncidentFate.WORN, IncidentFate.DISCARD

UNLOAD_FIRST = "It lies in the dryer: unload it, then discard it."

_FISH = (FoodClass.FISH_LEAN, FoodClass.FISH_FATTY, FoodClass.SHELLFISH)
_COLD = (PlaceKind.FREEZER, PlaceKind.FRIDGE)


@dataclass(frozen=True, slots=True)
class Seen:
    """One line of stock, and whether it still has ice and feels fridge-cold; None: not looked."""

    line: StockLine
    is_icy: bool | None = None


#: A temperature as it was typed and its unit, C or F: limits are compared in that unit.
Typed = tuple[float, str]


@dataclass(frozen=True, slots=True)
class Told:
    """What somebody tells of something that went wrong.

    Hours are hours that passed, not differences of clocks. `warm_hours` are those above 4.4 °C
    (40 °F) as told, None when nobody knows; `air` is that of the place as it was logged.
    """

    kind: IncidentKind
    seen: tuple[Seen, ...]
    at: datetime  # now
    from_at: datetime | None = None
    to_at: datetime | None = None
    temp: Typed | None = None
    warm_hours: float | None = None
    air: Air | None = None
    is_full: bool | None = None  # the freezer; None: nobody said, or no freezer
    since: date | None = None  # last seen well

    @property
    def temp_c(self) -> float | None:
        """The temperature that was told, °C."""
        return to_celsius(*self.temp) if self.temp else None

    @property
    def air_hours(self) -> float | None:
        """Hours above the limit by the readings of the place."""
        return self.air.hours if self.air else None

    @property
    def lasted_hours(self) -> float | None:
        """From beginning to end, h."""
        if self.from_at is None or self.to_at is None:
            return None
        return (self.to_at - self.from_at) / timedelta(hours=1)


@dataclass(frozen=True, slots=True)
class Meaning:
    """What it means for one line of stock: what the rules say, a proposal, and what else may be.

    A rule that says discard can be overruled by any of `allowed` with a reason.
    """

    line: StockLine
    fate: IncidentFate
    allowed: tuple[IncidentFate, ...]
    verdicts: tuple[Verdict, ...]
    is_icy: bool | None = None
    warm_hours: float | None = None
    temp_c: float | None = None
    since: date | None = None
    reason: str = ""  # why a rule that says discard is not carried out at once
    table: str = ""  # the published table and how it was read, where the first verdict is a row

    @property
    def is_stopped(self) -> bool:
        """Does a rule say that it must be discarded?"""
        return worst(self.verdicts) is Outcome.STOP


@dataclass(frozen=True, slots=True)
class _Ledger:
    """What the ledger knows beside the lines: asked once for all of them."""

    rule_set: RuleSet
    outings: Mapping[StockRef, Sequence[Outing]]
    seals: Mapping[int, Seal]
    midnight: Callable[[date], datetime]
    today: date


def meanings(session: Session, event: Told) -> list[Meaning]:
    """Judge every line that was told of, in the order given.

    Args:
        event: what happened; from and to are given for what lasts, `since` for what was found.
    Returns:
        One meaning for each line. Unknown hours and what nobody looked at never count as fine.
    """
    lines, zone = [seen.line for seen in event.seen], zone_of(session)
    known = _Ledger(
        rule_set=rule_set_of(session),
        outings=outings_of(session, lines) if event.kind in _OUT else {},
        seals=seals_of(session, lines),
        midnight=lambda day: datetime(day.year, day.month, day.day, tzinfo=zone),
        today=event.at.astimezone(zone).date(),
    )
    judge = _JUDGES[event.kind]
    return [judge(event, seen, known) for seen in event.seen]


# -- cold that failed -------------------------------------------------------------------------


def _cold_failed(event: Told, seen: Seen, known: _Ledger) -> Meaning:
    if seen.line.place_kind is PlaceKind.FREEZER:
        return _in_freezer(event, seen, known)
    if seen.line.place_kind.is_dryer:
        return _in_dryer(event, seen)
    return _in_fridge(event, seen)


def _in_freezer(event: Told, seen: Seen, known: _Ledger) -> Meaning:
    line, hours = seen.line, event.warm_hours
    if hours is None and not seen.is_icy:  # ice that was seen says more than the air around it
        hours = event.air_hours
    keeps = _freezer_answer(line, None, None).fate is Fate.KEEP
    if seen.is_icy is None and hours is None and not keeps:
        verdicts = _look_first(event)
        return Meaning(line, LOOK, (LOOK, DISCARD), verdicts, temp_c=event.temp_c)
    judged = event.lasted_hours if hours is None and seen.is_icy is False else hours
    answer = _freezer_answer(line, seen.is_icy, judged)
    fate = KEEP if keeps else _fate_of(answer)
    verdicts = (answer.verdict, *_sealed_fish(event, seen, judged, known))
    if worst(verdicts) is Outcome.STOP:
        fate = DISCARD
    temp_c = event.temp_c
    if temp_c is None and seen.is_icy and not hours:
        temp_c = WARM_C.value  # as cold as a refrigerator, as somebody felt
    elif temp_c is None and event.air is not None:
        temp_c = event.air.highest_c  # the food was no warmer than the air
    first = (KEEP,) if keeps else (REFREEZE,)
    allowed = (*first, USE_NOW, LOOK, DISCARD)
    return Meaning(line, fate, allowed, verdicts, seen.is_icy, hours, temp_c, table=_table(answer))


def _look_first(event: Told) -> tuple[Verdict, ...]:
    """Nobody looked: how long a shut freezer stays cold, which is no answer for any one food."""
    return freezer_outage(is_full=bool(event.is_full))


def _in_fridge(event: Told, seen: Seen) -> Meaning:
    hours = event.warm_hours if event.warm_hours is not None else event.air_hours
    judged, shut = hours, None
    if event.kind is IncidentKind.POWER_OUT and seen.line.place_kind is PlaceKind.FRIDGE:
        shut = event.lasted_hours
    elif judged is None:
        judged = event.lasted_hours  # it may have been warm all the while
    answer = _fridge_answer(seen.line, judged, shut)
    allowed = (KEEP, USE_NOW, LOOK, DISCARD)
    return Meaning(
        line=seen.line,
        fate=_fate_of(answer),
        allowed=allowed,
        verdicts=(answer.verdict,),
        is_icy=seen.is_icy,
        warm_hours=hours,
        temp_c=event.temp_c,
        table=_table(answer),
    )


def _in_dryer(event: Told, seen: Seen) -> Meaning:
    """A load that stopped is judged as the food that was loaded: our own judgement.

    It cannot be discarded from the trays, so it is held until it is unloaded.
    """
    judged = _in_fridge(event, seen)
    if judged.fate is KEEP:
        return replace(judged, allowed=(KEEP, LOOK))
    return replace(judged, fate=LOOK, allowed=(LOOK, KEEP), reason=UNLOAD_FIRST)


def _fate_of(answer: OutageAnswer) -> IncidentFate:
    """The table's fate; between its columns raw food is cooked now, not held."""
    if answer.fate is Fate.LOOK:
        return USE_NOW if answer.row.warm is Fate.DISCARD else LOOK
    return IncidentFate(answer.fate)


def _table(answer: OutageAnswer) -> str:
    return f"{answer.row.source} ({answer.row.evidence.value})"


def _freezer_answer(line: StockLine, is_icy: bool | None, hours: float | None) -> OutageAnswer:
    return fate_in_freezer(line.food_class, line.form, line.treatments, is_icy, hours)


def _fridge_answer(line: StockLine, hours: float | None, shut: float | None) -> OutageAnswer:
    is_raw = line.is_raw if line.food_class.is_animal else Treatment.COOKED not in line.treatments
    return fate_in_fridge(line.food_class, line.form, line.treatments, is_raw, hours, shut)


def _sealed_fish(
    event: Told, seen: Seen, hours: float | None, known: _Ledger
) -> tuple[Verdict, ...]:
    """Raw fish that thawed in a pack without air; 0 hours are hours at or below 4.4 °C."""
    seal = known.seals.get(seen.line.ref.package_id or 0)
    airless = seal is not None and seal.kind is PackagingKind.VACUUM_BAG
    if seen.is_icy or not (airless and seen.line.is_raw and seen.line.food_class in _FISH):
        return ()
    found = thawed(
        ThawWay.REFRIGERATOR,
        is_vacuum_fish=True,
        pack_opened=seen.line.opened_on is not None,
        warmest_c=event.temp_c,
        hours_above_5_c=hours,
    )
    return tuple(verdict for verdict in found if verdict.id == THAW_VACFISH.id)


# -- food in the warm -------------------------------------------------------------------------


def _left_out(event: Told, seen: Seen, known: _Ledger) -> Meaning:
    hours = event.lasted_hours or 0.0
    return _warm(event, seen, known, [(hours, event.temp_c)], ())


def _kept_warm(event: Told, seen: Seen, known: _Ledger) -> Meaning:
    """Hot enough to wait, or the clock of food left out runs; the air then says nothing."""
    value, unit = event.temp or (None, "C")
    hot = held_hot(value, unit, has_clock=event.lasted_hours is not None, insisted=True)
    if worst(hot) is Outcome.PASS:
        allowed = (KEEP, USE_NOW, DISCARD)
        return Meaning(seen.line, KEEP, allowed, hot, warm_hours=0.0, temp_c=event.temp_c)
    return _warm(event, seen, known, [(event.lasted_hours or 0.0, None)], hot)


def _warm(
    event: Told,
    seen: Seen,
    known: _Ledger,
    outing: Sequence[Outing],
    besides: tuple[Verdict, ...],
) -> Meaning:
    line, temp_c = seen.line, event.temp_c
    hours = outing[0][0]
    keeps = _keeps_in_the_warm(line)
    if keeps is not None:
        allowed = (KEEP, USE_NOW, DISCARD)
        verdicts = (keeps.verdict,)
        return Meaning(line, KEEP, allowed, verdicts, None, hours, temp_c, table=_table(keeps))
    outings = [*known.outings.get(line.ref, ()), *outing]
    judged = left_out(outings, known.rule_set, insisted=True)  # the form asked already
    fate = {Outcome.PASS: KEEP, Outcome.CONFIRM: USE_NOW}.get(judged[0].outcome, DISCARD)
    allowed = (KEEP, USE_NOW, DISCARD)
    return Meaning(line, fate, allowed, (*besides, *judged), None, hours, temp_c)


def _keeps_in_the_warm(line: StockLine) -> OutageAnswer | None:
    """What the refrigerator's table keeps however warm it was: dried food, whole produce."""
    answer = _fridge_answer(line, 2 * WARM_HOURS.value, None)
    return answer if answer.fate is Fate.KEEP else None


# -- packs and looks --------------------------------------------------------------------------


def _air_got_in(event: Told, seen: Seen, known: _Ledger) -> Meaning:
    line = seen.line
    seal = known.seals.get(line.ref.package_id or 0)
    since = _since(event, seal, known.today)
    is_dry, is_cold = _is_dry(line), line.place_kind in _COLD
    verdicts = seal_lost(is_dry=is_dry, is_cold=is_cold)
    if seal is not None and seal.kind is PackagingKind.GLASS_JAR:
        verdicts = (*verdicts, *sealed_jar())
    if event.kind is IncidentKind.ABSORBER_SPENT:
        why = {"why": "found used up in its pack"}
        verdicts = (*verdicts, Verdict(ABS_EXPOSE, Outcome.CONFIRM, why))
    if is_dry or is_cold or _keeps_in_the_warm(line) is not None:
        return Meaning(line, OPENED, (OPENED, USE_NOW, LOOK, DISCARD), verdicts, since=since)
    hours = (event.at - known.midnight(since)) / timedelta(hours=1)
    warm = _warm(event, seen, known, [(hours, None)], verdicts)
    fate = DISCARD if warm.is_stopped else USE_NOW
    return replace(warm, fate=fate, allowed=(OPENED, USE_NOW, LOOK, DISCARD), since=since)


def _since(event: Told, seal: Seal | None, today: date) -> date:
    """When the air may have got in at the earliest: after it was last seen well."""
    if seal is None:
        return event.since or today
    return min(max(event.since or seal.last_well, seal.packed_on), today)


def _is_dry(line: StockLine) -> bool:
    """Dried, and not shown to be too moist for the shelf."""
    dried = bool(line.treatments & DRIED) and Treatment.REHYDRATED not in line.treatments
    return dried and line.limit_word != NoWindowReason.NOT_DRY_ENOUGH


def _burnt(event: Told, seen: Seen, known: _Ledger) -> Meaning:
    return _worn(event, seen, known, freezer_burnt())


def _stale(event: Told, seen: Seen, known: _Ledger) -> Meaning:
    return _worn(event, seen, known, past_its_best())


def _worn(event: Told, seen: Seen, known: _Ledger, verdicts: tuple[Verdict, ...]) -> Meaning:
    since = min(event.since or known.today, known.today)
    return Meaning(seen.line, WORN, (WORN, USE_NOW, LOOK, DISCARD), verdicts, since=since)


_OUT = (
    IncidentKind.LEFT_OUT,
    IncidentKind.KEPT_WARM,
    IncidentKind.SEAL_FAILED,
    IncidentKind.ABSORBER_SPENT,
)
_JUDGES: Mapping[IncidentKind, Callable[[Told, Seen, _Ledger], Meaning]] = {
    IncidentKind.POWER_OUT: _cold_failed,
    IncidentKind.DOOR_OPEN: _cold_failed,
    IncidentKind.THAWED: _in_freezer,
    IncidentKind.LEFT_OUT: _left_out,
    IncidentKind.KEPT_WARM: _kept_warm,
    IncidentKind.SEAL_FAILED: _air_got_in,
    IncidentKind.ABSORBER_SPENT: _air_got_in,
    IncidentKind.FREEZER_BURN: _burnt,
    IncidentKind.WORN: _stale,
}


def touched(kind: IncidentKind, lines: Iterable[StockLine]) -> list[StockLine]:
    """The lines to which something of this kind can happen."""
    return [line for line in lines if _CAN_HAPPEN[kind](line)]


def _is_sealed(line: StockLine) -> bool:
    return line.package_count > 0 and line.opened_on is None


def _is_frozen(line: StockLine) -> bool:
    return line.place_kind is PlaceKind.FREEZER


def _is_put_away(line: StockLine) -> bool:
    return not line.place_kind.is_dryer


_CAN_HAPPEN: Mapping[IncidentKind, Callable[[StockLine], bool]] = {
    IncidentKind.POWER_OUT: lambda line: line.place_kind in _COLD or line.place_kind.is_dryer,
    IncidentKind.DOOR_OPEN: lambda line: line.place_kind in _COLD,
    IncidentKind.THAWED: _is_frozen,
    IncidentKind.LEFT_OUT: lambda line: _is_put_away(line) and not _is_frozen(line),
    IncidentKind.KEPT_WARM: lambda line: _is_put_away(line) and not _is_frozen(line),
    IncidentKind.SEAL_FAILED: _is_sealed,
    IncidentKind.ABSORBER_SPENT: _is_sealed,
    IncidentKind.FREEZER_BURN: _is_frozen,
    IncidentKind.WORN: _is_put_away,
}
