"""The storage window of what is on hand: inputs from the ledger, the answer kept as a cache.

A window is dates, never a countdown: it depends on the lot, its package and its places. How much
of it is used is computed when it is read.
"""

import hashlib
import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from itertools import zip_longest
from typing import Any
from zoneinfo import ZoneInfo

from sqlalchemy import ColumnElement, select
from sqlalchemy.orm import Session

from app.ledger.calendar import zone_of
from app.ledger.climates import HOTTEST_C, Warmth, climates_of, stretches
from app.ledger.incidents import Excursion, excursions_of, worn_since
from app.ledger.makeup import makeup_of
from app.ledger.mass import to_kg
from app.ledger.models import (
    Absorber,
    Entry,
    Estimate,
    Household,
    Lot,
    LotTreatment,
    Operation,
    Package,
    Packaging,
    Place,
    Stock,
)
from app.ledger.stock import StockRef, find_stock, note_openings, ref_of, stands
from app.ledger.types import json_text
from app.ledger.words import PlaceKind
from app.science.classes import DRIED, FoodClass, Form, Treatment
from app.science.errors import ScienceError
from app.science.frozen import WARMEST_CHILLED_C
from app.science.packaging import PackagingKind
from app.science.version import MODEL_VERSION
from app.science.window import Keeping, NoWindow, Stay, Storage, Window, estimate

SEEN_WORN = "seen_worn"  # somebody looked, and it was past its best
OUTSIDE_MODEL = "outside_model"  # such as a crumb, or more food than its package can hold
LEAST_KG = 0.001  # the science takes no less

_STORAGE = {
    PlaceKind.FREEZER: Storage.FREEZER,
    PlaceKind.FRIDGE: Storage.FRIDGE,
    PlaceKind.ROOM: Storage.ROOM,
    PlaceKind.BENCH: Storage.ROOM,
}
IN_HAND = {PlaceKind.FRIDGE, PlaceKind.BENCH}  # food being worked on


@dataclass(frozen=True, slots=True)
class KeptFrom:
    """A stretch at one place, beginning on a day."""

    on: date
    place: Place


def treatments_of(session: Session, lot_id: int) -> frozenset[Treatment]:
    """What has been done to a lot."""
    rows = session.scalars(select(LotTreatment.treatment).where(LotTreatment.lot_id == lot_id))
    return frozenset(Treatment(word) for word in rows)


def places_of(session: Session, lot: Lot, ref: StockRef) -> list[KeptFrom]:
    """Where this food has been since it became this lot, oldest first.

    What was worked on and lies on a bench may count from before it was made: those days were spent
    in the refrigerator, by what it is made of.
    """
    rows = session.execute(
        select(Entry.operation_id, Operation.done_on, Entry.place_id, Entry.mass_mg)
        .join(Operation, Operation.id == Entry.operation_id)
        .where(
            Entry.lot_id == ref.lot_id,
            Entry.package_id.is_not_distinct_from(ref.package_id),
            stands(Entry.operation_id),
        )
        .order_by(Entry.operation_id.desc())
    ).all()
    stays: list[KeptFrom] = []
    place_id = ref.place_id
    arrivals = [row for row in rows if row.mass_mg > 0]
    left = {(row.operation_id, row.place_id) for row in rows if row.mass_mg < 0}
    for arrival in arrivals:
        if arrival.place_id != place_id or (arrival.operation_id, place_id) in left:
            continue
        came_from = [place for op, place in left if op == arrival.operation_id]
        place = session.get_one(Place, place_id)
        if not came_from:
            stays += _from_the_first(
                session, lot, KeptFrom(arrival.done_on, place), arrival.operation_id
            )
            break
        stays.append(KeptFrom(arrival.done_on, place))
        place_id = came_from[0]
    return stays[::-1]


def _from_the_first(
    session: Session, lot: Lot, made: KeptFrom, operation_id: int
) -> list[KeptFrom]:
    """The first stay of a lot, and what of its keeping lies before, the newest first."""
    if lot.kept_since >= made.on:
        return [made]
    cold = _cold_before(session, operation_id) if _is_bench(made.place) else None
    since = KeptFrom(lot.kept_since, cold or made.place)
    return [since] if cold is None else [made, since]


