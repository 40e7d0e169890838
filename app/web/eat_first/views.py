"""The home page."""

from flask import render_template
from flask.typing import ResponseReturnValue

from app.language import N_, _
from app.ledger.queries.eat_first import Group, eat_first
from app.ledger.queries.stock import StockLine
from app.ledger.words import OperationKind, PlaceKind
from app.web import scope
from app.web.display import VERBS, Action, LotRow, lot_row, step_href
from app.web.due.views import lines_for_home, new_key

_HEADINGS = {
    Group.THIS_WEEK: N_("For the table this week"),
    Group.PROCESS: N_("Process before the freezer window ends"),
    Group.LATER: N_("Keeps well"),
    Group.UNDATED: N_("Without a date: look at it and use your judgement"),
    Group.ON_HOLD: N_("On hold, not to be eaten"),
}


def page() -> ResponseReturnValue:
    """What to eat this week, what to process, and what keeps."""
    found = eat_first(scope.reading(), scope.today())
    due, more_due = lines_for_home()
    return render_template(
        "eat_first/eat_first.html",
        groups=[
            (group, _(_HEADINGS[group]), [_row(line, group) for line in lines])
            for group, lines in found.groups
        ],
        lot_count=found.lot_count,
        mass_mg=found.mass_mg,
        today=scope.today(),
        due=due,
        more_due=more_due,
        key=new_key,
    )


def _row(line: StockLine, group: Group) -> LotRow:
    today = scope.today()
    ready = line.place_kind is PlaceKind.FRIDGE and not line.is_raw
    is_over = line.window is not None and line.window.late < today
    if group is Group.THIS_WEEK and ready and not is_over:
        return lot_row(
            line, today, Action(_(VERBS[OperationKind.EAT]), step_href(OperationKind.EAT, line))
        )
    return lot_row(line, today)
