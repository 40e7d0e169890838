"""Finding lots, packages, places and sources by anything that is known of them."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property
from typing import NamedTuple

from sqlalchemy import ColumnElement, Select, SQLColumnExpression, and_, exists, or_, select
from sqlalchemy.orm import Session

from app.ledger.codes import likely_lot_ids, lot_id_of
from app.ledger.errors import NotFound
from app.ledger.models import Flow, Lot, Operation, Package, Person, Place, Source, Stock
from app.ledger.queries.places import PlaceLine, place_lines
from app.ledger.queries.stock import StockLine, stock_lines
from app.ledger.spelling import folded, nearest
from app.ledger.stock import is_kept
from app.ledger.words import SourceKind

MOST_GONE = 30  # lots of which nothing is left: the newest of them
MOST_MEANT = 5  # lots proposed for a code that is none
_WORD = re.compile(r"\w+")


@dataclass(frozen=True, slots=True)
class Term:
    """One word that was asked for: what is looked for instead, and whether that is a guess."""

    typed: str
    either: tuple[str, ...]  # what holds any of these holds the word
    is_guess: bool = False


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is looked for; everything that is told must hold."""

    terms: tuple[Term, ...] = ()
    days: tuple[date, date] | None = None  # first and last: harvested, made or packed then
    number: int | None = None  # of a package
    of_count: int | None = None
    lot_id: int | None = None

    @property
    def is_empty(self) -> bool:
        """Is nothing asked for?"""
        return self == Wanted()


class LotFound(NamedTuple):
    """A lot in short: of which something is on hand, or nothing any more."""

    id: int
    name: str
    made_on: date
    is_on_hand: bool


class SourceFound(NamedTuple):
    """A source that food was taken in from."""

    id: int
    kind: SourceKind
    name: str
    tag: str
    from_whom: str


def find_lots(session: Session, text: str) -> list[StockLine]:
    """Lines on hand of which every word is known: name, tag, giver, place; all of them for "".

    Args:
        text: as typed; a whole code finds exactly its lot.
    """
    wanted = text.split()
    if not wanted:
        return stock_lines(session)
    try:
        return stock_lines(session, lot_id=lot_id_of(text))
    except NotFound:
        terms = tuple(Term(word, (word,)) for word in wanted)
    return lines_found(session, Wanted(terms))


def lines_found(session: Session, wanted: Wanted) -> list[StockLine]:
    """What is on hand of the lots that are wanted, and of what was made of food of a source.

    Returns:
        Lines, the window that ends first before the others; what has none comes last.
    """
    if wanted.lot_id is not None:
        lines = stock_lines(session, lot_id=wanted.lot_id)
    else:
        ids = set(session.scalars(_lots(wanted, with_descent=True)))
        lines = [line for line in stock_lines(session) if line.lot_id in ids]
    return sorted(lines, key=_ends)


def packages_found(session: Session, wanted: Wanted) -> list[StockLine]:
    """The single packages on hand that have the number that is wanted; none without a number."""
    if wanted.number is None:
        return []
    lines = stock_lines(session, lot_id=wanted.lot_id, one_by_one=True)
    ids = None if wanted.lot_id is not None else set(session.scalars(_lots(wanted)))
    return [
        line
        for line in lines
        if line.package_number == wanted.number
        and wanted.of_count in (None, line.of_count)
        and (ids is None or line.lot_id in ids)
    ]


def lots_in_short(session: Session, wanted: Wanted, most: int) -> list[LotFound]:
    """The wanted lots without their windows: those on hand first, then the newest."""
    found = _in_short(session, wanted, most, is_on_hand=True)
    return found + lots_gone(session, wanted, most - len(found))


def lots_gone(session: Session, wanted: Wanted, most: int) -> list[LotFound]:
    """The wanted lots of which nothing is left, the newest first."""
    return _in_short(session, wanted, most, is_on_hand=False) if most else []


