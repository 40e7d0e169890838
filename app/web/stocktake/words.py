"""How a stocktake speaks: rows, differences, and the note it leaves."""

import hashlib
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from app.language import _
from app.ledger.codes import code_of, spoken
from app.ledger.operations.stocktake import Differences
from app.ledger.stock import StockRef
from app.web.stocktake.answers import ExtraRow, Row


@dataclass(frozen=True, slots=True)
class Difference:
    """One line of what differs."""

    code: str
    words: str
    mass_mg: int
    part: str  # "missing", "less", "extra" or "moved"


Names = Mapping[StockRef, tuple[str, int | None, str, int]]  # name, package number, place, mg


def names_of(rows: Iterable[Row], extras: Iterable[ExtraRow]) -> Names:
    """What each row is called."""
    lines = [row.line for row in rows]
    names = {x.ref: (x.name, x.package_number, x.place, x.mass_mg) for x in lines}
    for extra in extras:
        if extra.line is not None:
            line = extra.line
            names[extra.ref] = (line.name, extra.number, line.place, line.mass_mg)
        elif extra.gone is not None:
            names[extra.ref] = (extra.gone.name, extra.number, "", 0)
    return names


def difference_lines(found: Differences, names: Names) -> list[Difference]:
    """What is missing, extra and moved, each with its mass."""
    parts = (("missing", found.missing), ("extra", found.extra), ("moved", found.moved))
    return [_line(part, ref, mass_mg, names) for part, changes in parts for ref, mass_mg in changes]


def _line(part: str, ref: StockRef, mass_mg: int, names: Names) -> Difference:
    name, number, place, on_hand_mg = names[ref]
    part = "less" if part == "missing" and mass_mg < on_hand_mg else part
    words = _("{name}, no. {number}", name=name, number=number) if number else name
    words = (
        _("{words}: by the ledger in {place}", words=words, place=place)
        if part == "moved"
        else words
    )
    return Difference(code_of(ref.lot_id), words, mass_mg, part)


def seal_of(found: Differences) -> str:
    """A mark of exactly these differences: what was shown is what will be written."""
    return hashlib.blake2b(repr(found).encode(), digest_size=12).hexdigest()


def note_of(place: str, found: Differences, names: Names, unlooked: int) -> str:
    """What the ledger keeps in words, because what agreed moves no mass: which rows they were."""
    looked = len(found.agreed) + len(found.missing)
    looked += sum(1 for ref, _ in found.extra if names[ref][2] == place)
    words = _(
        "{place}: {looked} rows looked at, {agreed} agreed.",
        place=place,
        looked=looked,
        agreed=len(found.agreed),
    )
    if unlooked:
        words += _(" {unlooked} not looked at.", unlooked=unlooked)
    return (
        _("{words}\nAgreed: {agreed}.", words=words, agreed=_agreed(found, names))
        if found.agreed
        else words
    )


def _agreed(found: Differences, names: Names) -> str:
    by_lot: dict[int, list[int]] = defaultdict(list)
    for ref in found.agreed:
        number = names[ref][1]
        by_lot[ref.lot_id] += [number] if number else []
    return "; ".join(
        spoken(code_of(lot))
        + (_(" no. {numbers}", numbers=_spans(sorted(numbers))) if numbers else "")
        for lot, numbers in by_lot.items()
    )


def _spans(numbers: list[int]) -> str:
    """Numbers in a row as a span: 1–4, 7.

    Example:
        >>> _spans([1, 2, 3, 7])
        '1–3, 7'
    """
    spans: list[list[int]] = []
    for number in numbers:
        if spans and number == spans[-1][-1] + 1:
            spans[-1].append(number)
        else:
            spans.append([number])
    return ", ".join(f"{s[0]}–{s[-1]}" if len(s) > 1 else f"{s[0]}" for s in spans)
