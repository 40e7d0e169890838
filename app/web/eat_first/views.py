"""The home page, and what can be done about one line of it."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from flask import redirect, render_template
from flask.typing import ResponseReturnValue

from app.language import _, weekday_words
from app.ledger.climates import warmths_at
from app.ledger.codes import code_of, spoken
from app.ledger.mass import to_mg
from app.ledger.queries import places as places_query
from app.ledger.queries.eat_first import (
    PORTION_KG,
    EatFirst,
    Group,
    eat_first,
    group_of,
)
from app.ledger.queries.stock import StockLine, stock_lines
from app.ledger.queries.ways import ways
from app.ledger.stock import StockRef
from app.ledger.words import OperationKind, PlaceKind
from app.web import paging, scope
from app.web.display import (
    VERBS,
    Action,
    LotRow,
    limit_words,
    lot_row,
    mass,
    place_words,
    state_words,
    step_href,
    window_view,
)
from app.web.due.views import lines_for_home, new_key
from app.web.eat_first import narrow
from app.web.eat_first.ways import first_lines, way_line
from app.web.eat_first.why import HEADINGS, NOTES, SHORT, Why, where_words, why

UNTOLD = "untold"  # the group of lots whose allergens nobody wrote down


@dataclass(frozen=True, slots=True)
class Section:
    """One group of the list: its question, how many lines answer it, and a part of them."""

    id: str
    heading: str
    short: str
    note: str
    part: paging.Part
    rows: list[tuple[LotRow, Why]]
    is_open: bool = True


def page() -> ResponseReturnValue:
    """What to eat this week, what to process, and what keeps; narrowed if the address says so."""
    wanted = narrow.asked()
    found = eat_first(scope.reading(), scope.today(), wanted)
    due, more_due = lines_for_home()
    return render_template(
        "eat_first/eat_first.html",
        groups=list(_sections(found)),
        lot_count=found.lot_count,
        mass_mg=found.mass_mg,
        today=scope.today(),
        weekday=weekday_words(scope.today()),
        due=due,
        more_due=more_due,
        key=new_key,
        questions=narrow.questions(found, wanted),
        allergens=narrow.allergens(wanted),
        chosen=narrow.chosen(found, wanted),
        left_out=narrow.left_out_words(found),
        has_food=bool(found.places),
        portion=mass(to_mg(PORTION_KG.value)),
    )


def _sections(found: EatFirst) -> Iterator[Section]:
    where, today = _where(), scope.today()
    for group, lines in found.groups:
        part = paging.asked(group, len(lines))
        yield Section(
            group,
            _(HEADINGS[group]),
            _(SHORT[group]),
            _(NOTES.get(group, "")),
            part,
            [_row(x, group, today, where) for x in lines[part.first : part.last]],
        )
    if found.untold:
        part = paging.asked(UNTOLD, len(found.untold))
        shown = found.untold[part.first : part.last]
        yield Section(
            UNTOLD,
            _("Allergens not known"),
            _("Not known"),
            _("Nobody wrote down every allergen of these. Ask who made or gave them."),
            part,
            [_row(x, group_of(x, today), today, where) for x in shown],
            is_open=False,
        )


def _where() -> dict[int, str]:
    """Every place with how warm it is now."""
    session = scope.reading()
    known = places_query.places(session)
    warmths = warmths_at(session, known, scope.now())
    return {place.id: where_words(place.name, warmths.get(place.id)) for place in known}


def _row(line: StockLine, group: Group, today: date, where: dict[int, str]) -> tuple[LotRow, Why]:
    reasons = why(line, group, today, where[line.place_id])
    return lot_row(line, today, _to_be_eaten(line, group, today)), reasons


def _to_be_eaten(line: StockLine, group: Group, today: date) -> Action | None:
    """The button of what is ready and must go; None: what the line itself needs next."""
    if group not in (Group.THIS_WEEK, Group.OPENED):
        return None
    ready = line.place_kind is PlaceKind.FRIDGE and not line.is_raw
    is_over = line.window is not None and line.window.late < today
    if not ready or is_over:
        return None
    return Action(_(VERBS[OperationKind.EAT]), step_href(OperationKind.EAT, line))


def what_to_do(ref: str) -> ResponseReturnValue:
    """What can be done about one line of stock, with the time that each way buys."""
    asked, today = StockRef.parse(ref), scope.today()
    line = _line(asked)
    if line is None:
        return redirect(f"/lots/{code_of(asked.lot_id)}", 303)
    words = limit_words(line, today)
    group = group_of(line, today)
    gains = [way_line(way, line, today) for way in ways(scope.reading(), line, today)]
    return render_template(
        "eat_first/what_to_do.html",
        line=line,
        code=spoken(line.code),
        state=state_words(line),
        place=place_words(line),
        words=words,
        window=window_view(line, today, words),
        group=_(HEADINGS[group]),
        why=why(line, group, today, _where()[line.place_id]),
        ways=[*first_lines(line, today), *gains],
        has_gains=bool(gains),
    )


def _line(ref: StockRef) -> StockLine | None:
    """The line of a list that a row of stock stands in."""
    lines = stock_lines(scope.reading(), lot_id=ref.lot_id)
    return next((x for x in lines if ref in x.refs and not x.place_kind.is_dryer), None)