def _in_short(session: Session, wanted: Wanted, most: int, *, is_on_hand: bool) -> list[LotFound]:
    kept = Lot.id.in_(select(Stock.lot_id))
    query = (
        select(Lot.id, Lot.name, Operation.done_on)
        .join(Operation, Operation.id == Lot.operation_id)
        .where(kept if is_on_hand else ~kept, *_conditions(wanted), is_kept(Lot.operation_id))
        .order_by(Lot.id.desc())
        .limit(most)
    )
    return [LotFound(*row, is_on_hand) for row in session.execute(query)]


def meant_by(session: Session, code: str) -> list[LotFound]:
    """The lots that may have been meant by a code that is none, the likeliest first."""
    return lots_of(session, likely_lot_ids(code))[:MOST_MEANT]


def lots_of(session: Session, ids: Sequence[int]) -> list[LotFound]:
    """The lots with these numbers that there are, in the order of the numbers told."""
    kept = exists().where(Stock.lot_id == Lot.id)
    query = (
        select(Lot.id, Lot.name, Operation.done_on, kept)
        .join(Operation, Operation.id == Lot.operation_id)
        .where(Lot.id.in_(ids), is_kept(Lot.operation_id))
    )
    found = {row[0]: LotFound(*row[:3], bool(row[3])) for row in session.execute(query)}
    return [found[lot_id] for lot_id in ids if lot_id in found]


def places_found(session: Session, wanted: Wanted) -> list[PlaceLine]:
    """Places whose name holds any of the words, with what lies there."""
    if not wanted.terms:
        return []
    terms = [_holds(term, Place.name) for term in wanted.terms]
    ids = set(session.scalars(select(Place.id).where(or_(*terms))))
    return [line for line in place_lines(session) if line.place.id in ids] if ids else []


def sources_found(session: Session, wanted: Wanted, most: int) -> list[SourceFound]:
    """Sources that hold all of the words, the newest first; alike ones once."""
    if not wanted.terms:
        return []
    query = (
        select(Source.id, Source.kind, Source.name, Source.tag, Source.from_whom)
        .join(Lot, Lot.source_id == Source.id)
        .where(
            *(_holds(term, Source.name, Source.tag, Source.from_whom) for term in wanted.terms),
            is_kept(Lot.operation_id),
        )
        .order_by(Source.id.desc())
    )
    found: dict[tuple[str, ...], SourceFound] = {}
    for number, kind, *told in session.execute(query):
        key = (kind, told[1].lower()) if told[1] else (kind, *(word.lower() for word in told))
        found.setdefault(key, SourceFound(number, SourceKind(kind), *told))
    return list(found.values())[:most]


def terms_of(session: Session, words: Sequence[str]) -> tuple[Term, ...]:
    """The words as they may stand in the ledger; what stands nowhere, as what is nearest to it."""
    if not words:
        return ()
    names = _names(session)
    everything = "\n".join(folded(name) for name in names)
    known = _Known(names)
    terms: list[Term] = []
    left = list(words)
    while left:
        both = "".join(left[:2])
        if len(left) > 1 and not any(folded(word) in everything for word in left[:2]):
            term = _term(both, known, everything)
            if term.is_guess or folded(both) in everything:
                terms.append(replace(term, typed=" ".join(left[:2])))
                left = left[2:]
                continue
        terms.append(_term(left.pop(0), known, everything))
    return tuple(terms)


class _Known:
    """The words in names, gathered when the first is asked for: most searches need none."""

    def __init__(self, names: Sequence[str]) -> None:
        self._names = names

    @cached_property
    def words(self) -> list[str]:
        """Each word once, as it is written."""
        return list(dict.fromkeys(word for name in self._names for word in _WORD.findall(name)))

    @cached_property
    def marked(self) -> list[str]:
        """Those with other letters than English ones, of which databases know no other case."""
        if all(name.isascii() for name in self._names):
            return []
        return [word for word in self.words if not word.isascii()]


