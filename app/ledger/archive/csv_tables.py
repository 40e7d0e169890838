"""The ledger as tidy tables for a spreadsheet: one CSV file for each kind of row.

UTF-8, commas, quoted where needed, CRLF line ends (RFC 4180). Units stand in the headers, dates
are ISO 8601, masses are exact. A text that begins with = + - @, a tab or a carriage return gets an
apostrophe before it, so that no spreadsheet takes somebody's note for a formula (OWASP, CSV
Injection); take it away when reading the tables by program.
"""

import csv
from collections.abc import Iterator
from datetime import UTC, date, datetime
from decimal import Decimal
from pathlib import Path
from typing import Any

from sqlalchemy import ColumnElement, Select, func, select
from sqlalchemy.orm import Session

from app.ledger.archive.rows import Progress
from app.ledger.archive.run_sheets import run_sheets
from app.ledger.archive.sheet import Sheet
from app.ledger.archive.watch_sheets import watch_sheets
from app.ledger.codes import code_of, spoken
from app.ledger.models import (
    Absorber,
    Addition,
    Checkpoint,
    Entry,
    Estimate,
    Flow,
    Loss,
    Lot,
    LotAllergen,
    LotMark,
    LotTreatment,
    Operation,
    Package,
    Packaging,
    Person,
    Place,
    Reading,
    Source,
    Stock,
    Weighing,
)
from app.ledger.words import Presence

FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")


LEFT_OUT = {
    "absorber": "named with each package",
    "balance": "the sums of entries, additions and losses",
    "bowl": "a tool: its name and tare stand with each weighing",
    "device": "which devices are paired; nothing of the food",
    "household": "settings, and the secret end of the calendar's address",
    "label_print": "which labels were printed; nothing of the food",
    "pairing_code": "a code that lasts ten minutes",
    "posting_key": "keys of forms, so that a second sending writes nothing",
}


def export(session: Session, folder: Path, progress: Progress | None = None) -> list[Path]:
    """Write every table into a folder, with a README.txt that says what each holds.

    Args:
        session: an open reading transaction, so that all tables are of one moment.
        folder: new or empty. progress: is told each file and its number of rows.
    Returns:
        The files written.
    Raises:
        FileExistsError: there is something in the folder; nothing is written.
    """
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise FileExistsError(folder)
    folder.mkdir(parents=True, exist_ok=True)
    sheets = _sheets()
    readme = folder / "README.txt"
    lines = [f"{sheet.name}.csv: {sheet.words}" for sheet in sheets]
    lines += ["", *(f"{table} is left out: {why}" for table, why in LEFT_OUT.items())]
    readme.write_text("\n".join([*lines, "", (__doc__ or "").strip(), ""]), encoding="utf-8")
    return [readme, *(_write(session, sheet, folder, progress) for sheet in sheets)]


def _write(session: Session, sheet: Sheet, folder: Path, progress: Progress | None) -> Path:
    path = folder / f"{sheet.name}.csv"
    result = session.execute(sheet.query)
    labels = list(result.keys())
    count = 0
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(labels)
        for count, row in enumerate(result, start=1):  # noqa: B007 (told below)
            writer.writerow(_cells(labels, row))
    if progress is not None:
        progress(path.name, count)
    return path


def _cells(labels: list[str], row: Any) -> Iterator[str]:
    for label, value in zip(labels, row, strict=True):
        yield cell(label, value)


def cell(label: str, value: object) -> str:
    """One value as it stands in the file.

    Example:
        >>> cell("mass_g", -1500), cell("note", "=1+1"), cell("is_raw", True)
        ('-1.500', "'=1+1", 'true')
    """
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int):
        if label.endswith("_g"):
            return str(Decimal(value).scaleb(-3))
        return spoken(code_of(value)) if label.endswith("_code") else str(value)
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat().replace("+00:00", "Z")
    if isinstance(value, date):
        return value.isoformat()
    words = str(value)
    guarded = isinstance(value, str) and words.startswith(FORMULA_STARTS)
    return f"'{words}" if guarded else words


def _sheets() -> tuple[Sheet, ...]:
    return (*_food_sheets(), *_work_sheets(), *run_sheets(), *watch_sheets())


def _food_sheets() -> tuple[Sheet, ...]:
    return (
        Sheet("lots", "every lot, as it was made", _lots()),
        Sheet(
            "sources",
            "where intakes came from; source_id of lots",
            select(
                Source.id.label("source_id"),
                Source.kind,
                Source.name,
                Source.tag,
                Source.from_whom,
                Source.taken_with_lead,
            ).order_by(Source.id),
        ),
        Sheet("packages", "every sealed unit, as it was packed", _packages()),
        Sheet("stock", "what is on hand, with its window", _stock()),
        Sheet(
            "places",
            "where food is kept, as it was told first; climates say what is so since",
            select(
                Place.id.label("place_id"),
                Place.name,
                Place.kind,
                Place.temp_low_c,
                Place.temp_c,
                Place.temp_high_c,
                Place.relative_humidity,
                Place.tray_count,
                Place.tray_area_m2,
                Place.capacity_ml,
            ).order_by(Place.id),
        ),
    )


