"""Traceability events: valid by the published schema, and every gram of the ledger in them."""

import json
from collections import Counter
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
from jsonschema import Draft7Validator
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from app.ledger.archive.epcis import BASE, events, write_events
from app.ledger.book import Book
from app.ledger.codes import code_of
from app.ledger.models import Entry, Operation, Stock
from app.ledger.words import OperationKind
from seed_demo.__main__ import main

SCHEMA = Path(__file__).parents[1] / "files" / "epcis" / "EPCIS-JSON-Schema.json"
NOW = datetime(2026, 11, 25, 18, tzinfo=UTC)


@pytest.fixture(scope="module")
def session(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Session]:
    """The demo household: every kind of operation, packages, corrections."""
    path = tmp_path_factory.mktemp("demo") / "stillroom.db"
    main([str(path), "--today", "2026-11-25"])
    book = Book(path)
    with book.reading() as opened:
        yield opened
    book.close()


@pytest.fixture(scope="module")
def document(session: Session, tmp_path_factory: pytest.TempPathFactory) -> dict:
    target = tmp_path_factory.mktemp("events") / "events.json"
    count = write_events(session, target, at=NOW)
    found = json.loads(target.read_text("utf-8"))
    assert len(found["epcisBody"]["eventList"]) == count
    return found


@pytest.fixture(scope="module")
def validator() -> Draft7Validator:
    return Draft7Validator(json.loads(SCHEMA.read_text("utf-8")))


def test_the_document_is_valid_by_the_schema_that_gs1_publishes(
    document: dict, validator: Draft7Validator
) -> None:
    assert [error.message for error in validator.iter_errors(document)][:5] == []


@pytest.mark.parametrize("missing", ["eventTimeZoneOffset", "eventTime", "type"])
def test_an_event_without_what_the_schema_asks_is_seen(
    document: dict, validator: Draft7Validator, missing: str
) -> None:
    event = dict(document["epcisBody"]["eventList"][0])
    del event[missing]
    broken = {**document, "epcisBody": {"eventList": [event]}}
    assert list(validator.iter_errors(broken))


def test_own_terms_carry_their_prefix(document: dict) -> None:
    """The validator checks no such thing, so this does."""
    standard = {
        "type", "action", "bizStep", "disposition", "bizLocation", "epcList", "quantityList",
        "inputEPCList", "inputQuantityList", "outputEPCList", "outputQuantityList", "eventID",
        "eventTime", "eventTimeZoneOffset", "recordTime", "errorDeclaration",
    }  # fmt: skip
    names = {name for event in document["epcisBody"]["eventList"] for name in event}
    assert {name for name in names - standard if not name.startswith("stillroom:")} == set()


def test_what_is_on_hand_follows_from_the_events_alone(document: dict, session: Session) -> None:
    """An independent reader adds up kilograms and finds the stock, lot by lot."""
    on_hand: Counter[str] = Counter()
    errors = {e["eventID"] for e in document["epcisBody"]["eventList"] if "errorDeclaration" in e}
    for event in document["epcisBody"]["eventList"]:
        if event["eventID"] in errors:
            continue
        for thing in event.get("inputQuantityList", []):
            on_hand[thing["epcClass"]] -= round(thing["quantity"] * 1e6)
        for thing in event.get("outputQuantityList", []):
            on_hand[thing["epcClass"]] += round(thing["quantity"] * 1e6)
        sign = {"ADD": 1, "DELETE": -1}.get(event.get("action", ""), 0)
        for thing in event.get("quantityList", []) if sign else []:
            on_hand[thing["epcClass"]] += sign * round(thing["quantity"] * 1e6)
    rows = session.execute(
        select(Stock.lot_id, func.sum(Stock.mass_mg)).group_by(Stock.lot_id)
    ).all()
    expected = {f"{BASE}/lot/{code_of(lot_id)}": mass_mg for lot_id, mass_mg in rows}
    assert {name: mass_mg for name, mass_mg in on_hand.items() if mass_mg} == expected


def test_every_operation_that_moved_mass_is_an_event(session: Session) -> None:
    begin = f"{BASE}/operation/"  # a stocktake that missed and found is told in parts
    told = {event["eventID"].removeprefix(begin).partition("/")[0] for event in events(session)}
    moved = session.scalars(
        select(Operation.id)
        .join(Entry, Entry.operation_id == Operation.id)
        .where(Operation.kind != OperationKind.CORRECT)
        .distinct()
    ).all()
    assert {str(number) for number in moved} <= told
