"""The list of lots with its search, the page of one lot, and how its window was worked out."""

from dataclasses import dataclass

from flask import redirect, render_template, request
from flask.typing import ResponseReturnValue

from app.language import _, from_to
from app.ledger.codes import code_of, lot_id_of
from app.ledger.errors import NotFound
from app.ledger.mass import to_kg, to_mg
from app.ledger.queries.allergens import is_fully_known
from app.ledger.queries.climate import kept_of
from app.ledger.queries.lot import LotPage, lot_by_code, lot_page
from app.ledger.queries.search import find_lots
from app.ledger.queries.stock import StockLine
from app.ledger.stock import find_stock
from app.ledger.windows import keeping_of
from app.ledger.words import OperationKind
from app.science.errors import ScienceError
from app.science.keeping import NoWindowReason
from app.science.rehydration import published_soak, us_cups, water_to_add_kg
from app.science.version import MODEL_VERSION
from app.web import paging, scope
from app.web.display import (
    VERBS,
    amount_words,
    limit_words,
    lot_row,
    mass,
    step_href,
    treatment_words,
    window_view,
)
from app.web.first_day.words import since_words
from app.web.foretell.links import water_link
from app.web.holds.words import mark_notes, why_words
from app.web.lots.steps import Proposals
from app.web.lots.worked_out import worked_out
from app.web.messages import day
from app.web.places.words import kept_words
from app.web.what_helps import HelpLine, help_lines
from app.web.window_drawing import WindowView

NOT_DRY_ENOUGH = str(NoWindowReason.NOT_DRY_ENOUGH)


@dataclass(frozen=True, slots=True)
class LineView:
    """The loose rest of a lot, or packages that lie together, with window and steps."""

    line: StockLine
    amount: str
    window: WindowView | None
    words: str
    steps: list[tuple[str, str]]
    packages: list[StockLine]
    helps: list[HelpLine]
    kept: str
    usual: str


def lots() -> ResponseReturnValue:
    """Everything on hand, or what the search finds; a whole code leads straight to its lot."""
    text = request.args.get("q", "").strip()
    if text:
        try:
            lot = lot_by_code(scope.reading(), text)
            return redirect(f"/lots/{code_of(lot.id)}", 303)
        except NotFound:
            pass
    found = find_lots(scope.reading(), text)
    part = paging.asked("part", len(found))
    rows = [lot_row(line, scope.today()) for line in found[part.first : part.last]]
    return render_template("lots/lots.html", rows=rows, text=text, part=part)


def by_label(code: str) -> ResponseReturnValue:
    """Where a label's code leads."""
    return redirect(f"/lots/{code_of(lot_id_of(code))}", 303)


def lot(code: str) -> ResponseReturnValue:
    """The page of one lot."""
    page = lot_page(
        scope.reading(),
        code,
        made_from=paging.asked("made").first,
        left_from=paging.asked("left").first,
        most=paging.ROWS,
    )
    if code != page.code:
        return redirect(f"/lots/{page.code}", 303)
    ask = Proposals(scope.reading(), scope.today())
    return render_template(
        "lots/lot.html",
        page=page,
        made=paging.asked("made", page.became.made_count),
        left=paging.asked("left", page.became.left_count),
        state=treatment_words(page.is_raw, page.treatments),
        lines=[_line_view(line, page, ask) for line in page.lines],
        harvest=_harvest(page),
        since=_since(page),
        rehydration=_rehydration(page),
        water_href=_water_href(page),
        on_hand_mg=sum(line.mass_mg for line in page.lines),
        allergens_are_known=is_fully_known(scope.reading(), page.id),
        held=[(hold, why_words(hold.cause, hold.words)) for hold in page.holds],
        notes=mark_notes(page.marks),
    )


def how(code: str) -> ResponseReturnValue:
    """How the window of a lot was worked out, with its own numbers and their sources."""
    page = lot_page(scope.reading(), code)
    return render_template(
        "lots/worked_out.html", page=page, found=worked_out(page), version=MODEL_VERSION
    )


def _line_view(line: StockLine, page: LotPage, ask: Proposals) -> LineView:
    return LineView(
        line=line,
        amount=amount_words(line),
        window=window_view(line, scope.today()),
        words=limit_words(line, scope.today()),
        steps=[(_(VERBS[step]), step_href(step, line)) for step in ask.steps(line)],
        usual=_usual_words(line, ask),
        packages=[p for p in page.packages if p.ref in line.refs] if len(line.refs) > 1 else [],
        helps=_helps(line),
        kept=kept_words(kept_of(scope.reading(), line.ref)),
    )


def _usual_words(line: StockLine, ask: Proposals) -> str:
    """Why the first step is proposed, where it comes from what was done before."""
    if not ask.is_habit(line):
        return ""
    step = _(VERBS[ask.steps(line)[0]])
    return _("{step}: what you mostly did with such food lately.", step=step)


def _helps(line: StockLine) -> list[HelpLine]:
    """What would keep a line longer; nothing for what is past its window, or in a dryer."""
    is_over = line.window is not None and line.window.late < scope.today()
    row = None if is_over else find_stock(scope.reading(), line.ref)
    inputs = keeping_of(scope.reading(), row) if row else None
    if inputs is None or (line.window is None and line.limit_word != NOT_DRY_ENOUGH):
        return []
    return help_lines(inputs[1], has_window=line.window is not None)


def _since(page: LotPage) -> str:
    has_span = any(line.window is not None and not line.window.is_fixed for line in page.lines)
    words = since_words(page.kept_since, page.kept_until, has_window=has_span)
    if words or not any(map(_has_days_that_go_on, page.lines)):
        return words
    return _("{day}: its days go on from those of the food in it", day=day(page.kept_since))


def _has_days_that_go_on(line: StockLine) -> bool:
    """Did its days in the refrigerator begin before it was made?"""
    if line.window is None or line.made_by is OperationKind.INTAKE:
        return False
    return line.window.is_fixed and line.window.start < line.made_on


def _harvest(page: LotPage) -> str:
    if page.harvest is None:
        return _("not known")
    first, last = page.harvest
    return day(first) if first == last else from_to(day(first), day(last))


def _water_href(page: LotPage) -> str:
    if page.fresh_water is None or not page.lines:
        return ""
    mass_mg = page.lines[0].mass_mg
    return water_link(page.code, mass_mg, page.composition.water, page.fresh_water)


def _rehydration(page: LotPage) -> str:
    """How much water brings a portion back, for dried lots."""
    if page.fresh_water is None or not page.lines:
        return ""
    net_mg = page.lines[0].mass_mg
    try:
        water = water_to_add_kg(to_kg(net_mg), page.composition.water, page.fresh_water)
    except ScienceError:
        return ""
    cups = us_cups(water.central)
    words = _(
        "{net} takes about {to} of water ({cups:.1f} US cups).",
        net=mass(net_mg),
        to=mass(to_mg(water.central)),
        cups=cups,
    )
    soak = published_soak(page.name)
    if soak is not None:
        words += _(
            " Published for {food}: {cups_water:g} cups to a cup dried ({source}).",
            food=soak.food,
            cups_water=soak.cups_water,
            source=soak.source,
        )
    return words
