"""The bench page."""

from flask import render_template
from flask.typing import ResponseReturnValue

from app.language import N_, _
from app.ledger.holds import held_lots
from app.ledger.queries.bench import Stage, arrivals, bench
from app.ledger.safety import rule_set_of
from app.web import scope
from app.web.bench.cards import Card, lot_card, run_card
from app.web.lots.steps import Proposals

_HEADINGS = {
    Stage.COOLING: N_("Cooling"),
    Stage.THAWED: N_("Thawing or thawed"),
    Stage.BETWEEN: N_("Between two steps"),
    Stage.TO_PACK: N_("Dry, waiting to be packed"),
}


def page() -> ResponseReturnValue:
    """Everything in progress: its clock, and its next step as one button."""
    session = scope.reading()
    found = bench(session)
    held = held_lots(session).keys()
    groups: list[tuple[str, str, list[Card]]] = []
    if found.runs:
        cards = [run_card(run, held) for run in found.runs]
        groups.append(("drying", _("In the dryer"), cards))
    ask = Proposals(session, scope.today())
    staged, here = found.staged(), rule_set_of(session)
    came = arrivals(session, [line for lines in staged.values() for line in lines])
    for stage, lines in staged.items():
        cards = [
            lot_card(line, stage, came.get((line.lot_id, line.place_id)), ask, here)
            for line in lines
        ]
        place = 0 if stage is Stage.COOLING else len(groups)  # the strictest clock stands on top
        groups.insert(place, (str(stage), _(_HEADINGS[stage]), cards))
    return render_template("bench/bench.html", groups=groups, now=scope.now())
