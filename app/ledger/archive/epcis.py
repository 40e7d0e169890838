"""The ledger's history as traceability events of GS1 EPCIS 2.0, an open standard (JSON-LD).

Lots are classes with a quantity in kilograms, packages are single things. What a household does to
food is a transformation, what comes in or leaves is an object event. An entry that was taken back
stands as it was, followed by the same event with an error declaration. Entries about places (how
warm they are, thermometers read) are no events of food and are left out.

Source: EPCIS Standard 2.0 and Core Business Vocabulary 2.0, GS1, 2022 (read in parts).
"""

import json
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, time
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.ledger.archive.rows import Progress
from app.ledger.calendar import zone_of
from app.ledger.codes import code_of
from app.ledger.mass import to_kg
from app.ledger.models import Entry, Hold, Operation, Package, Release
from app.ledger.words import OperationKind

BASE = "https://stillroom.example"  # RFC 2606: a name that leads nowhere, for names only
_CONTEXT = [
    "https://ref.gs1.org/standards/epcis/2.0.0/epcis-context.jsonld",
    {"stillroom": f"{BASE}/terms/"},
]
_CHUNK = 500
_TOLD_EVERY = 50_000
Event = dict[str, Any]

_LEAVING = {
    OperationKind.EAT: "decommissioning",
    OperationKind.GIVE: "shipping",
    OperationKind.DISCARD: "destroying",
}


@dataclass(frozen=True, slots=True)
class _Line:
    """One entry: mass below 0 was taken, above 0 made; the package's number if it is in one."""

    lot_id: int
    place_id: int
    mass_mg: int
    number: int | None


@dataclass
class _Told:
    """One operation with what an event needs of it."""

    row: Operation
    entries: list[_Line] = field(default_factory=list)
    held: list[int] = field(default_factory=list)  # lots put on hold or released
    taken_back_at: datetime | None = None


def write_events(
    session: Session, target: Path, *, at: datetime, progress: Progress | None = None
) -> int:
    """Write every event to a new file.

    Args:
        session: an open reading transaction. target: the new file. at: now. progress: is
            told the file and how many events are written, each fifty thousand.
    Returns:
        How many events were written.
    Raises:
        FileExistsError: there is something at target.
    """
    count = 0
    head = {
        "@context": _CONTEXT,
        "type": "EPCISDocument",
        "schemaVersion": "2.0",
        "creationDate": at.isoformat(),
    }
    with target.open("x", encoding="utf-8") as file:
        opening = json.dumps(head, ensure_ascii=False)[:-1]
        file.write(f'{opening}, "epcisBody": {{"eventList": [')
        for event in events(session):
            file.write(("," if count else "") + "\n" + json.dumps(event, ensure_ascii=False))
            count += 1
            if progress is not None and count % _TOLD_EVERY == 0:
                progress(target.name, count)
        file.write("\n]}}\n")
    return count


def events(session: Session) -> Iterator[Event]:
    """Every event of food, in the order in which it was written down."""
    zone = zone_of(session)
    last = 0
    while True:
        rows = session.scalars(
            select(Operation).where(Operation.id > last).order_by(Operation.id).limit(_CHUNK)
        ).all()
        if not rows:
            return
        last = rows[-1].id
        for told in _told(session, rows):
            yield from _events_of(told, zone)


def _told(session: Session, rows: Sequence[Operation]) -> list[_Told]:
    told = {row.id: _Told(row) for row in rows}
    entries = session.execute(
        select(Entry.operation_id, Entry.lot_id, Entry.place_id, Entry.mass_mg, Package.number)
        .outerjoin(Package, Package.id == Entry.package_id)
        .where(Entry.operation_id.in_(told))
        .order_by(Entry.id)
    )
    for entry in entries:
        told[entry.operation_id].entries.append(_Line(*entry[1:]))
    held = select(Hold.operation_id, Hold.lot_id).where(Hold.operation_id.in_(told))
    released = (
        select(Release.operation_id, Hold.lot_id)
        .join(Hold, Hold.id == Release.hold_id)
        .where(Release.operation_id.in_(told))
    )
    for operation_id, lot_id in [*session.execute(held), *session.execute(released)]:
        told[operation_id].held.append(lot_id)
    reversals = select(Operation.reverses_id, Operation.recorded_at).where(
        Operation.reverses_id.in_(told)
    )
    for reversed_id, recorded_at in session.execute(reversals):
        if reversed_id is not None:
            told[reversed_id].taken_back_at = recorded_at
    return list(told.values())


def _events_of(told: _Told, zone: ZoneInfo) -> Iterator[Event]:
    if told.row.kind == OperationKind.STOCKTAKE:
        for part, counted in _counted(told.entries):
            yield from _with_frame(told, zone, counted, f"/{part}")
        return
    event = _event(told)
    if event is not None:
        yield from _with_frame(told, zone, event)