def _lots() -> Select[*tuple[Any, ...]]:
    treatments = _joined(LotTreatment.treatment, LotTreatment.lot_id == Lot.id)
    contains, may_contain = (
        _joined(
            LotAllergen.allergen, LotAllergen.lot_id == Lot.id, LotAllergen.presence == presence
        )
        for presence in (Presence.CONTAINS, Presence.MAY_CONTAIN)
    )
    return (
        select(
            Lot.id.label("lot_code"),
            Lot.name,
            Operation.done_on.label("made_on"),
            Operation.kind.label("made_by"),
            Lot.operation_id,
            Lot.source_id,
            Lot.food_class,
            Lot.form,
            Lot.is_raw,
            treatments.label("treatments"),
            contains.label("contains"),
            may_contain.label("may_contain"),
            _joined(LotMark.mark, LotMark.lot_id == Lot.id).label("marks"),
            Lot.harvest_from,
            Lot.harvest_to,
            Lot.kept_since,
            *(
                getattr(Lot, name).label(f"{name}_fraction")
                for name in ("water", "protein", "fat", "carbohydrate", "fibre", "ash")
            ),
            Lot.composition_basis,
            Lot.water_low.label("water_low_fraction"),
            Lot.water_high.label("water_high_fraction"),
            Lot.water_is_measured,
        )
        .join(Operation, Operation.id == Lot.operation_id)
        .order_by(Lot.id)
    )


def _joined(words: Any, *where: ColumnElement[bool]) -> ColumnElement[str]:
    """The words of a lot in one cell, in the order of the alphabet, so that exports compare."""
    in_order = select(words.label("word")).where(*where).order_by("word").correlate(Lot).subquery()
    together = func.aggregate_strings(in_order.c.word, "; ")
    return select(together).correlate(Lot).scalar_subquery()


def _packages() -> Select[*tuple[Any, ...]]:
    return (
        select(
            Package.id.label("package_id"),
            Package.lot_id.label("lot_code"),
            Package.number,
            Package.of_count,
            Package.net_mg.label("net_g"),
            Packaging.name.label("packaging"),
            Packaging.volume_ml,
            Absorber.name.label("absorber"),
            Absorber.rating_ml.label("absorber_ml"),
            Package.pressure_fraction,
            Package.seal_checked,
            Package.packed_on,
        )
        .join(Packaging, Packaging.id == Package.packaging_id)
        .outerjoin(Absorber, Absorber.id == Package.absorber_id)
        .order_by(Package.id)
    )


def _stock() -> Select[*tuple[Any, ...]]:
    return (
        select(
            Stock.lot_id.label("lot_code"),
            Lot.name,
            Stock.package_id,
            Place.name.label("place"),
            Stock.mass_mg.label("mass_g"),
            Stock.opened_on,
            Estimate.early.label("window_early"),
            Estimate.central.label("window_central"),
            Estimate.late.label("window_late"),
            Estimate.limit_word.label("limit"),
        )
        .join(Lot, Lot.id == Stock.lot_id)
        .join(Place, Place.id == Stock.place_id)
        .outerjoin(Estimate, Estimate.stock_id == Stock.id)
        .order_by(Stock.id)
    )


def _work_sheets() -> tuple[Sheet, ...]:
    return (
        Sheet("operations", "every recorded piece of work, corrections too", _operations()),
        Sheet(
            "entries",
            "what each operation took (below 0) and made (above 0)",
            select(
                Entry.operation_id,
                Entry.lot_id.label("lot_code"),
                Entry.package_id,
                Place.name.label("place"),
                Entry.mass_mg.label("mass_g"),
            )
            .join(Place, Place.id == Entry.place_id)
            .order_by(Entry.operation_id, Entry.id),
        ),
        Sheet("additions", "mass that came in without having been a lot", _lines(Addition)),
        Sheet("losses", "mass that left without becoming a lot", _lines(Loss)),
        Sheet(
            "flows",
            "how much of one lot went into another",
            select(
                Flow.operation_id,
                Flow.source_id.label("source_code"),
                Flow.result_id.label("result_code"),
                Flow.mass_mg.label("mass_g"),
            ).order_by(Flow.operation_id, Flow.result_id, Flow.source_id),
        ),
        Sheet("weighings", "the bowls of each tally, exact and as typed", _weighings()),
        Sheet(
            "readings",
            "temperatures in °C; parts of a make-up as fractions, which override the lot",
            select(
                Reading.operation_id,
                Reading.lot_id.label("lot_code"),
                Reading.kind,
                Reading.hours,
                Reading.value,
                Reading.typed,
                Reading.measured_by,
                Reading.spread,
            ).order_by(Reading.id),
        ),
        Sheet(
            "checkpoints",
            "the safety rules an operation was held against, and what they said",
            select(
                Checkpoint.operation_id,
                Checkpoint.lot_id.label("lot_code"),
                Checkpoint.rule,
                Checkpoint.rule_version,
                Checkpoint.outcome,
                Checkpoint.sentence,
                Checkpoint.reason,
            ).order_by(Checkpoint.id),
        ),
    )


def _operations() -> Select[*tuple[Any, ...]]:
    return (
        select(
            Operation.id.label("operation_id"),
            Operation.kind,
            Operation.method,
            Operation.done_on,
            Operation.recorded_at,
            Person.name.label("person"),
            Operation.reverses_id,
            Operation.note,
        )
        .outerjoin(Person, Person.id == Operation.person_id)
        .order_by(Operation.id)
    )


def _lines(table: type[Addition] | type[Loss]) -> Select[*tuple[Any, ...]]:
    return select(
        table.operation_id, table.kind, table.mass_mg.label("mass_g"), table.words
    ).order_by(table.operation_id, table.id)


def _weighings() -> Select[*tuple[Any, ...]]:
    return select(
        Weighing.operation_id,
        Weighing.ordinal,
        Weighing.bowl,
        Weighing.gross_mg.label("gross_g"),
        Weighing.gross_typed,
        Weighing.tare_mg.label("tare_g"),
        Weighing.tare_typed,
    ).order_by(Weighing.operation_id, Weighing.ordinal)