def _is_bench(place: Place) -> bool:
    return PlaceKind(place.kind) is PlaceKind.BENCH


def _cold_before(session: Session, operation_id: int) -> Place | None:
    """The refrigerator that something which an entry took had been in last, if any had."""
    took = select(Entry.lot_id, Entry.place_id, Entry.package_id).where(
        Entry.operation_id == operation_id, Entry.mass_mg < 0
    )
    for lot_id, place_id, package_id in session.execute(took.order_by(Entry.id)):
        source = session.get_one(Lot, lot_id)
        for stay in reversed(places_of(session, source, StockRef(lot_id, place_id, package_id))):
            if PlaceKind(stay.place.kind) is PlaceKind.FRIDGE:
                return stay.place
    return None


def days_that_go_on(session: Session, lot: Lot, ref: StockRef, place_id: int) -> dict[str, Any]:
    """The beginning of its keeping, for food that is handled and stays in hand.

    A package or a knife makes nothing fresher: the days of the refrigerator go on from when it came
    there. Dried food, and food out of a freezer or off a shelf, begins a way of keeping of its own.

    Returns:
        The changes for `made_from`; none where the new keeping begins with the operation.
    """
    here = PlaceKind(session.get_one(Place, place_id).kind)
    stays = places_of(session, lot, ref)
    since = in_hand_since(stays)
    is_dried = treatments_of(session, lot.id) & DRIED
    if here not in IN_HAND or since is None or is_dried:
        return {}
    if since != stays[0].on:
        return {"kept_since": since}
    return {"kept_since": lot.kept_since, "share_used": lot.share_used}


def in_hand_since(stays: Sequence[KeptFrom]) -> date | None:
    """Since when food is worked on: out of the freezer, in a refrigerator or on a bench.

    A day that it stood on a shelf as well makes it no fresher; what stood there overnight began a
    keeping of its own when it came into the cold.

    Args:
        stays: as `places_of` gives them.
    """
    since = None
    for stay, following in reversed([*zip_longest(stays, stays[1:])]):
        kind = PlaceKind(stay.place.kind)
        is_short = following is not None and following.on == stay.on
        if kind not in IN_HAND and not (kind is PlaceKind.ROOM and is_short):
            break
        since = stay.on
    return since


def keeping_of(session: Session, row: Stock) -> tuple[date, Keeping] | None:
    """Everything the science needs to know about a row of stock, and its day 0.

    None while the food is in a dryer, where no window runs.
    """
    lot = session.get_one(Lot, row.lot_id)
    stays = places_of(session, lot, ref_of(row))
    if not stays or PlaceKind(stays[-1].place.kind).is_dryer:
        return None
    return stays[0].on, _keeping(session, row, lot, stays)


def start_span(session: Session, lot: Lot) -> tuple[date, date]:
    """First and last day on which the present keeping of a lot may have begun.

    They differ where somebody knew only the month or the year: the food was kept before it was
    written down, and the span of its harvest begins on the day from which it is counted. A mixture
    of several harvests has a span too, but the day of the mixing is known.
    """
    since, last = lot.kept_since, lot.harvest_to
    if last is None or lot.harvest_from != since or last == since:
        return since, since
    made_on = session.get_one(Operation, lot.operation_id).done_on
    return since, min(last, made_on) if since < made_on else since


def latest_keeping_of(session: Session, row: Stock) -> tuple[date, Keeping] | None:
    """As `keeping_of`, had the food been put there on the last day that it may have been.

    None where that day is known, or where no window runs.
    """
    lot = session.get_one(Lot, row.lot_id)
    since, last = start_span(session, lot)
    stays = places_of(session, lot, ref_of(row)) if since < last else []
    if not stays or stays[0].on != since or PlaceKind(stays[-1].place.kind).is_dryer:
        return None
    last = min([last, *(stay.on for stay in stays[1:2])])
    stays[0] = replace(stays[0], on=last)
    return last, _keeping(session, row, lot, stays)


