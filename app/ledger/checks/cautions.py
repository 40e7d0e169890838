"""Checks of climates, of what went wrong, and of packages that count as opened."""

from collections import defaultdict
from datetime import date

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from app.ledger.checks.finding import Finding, lot_words, stock_words
from app.ledger.models import Climate, Entry, Incident, IncidentLot, Operation, Stock
from app.ledger.stock import openings_of, ref_of, stands
from app.ledger.words import IncidentFate, OperationKind

_YEAR = list(range(1, 13))
_DATED = (IncidentFate.OPENED, IncidentFate.WORN)


def climates_are_whole(session: Session) -> list[Finding]:
    """What was said of a place from an instant on is one row, or one for each month."""
    months: dict[tuple[int, int, str], list[int | None]] = defaultdict(list)
    rows = select(Climate.operation_id, Climate.place_id, Climate.since, Climate.month)
    for operation_id, place_id, since, month in session.execute(rows):
        months[operation_id, place_id, since.isoformat()].append(month)
    return [
        Finding(
            "climates_are_whole",
            f"place {place_id}",
            "operation {operation_id} says neither one climate nor twelve from {since} on",
            {"operation_id": operation_id, "since": since},
        )
        for (operation_id, place_id, since), found in sorted(months.items())
        if found != [None] and sorted(month or 0 for month in found) != _YEAR
    ]


def incidents_are_whole(session: Session) -> list[Finding]:
    """Every incident says what became of some food, and what is opened or worn has its day."""
    name = "incidents_are_whole"
    incidents = {incident.operation_id: incident for incident in session.scalars(select(Incident))}
    lines = list(session.scalars(select(IncidentLot).order_by(IncidentLot.id)))
    told = {line.operation_id for line in lines}
    findings = [
        Finding(name, f"operation {number}", "went wrong with no food named")
        for number in sorted(incidents.keys() - told)
    ]
    findings += [
        Finding(name, f"operation {number}", "says what became of food without an incident")
        for number in sorted(told - incidents.keys())
    ]
    words = "{fate} by operation {operation_id} from no known day on"
    findings += [
        Finding(
            name,
            lot_words(line.lot_id),
            words,
            {"fate": line.fate, "operation_id": line.operation_id},
        )
        for line in lines
        if line.fate in _DATED and line.since is None
    ]
    return findings + _companions(session, list(incidents.values()))


def _companions(session: Session, incidents: list[Incident]) -> list[Finding]:
    """What an incident did at once was done before it, and is what it says."""
    kinds = dict(session.execute(select(Operation.id, Operation.kind)).all())
    return [
        Finding(
            "incidents_are_whole",
            f"operation {incident.operation_id}",
            "names operation {number}, which is no {kind} before it",
            {"number": number, "kind": kind},
        )
        for incident in incidents
        for number, kind in (
            (incident.discard_id, OperationKind.DISCARD),
            (incident.held_id, OperationKind.HOLD),
        )
        if number is not None and not (kinds.get(number) == kind and number < incident.operation_id)
    ]


def opened_days_are_the_earliest(session: Session) -> list[Finding]:
    """What is on hand counts as opened from the day it was opened or its seal failed.

    A part that was taken opens a package as well. A ledger that a version wrote which did not know
    that is sound all the same; working its windows out anew brings the days up to date.
    """
    rows = session.scalars(select(Stock).order_by(Stock.id)).all()
    openings, said = (
        openings_of(session, [row.package_id for row in rows]),
        _said_to_be_open(session),
    )
    findings = []
    for row in rows:
        opened = openings.get(row.package_id or 0)
        if row.opened_on not in (opened, said.get(row.package_id or 0)):
            words = "opened {kept}, though by the operations {opened}"
            numbers = {"kept": row.opened_on or "never", "opened": opened or "never"}
            name = "opened_days_are_the_earliest"
            findings.append(Finding(name, stock_words(ref_of(row)), words, numbers))
    return findings


def _said_to_be_open(session: Session) -> dict[int, date]:
    """The packages that somebody said were opened, or whose seal failed, and since when."""
    opened = (
        select(Entry.package_id, func.min(Operation.done_on))
        .join(Operation, Operation.id == Entry.operation_id)
        .where(Operation.kind == OperationKind.OPEN, stands(Operation.id))
        .group_by(Entry.package_id)
    )
    failed = (
        select(IncidentLot.package_id, func.min(IncidentLot.since))
        .where(IncidentLot.fate == IncidentFate.OPENED, stands(IncidentLot.operation_id))
        .group_by(IncidentLot.package_id)
    )
    found: dict[int, date] = {}
    for query in (opened, failed):
        for package_id, day in session.execute(query).all():
            if package_id is not None and day is not None:
                found[package_id] = min(day, found.get(package_id, day))
    return found
