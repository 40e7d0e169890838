"""What was answered at each row of a stocktake: there, not there, or weighed now."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from app.language import N_
from app.ledger.errors import NotFound
from app.ledger.operations.stocktake import Counted, FoundHere
from app.ledger.queries.stock import StockLine
from app.ledger.queries.stocktake import Elsewhere, Gone
from app.ledger.stock import StockRef
from app.units import UnitProblem, parse_mass
from app.web import scope
from app.web.messages import unit_sentence

Seen = Mapping[StockRef, int]  # mg that the ledger had of each row when the page was made


class Answer(StrEnum):
    """What somebody says of a row; without an answer it was not looked at."""

    THERE = "there"
    GONE = "gone"
    WEIGHED = "weighed"


@dataclass(frozen=True, slots=True)
class Row:
    """One row of the place, with its answer as typed."""

    line: StockLine
    answer: Answer | None
    typed: str
    error: str
    found_mg: int | None  # None: not looked at, or not readable

    @property
    def may_be_weighed(self) -> bool:
        """Is it loose or opened? A sealed package is there whole or not at all."""
        return self.line.package_count == 0 or self.line.opened_on is not None


@dataclass(frozen=True, slots=True)
class ExtraRow:
    """Food that the ledger has elsewhere or not at all, and whether it was found here."""

    line: StockLine | None
    gone: Gone | None
    is_here: bool
    typed: str
    error: str
    found_mg: int | None

    @property
    def ref(self) -> StockRef:
        """Where the ledger has it, or where it would lie."""
        return self.line.ref if self.line else self._gone.ref

    @property
    def number(self) -> int | None:
        """The number of the package, if it is one."""
        return self.line.package_number if self.line else self._gone.number

    @property
    def may_be_weighed(self) -> bool:
        """Is there more to say than that it is here?"""
        return self.number is None

    @property
    def _gone(self) -> Gone:
        if self.gone is None:
            raise ValueError(N_("an extra row is elsewhere or gone"))
        return self.gone


def rows_of(lines: Iterable[StockLine], sent: Mapping[str, str], seen: Seen) -> list[Row]:
    """Each row with its answer; one that the ledger changed meanwhile is to be looked at again."""
    return [_row(line, sent, seen) for line in lines]


def _row(line: StockLine, sent: Mapping[str, str], seen: Seen) -> Row:
    typed = sent.get(f"mass-{line.ref}", "")
    if seen.get(line.ref) != line.mass_mg:
        return Row(line, None, typed, "", None)
    answer = _answer(sent.get(f"row-{line.ref}", ""))
    if answer is None and typed.strip():
        answer = Answer.WEIGHED  # who types a mass has weighed
    if answer is not Answer.WEIGHED:
        found_mg = {Answer.THERE: line.mass_mg, Answer.GONE: 0}.get(answer) if answer else None
        return Row(line, answer, typed, "", found_mg)
    found_mg, error = _weighed(typed)
    return Row(line, answer, typed, error, found_mg)


def _answer(text: str) -> Answer | None:
    return Answer(text) if text in set(Answer) else None


def _weighed(typed: str) -> tuple[int | None, str]:
    try:
        return parse_mass(typed, "g" if scope.units() == "metric" else "oz").mass_mg, ""
    except UnitProblem as problem:
        return None, unit_sentence(problem)


def extras_of(found: Iterable[Elsewhere], sent: Mapping[str, str]) -> list[ExtraRow]:
    """Every row that was looked up, ticked or not."""
    rows: list[ExtraRow] = []
    for lot in found:
        rows += [_extra(line, None, sent) for line in lot.lines]
        rows += [_extra(None, gone, sent) for gone in lot.gone]
    return rows


def _extra(line: StockLine | None, gone: Gone | None, sent: Mapping[str, str]) -> ExtraRow:
    row = ExtraRow(line, gone, False, "", "", None)
    typed = sent.get(f"mass-{row.ref}", "")
    if f"here-{row.ref}" not in sent:
        return ExtraRow(line, gone, False, typed, "", None)
    if gone is not None and gone.net_mg is not None:
        return ExtraRow(line, gone, True, typed, "", gone.net_mg)
    if line is not None and not (row.may_be_weighed and typed.strip()):
        return ExtraRow(line, gone, True, typed, "", line.mass_mg)
    found_mg, error = _weighed(typed)
    return ExtraRow(line, gone, True, typed, error, found_mg)


def counted_of(
    rows: Sequence[Row], extras: Sequence[ExtraRow], seen: Seen, sent: Mapping[str, str], rest: bool
) -> tuple[Counted, ...]:
    """What was counted, with rows that were answered though they are here no longer.

    Args:
        rest: everything that was shown and is left unanswered is there.
    """
    counted = []
    lines = {row.line.ref: row for row in rows}
    for ref, seen_mg in seen.items():
        row = lines.get(ref)
        changed = row is None or row.line.mass_mg != seen_mg
        if changed and (rest or f"row-{ref}" in sent or sent.get(f"mass-{ref}", "").strip()):
            counted.append(Counted(ref, seen_mg, seen_mg))  # refused: it is not as it was seen
        elif row is not None and not changed and row.found_mg is not None:
            counted.append(Counted(ref, row.found_mg, seen_mg))
        elif row is not None and not changed and rest and row.answer is None:
            counted.append(Counted(ref, seen_mg, seen_mg))
    found = [row for row in extras if row.gone is not None and row.found_mg is not None]
    return (*counted, *(Counted(row.ref, row.found_mg or 0, 0) for row in found))


def found_here_of(extras: Sequence[ExtraRow]) -> tuple[FoundHere, ...]:
    """What by the ledger lies elsewhere and was found here."""
    return tuple(
        FoundHere(row.ref, row.found_mg)
        for row in extras
        if row.line is not None and row.found_mg is not None
    )


def written(seen: Seen) -> str:
    """What the ledger had of each row, for the form to carry."""
    return " ".join(f"{ref}:{mass_mg}" for ref, mass_mg in seen.items())


def read(text: str) -> dict[StockRef, int]:
    """What `written` wrote; anything else is passed over."""
    seen = {}
    for part in text.split():
        ref, _, mass_mg = part.partition(":")
        if not mass_mg.isdecimal() or len(mass_mg) > 18:
            continue
        try:
            seen[StockRef.parse(ref)] = int(mass_mg)
        except NotFound:
            continue
    return seen