def is_called(session: Session, word: str) -> bool:
    """Does any name in the ledger hold the word?"""
    return any(folded(word) in folded(name) for name in _names(session))


def _term(word: str, known: _Known, everything: str) -> Term:
    wanted = folded(word)
    if wanted in everything:
        marked = [other for other in known.marked if wanted in folded(other)]
        return Term(word, (word, *marked))
    meant = _shortest(nearest(word, known.words))
    return Term(word, tuple(meant), is_guess=True) if meant else Term(word, (word,))


def _shortest(words: Sequence[str]) -> list[str]:
    """Without the words that hold another of them: what holds "Apples" holds "Apple"."""
    return [
        word
        for word in words
        if not any(folded(other) in folded(word) for other in words if other != word)
    ]


def _names(session: Session) -> list[str]:
    """All that things are called in this ledger, each once."""
    columns = (Lot.name, Source.name, Source.tag, Source.from_whom, Place.name, Person.name)
    found = (session.scalars(select(column).distinct()) for column in columns)
    return sorted({name for names in found for name in names if name})


def _lots(wanted: Wanted, *, with_descent: bool = False) -> Select[int]:
    """The numbers of the lots."""
    return select(Lot.id).where(*_conditions(wanted, with_descent=with_descent))


def _conditions(wanted: Wanted, *, with_descent: bool = False) -> list[ColumnElement[bool]]:
    """What must hold of a lot; with_descent: food of a source counts also in what it became."""
    asked = [_of(term, with_descent) for term in wanted.terms]
    if wanted.days is not None:
        asked.append(_at(*wanted.days))
    if wanted.lot_id is not None:
        asked.append(Lot.id == wanted.lot_id)
    return asked


def _of(term: Term, with_descent: bool) -> ColumnElement[bool]:
    sources = select(Source.id).where(_holds(term, Source.name, Source.tag, Source.from_whom))
    places = select(Place.id).where(_holds(term, Place.name))
    lies = select(Stock.lot_id).where(Stock.place_id.in_(places))
    people = select(Person.id).where(_holds(term, Person.name))
    written = select(Operation.id).where(Operation.person_id.in_(people))
    ways = [_holds(term, Lot.name), Lot.id.in_(lies), Lot.operation_id.in_(written)]
    if with_descent:
        ways.append(Lot.id.in_(_made_of(sources)))
    else:
        ways.append(Lot.source_id.in_(sources))
    return or_(*ways)


def _made_of(sources: Select[int]) -> Select[int]:
    """Lots of these sources, and all that was made of them."""
    lots = select(Lot.id.label("lot")).where(Lot.source_id.in_(sources)).cte(recursive=True)
    step = (
        select(Flow.result_id)
        .join(lots, Flow.source_id == lots.c.lot)
        .where(is_kept(Flow.operation_id))
    )
    return select(lots.union(step).c.lot)  # UNION, not ALL: diamonds would multiply


def _at(first: date, last: date) -> ColumnElement[bool]:
    """Harvested, made or packed within these days."""
    made = select(Operation.id).where(Operation.done_on.between(first, last))
    packed = select(Package.lot_id).where(Package.packed_on.between(first, last))
    harvested = and_(Lot.harvest_from <= last, Lot.harvest_to >= first)
    return or_(Lot.operation_id.in_(made), Lot.id.in_(packed), harvested)


def _holds(term: Term, *columns: SQLColumnExpression[str]) -> ColumnElement[bool]:
    """Does any of the columns hold the word?"""
    return or_(
        *(column.ilike(_pattern(word), escape="\\") for column in columns for word in term.either)
    )


def _pattern(text: str) -> str:
    return "%" + text.replace("\\", "\\\\").replace("%", "\\%").replace("_", "\\_") + "%"


def _ends(line: StockLine) -> tuple[bool, date, int]:
    window = line.window
    return (window is None, window.central if window else line.made_on, line.lot_id)