def _counted(entries: Sequence[_Line]) -> Iterator[tuple[str, Event]]:
    """A stocktake as up to three events: nothing that is missing became what was found."""
    net: dict[tuple[int, int | None], int] = defaultdict(int)
    for entry in entries:
        net[entry.lot_id, entry.number] += entry.mass_mg
    here = next((entry.place_id for entry in entries if entry.mass_mg > 0), None)
    for part, action, sign in (("missing", "DELETE", -1), ("found", "ADD", 1)):
        lines = [_Line(lot, 0, mg, no) for (lot, no), mg in net.items() if mg * sign > 0]
        if lines:
            yield part, {**_things(lines), **_object(action, "cycle_counting")}
    moved = [e for e in entries if e.mass_mg < 0 and here is not None and e.place_id != here]
    if moved and here is not None:
        at = {"bizLocation": {"id": f"{BASE}/place/{here}"}}
        yield "moved", {**_things(moved), **_object("OBSERVE", "storing"), **at}


def _with_frame(told: _Told, zone: ZoneInfo, event: Event, part: str = "") -> Iterator[Event]:
    frame = _frame(told.row, zone)
    full = {**frame, "eventID": f"{frame['eventID']}{part}", **event}
    yield full
    if told.taken_back_at is not None:
        declared = {"declarationTime": told.taken_back_at.isoformat(), "reason": "did_not_occur"}
        yield {**full, "errorDeclaration": declared}


def _frame(row: Operation, zone: ZoneInfo) -> Event:
    happened = _happened(row.done_on, row.recorded_at, zone)
    offset = happened.strftime("%z")
    return {
        "eventID": f"{BASE}/operation/{row.id}",
        "eventTime": happened.isoformat(),
        "eventTimeZoneOffset": f"{offset[:3]}:{offset[3:]}",
        "recordTime": row.recorded_at.isoformat(),
        "stillroom:operation": row.kind,
    }


def _happened(on: date, recorded_at: datetime, zone: ZoneInfo) -> datetime:
    """The instant it was written down, or noon of an earlier day it was written down for."""
    local = recorded_at.astimezone(zone)
    return local if local.date() == on else datetime.combine(on, time(12), zone)


def _event(told: _Told) -> Event | None:
    kind = OperationKind(told.row.kind)
    taken = [entry for entry in told.entries if entry.mass_mg < 0]
    made = [entry for entry in told.entries if entry.mass_mg > 0]
    if kind is OperationKind.CORRECT:
        return None  # stands as the error declaration of what it takes back
    if kind is OperationKind.HOLD:
        return _about(told.held, "holding", disposition="non_sellable_other")
    if kind is OperationKind.RELEASE:
        return _about(told.held, "releasing", disposition="active")
    if kind in _LEAVING:
        return {**_things(taken), **_object("DELETE", _LEAVING[kind])}
    if kind is OperationKind.INTAKE:
        return {**_things(made), **_object("ADD", "commissioning"), **_at(made)}
    if {e.lot_id for e in taken} == {e.lot_id for e in made} and made:
        step = {OperationKind.MOVE: "storing", OperationKind.OPEN: "unpacking"}
        return {**_things(made), **_object("OBSERVE", step.get(kind, "storing")), **_at(made)}
    if taken and made:
        return _transformation(kind, taken, made)
    return None


def _object(action: str, step: str) -> Event:
    return {"type": "ObjectEvent", "action": action, "bizStep": step}


def _about(lot_ids: Sequence[int], step: str, *, disposition: str) -> Event | None:
    if not lot_ids:
        return None
    classes = [{"epcClass": _lot(lot_id)} for lot_id in dict.fromkeys(lot_ids)]
    return {**_object("OBSERVE", step), "quantityList": classes, "disposition": disposition}


def _transformation(kind: OperationKind, taken: Sequence[_Line], made: Sequence[_Line]) -> Event:
    inputs, outputs = _things(taken), _things(made)
    event: Event = {"type": "TransformationEvent"}
    for words, things in (("input", inputs), ("output", outputs)):
        if "epcList" in things:
            event[f"{words}EPCList"] = things["epcList"]
        if "quantityList" in things:
            event[f"{words}QuantityList"] = things["quantityList"]
    return {
        **event,
        "bizStep": "packing" if kind is OperationKind.PACK else "creating_class_instance",
        **_at(made),
    }


def _things(entries: Sequence[_Line]) -> Event:
    """Packages one by one, and what lies loose as a quantity; every gram stands in the latter."""
    packages = [_package(e.lot_id, e.number) for e in entries if e.number is not None]
    masses: dict[int, int] = {}
    for entry in entries:
        masses[entry.lot_id] = masses.get(entry.lot_id, 0) + abs(entry.mass_mg)
    quantities = [
        {"epcClass": _lot(lot_id), "quantity": to_kg(mass_mg), "uom": "KGM"}
        for lot_id, mass_mg in masses.items()
    ]
    listed = {"epcList": packages} if packages else {}
    return {**listed, "quantityList": quantities}


def _at(entries: Sequence[_Line]) -> Event:
    places = {entry.place_id for entry in entries}
    if len(places) != 1:
        return {}
    return {"bizLocation": {"id": f"{BASE}/place/{places.pop()}"}}


def _lot(lot_id: int) -> str:
    return f"{BASE}/lot/{code_of(lot_id)}"


def _package(lot_id: int, number: int) -> str:
    return f"{BASE}/package/{code_of(lot_id)}-{number}"