def _keeping(session: Session, row: Stock, lot: Lot, stays: Sequence[KeptFrom]) -> Keeping:
    start = stays[0].on
    household = session.scalar(select(Household))
    package = session.get(Package, row.package_id) if row.package_id else None
    makeup = makeup_of(session, lot)
    return Keeping(
        food_class=FoodClass(lot.food_class),
        form=Form(lot.form),
        treatments=treatments_of(session, lot.id),
        composition=makeup.composition,
        water_low=makeup.water_low,
        water_high=makeup.water_high,
        net_mass_kg=max(to_kg(row.mass_mg), LEAST_KG),
        altitude_m=household.altitude_m if household else 0.0,
        opened_day=float((row.opened_on - start).days) if row.opened_on else None,
        share_used=min(lot.share_used, 1.0),
        history=stays_of(session, ref_of(row), stays, start),
        **_package_inputs(session, lot, package),
    )


def stays_of(
    session: Session, ref: StockRef, stays: Sequence[KeptFrom], start: date
) -> tuple[Stay, ...]:
    """The history of a row of stock as the science takes it: places, seasons, and what went wrong.

    Args:
        stays: as `places_of` gives them; a dryer among them is left out. start: day 0.
    """
    found, zone = _at_places(session, stays, start), zone_of(session)
    there = (_while_there(stays, excursion, zone) for excursion in excursions_of(session, ref))
    return _with_excursions(found, [e for e in there if e], _midnight(session, start))


def _while_there(
    stays: Sequence[KeptFrom], excursion: Excursion, zone: ZoneInfo
) -> Excursion | None:
    """The part of a spell at a place in which this food lay there, from whole day to whole day.

    A lot may lie at two places, and only one lost power; it may have come or gone meanwhile.
    """
    if excursion.place_id is None:
        return excursion
    for stay, following in zip_longest(stays, stays[1:]):
        since = max(excursion.since, datetime.combine(stay.on, time(), zone))
        until = excursion.until
        if following is not None:
            until = min(until, datetime.combine(following.on + timedelta(days=1), time(), zone))
        if stay.place.id == excursion.place_id and since < until:
            return replace(excursion, since=since, until=until)
    return None


def _midnight(session: Session, day: date) -> datetime:
    return datetime(day.year, day.month, day.day, tzinfo=zone_of(session))


def _at_places(session: Session, stays: Sequence[KeptFrom], start: date) -> tuple[Stay, ...]:
    zone, midnight = zone_of(session), _midnight(session, start)
    found: list[Stay] = []
    for stay, following in zip_longest(stays, stays[1:]):
        kind, end = PlaceKind(stay.place.kind), following.on if following else None
        if kind.is_dryer or (end is not None and end <= stay.on):
            continue
        for stretch in stretches(climates_of(session, stay.place), zone, stay.on, end):
            day = (stretch.since - midnight) / timedelta(days=1)
            if found:  # two changes within the hour that comes twice a year
                day = max(day, found[-1].start_day)
            found.append(_stay(kind, stretch.warmth, day))
    return tuple(found)


def stays_at(session: Session, place: Place, start: date) -> tuple[Stay, ...]:
    """The history of food that goes to a place on a day and stays there; not for dryers."""
    return _at_places(session, (KeptFrom(start, place),), start)


def _stay(kind: PlaceKind, warmth: Warmth, start_day: float) -> Stay:
    return Stay(
        start_day=start_day,
        storage=_STORAGE[kind],
        temp_c=warmth.temp_c,
        temp_low_c=warmth.temp_low_c,
        temp_high_c=warmth.temp_high_c,
        relative_humidity=warmth.relative_humidity,
    )


def _with_excursions(
    stays: Sequence[Stay], excursions: Iterable[Excursion], midnight: datetime
) -> tuple[Stay, ...]:
    """The stays with hours at another temperature cut in; those before day 0 count for nothing."""
    found = list(stays)
    for excursion in excursions:
        begins, ends = (
            (x - midnight) / timedelta(days=1) for x in (excursion.since, excursion.until)
        )
        if not found or ends <= found[0].start_day:
            continue
        begins = max(begins, found[0].start_day)
        before = [stay for stay in found if stay.start_day < begins]
        within = [stay for stay in found if stay.start_day <= ends]
        after = [stay for stay in found if stay.start_day > ends]
        temp_c = _counted_as(excursion.temp_c, within[-1])
        if temp_c <= within[-1].temp_c:  # nothing that goes wrong makes food keep longer
            continue
        warm = replace(
            within[-1], start_day=begins, temp_c=temp_c, temp_low_c=None, temp_high_c=None
        )
        found = [*before, warm, replace(within[-1], start_day=ends), *after]
    return tuple(found)


def _counted_as(temp_c: float, stay: Stay) -> float:
    """How warm a spell counts as having been, °C.

    What was kept cold and may still be kept by a published table counts as refrigerated in warmer
    hours too: for its quality they are few, and its safety was judged by the table.
    """
    return min(temp_c, HOTTEST_C if stay.storage is Storage.ROOM else WARMEST_CHILLED_C)


def _package_inputs(session: Session, lot: Lot, package: Package | None) -> dict[str, Any]:
    if package is None:
        return {"packaging": PackagingKind(lot.wrap), "volume_m3": None, "area_m2": None}
    packaging = session.get_one(Packaging, package.packaging_id)
    absorber = session.get(Absorber, package.absorber_id) if package.absorber_id else None
    return {
        "packaging": PackagingKind(packaging.kind),
        "volume_m3": packaging.volume_ml / 1e6,
        "area_m2": packaging.area_cm2 / 1e4 if packaging.area_cm2 else None,
        "absorber_ml": absorber.rating_ml if absorber else 0.0,
        "absorber_self_activated": absorber.is_self_activated if absorber else True,
        "sealed_pressure_fraction": package.pressure_fraction,
        "seal_checked": package.seal_checked,
    }


def key_of(
    start: date, keeping: Keeping, worn: date | None = None, latest: date | None = None
) -> str:
    """A fingerprint of everything an estimate depends on, the model's version included."""
    treatments = sorted(keeping.treatments)  # a set has no order that would last a restart
    others = replace(keeping, treatments=frozenset())
    text = f"{MODEL_VERSION}|{start.isoformat()}|{treatments}|{others!r}"
    text += f"|{worn.isoformat()}" if worn else ""
    text += f"|until {latest.isoformat()}" if latest else ""
    return hashlib.sha256(text.encode()).hexdigest()


def is_of_this_model(payload: Mapping[str, Any]) -> bool:
    """Was an estimate made by the model as it is now?"""
    return is_this_model(payload.get("model"))


def is_this_model(version: object) -> bool:
    """Is this the version of the model as it is now?"""
    return version == MODEL_VERSION


def _of_another_model() -> ColumnElement[bool]:
    return json_text(Estimate.payload, "model").is_distinct_from(MODEL_VERSION)


def outdated(session: Session) -> Sequence[int]:
    """The rows of stock whose windows another version of the model gave, by number."""
    query = select(Estimate.stock_id).where(_of_another_model()).order_by(Estimate.stock_id)
    return session.scalars(query).all()


def refresh(session: Session, rows: Iterable[Stock]) -> None:
    """Compute again the windows of these rows whose inputs have changed."""
    for row in rows:
        kept = session.get(Estimate, row.id)
        inputs = keeping_of(session, row)
        if inputs is None:
            if kept is not None:
                session.delete(kept)
            continue
        start, keeping = inputs
        worn = worn_since(session, ref_of(row))
        latest = latest_keeping_of(session, row)
        key = key_of(start, keeping, worn, latest[0] if latest else None)
        if kept is not None and kept.key == key and is_of_this_model(json.loads(kept.payload)):
            continue
        if kept is None:
            kept = Estimate(stock_id=row.id)
            session.add(kept)
        kept.key, kept.start = key, start
        _fill(kept, keeping, worn, latest)
    session.flush()


def refresh_all(session: Session) -> int:
    """Bring every window up to date, as after a change of the model; gives the rows looked at."""
    rows = session.scalars(select(Stock)).all()
    note_openings(session, rows)  # by the rules of today
    refresh(session, rows)
    return len(rows)


def _fill(
    kept: Estimate, keeping: Keeping, worn: date | None, latest: tuple[date, Keeping] | None
) -> None:
    try:
        answer = estimate(keeping)
    except ScienceError:
        _fill_none(kept, OUTSIDE_MODEL, {})
        return
    if isinstance(answer, NoWindow):
        _fill_none(kept, answer.reason, answer.numbers)
        return
    _fill_dates(kept, answer)
    late = None if latest is None or kept.late is None else late_end(kept.late, answer, latest)
    kept.late = late or kept.late
    if worn is not None and kept.central is not None and worn < kept.central:
        _end_on(kept, worn)


def late_end(late: date, answer: Window, latest: tuple[date, Keeping]) -> date:
    """The late end of a window whose beginning is not known to the day.

    It is the late end of the food had it been put there on the last day that it may have been. The
    early end and the centre stay those of the first day: careful. A limit that is a fixed day, such
    as the refrigerator's, is never moved.

    Args:
        late: the late end counted from the first day. answer: the window it belongs to.
        latest: as `latest_keeping_of` gives it.
    """
    start, keeping = latest
    try:
        other = estimate(keeping)
    except ScienceError:
        return late
    if answer.is_fixed or answer.late_capped or isinstance(other, NoWindow) or other.is_fixed:
        return late
    return max(late, start + timedelta(days=int(other.late_days)))


def _fill_dates(kept: Estimate, answer: Window) -> None:
    kept.early, kept.central, kept.late = (
        kept.start + timedelta(days=int(days))
        for days in (answer.early_days, answer.central_days, answer.late_days)
    )
    kept.is_capped = answer.late_capped
    kept.limit_word = str(answer.limit)
    kept.payload = json.dumps(
        {
            "model": MODEL_VERSION,
            "limit_share": answer.limit_share,
            "is_fixed": answer.is_fixed,
            "shares": [[str(limit), share] for limit, share in answer.shares],
        }
    )


def _end_on(kept: Estimate, worn: date) -> None:
    """What somebody saw goes above what was computed."""
    kept.early, kept.central, kept.late = (
        min(day, worn) for day in (kept.early, kept.central, kept.late) if day is not None
    )
    kept.is_capped, kept.limit_word = False, SEEN_WORN
    kept.payload = json.dumps({**json.loads(kept.payload), "limit_share": 1.0, "shares": []})


def _fill_none(kept: Estimate, reason: str, numbers: Mapping[str, float]) -> None:
    kept.early = kept.central = kept.late = None
    kept.is_capped, kept.limit_word = False, str(reason)
    kept.payload = json.dumps({"model": MODEL_VERSION, "numbers": dict(numbers), "is_fixed": True})


def is_worn(session: Session, ref: StockRef, *, on: date) -> bool:
    """Had somebody seen by a day that this food is past its best?"""
    worn = worn_since(session, ref)
    return worn is not None and worn <= on


def share_used(session: Session, ref: StockRef, *, on: date) -> float:
    """Share of its quality that this food has used by a day; 0 is fresh, 1 is used up.

    What somebody saw to be past its best is used up, whatever the model says. Else the share is
    computed anew, as what is written into history must not depend on the cache. A refrigerator
    limit is about safety, not about ageing, so it adds nothing; nor does a dryer.
    """
    lot = session.get_one(Lot, ref.lot_id)
    row = find_stock(session, ref)
    stays = places_of(session, lot, ref) if row else []
    if stays and PlaceKind(stays[-1].place.kind).is_dryer:
        on = stays.pop().on
    if is_worn(session, ref, on=on):
        return 1.0
    if row is None or not stays:
        return lot.share_used
    try:
        answer = estimate(_keeping(session, row, lot, stays))
    except ScienceError:
        return lot.share_used
    if isinstance(answer, NoWindow) or answer.is_fixed:
        return lot.share_used
    elapsed_days = max((on - stays[0].on).days, 0)
    rest = max(1.0 - lot.share_used, 0.0)
    used = lot.share_used + rest * elapsed_days / max(answer.central_days, 1.0)
    return min(used, 1.0)  # the tables say when quality is used up, and nothing of what follows
