"""The bench page."""

from collections.abc import Collection

from flask import render_template
from flask.typing import ResponseReturnValue

from app.language import _
from app.ledger.holds import held_lots
from app.ledger.queries.bench import RunLine, bench
from app.ledger.queries.due import weigh_again_at
from app.ledger.runs import hours_between
from app.web import scope
from app.web.display import lot_row
from app.web.due.words import trays_words
from app.web.runs.words import dryness_words


def page() -> ResponseReturnValue:
    """Dryers at work, food waiting to be packed, food between two steps."""
    found, today = bench(scope.reading()), scope.today()
    held = held_lots(scope.reading()).keys()
    return render_template(
        "bench/bench.html",
        runs=[_run_row(run, held) for run in found.runs],
        to_pack=[lot_row(line, today) for line in found.to_pack],
        in_progress=[lot_row(line, today) for line in found.in_progress],
    )


def _run_row(line: RunLine, held: Collection[int]) -> dict[str, object]:
    names = ", ".join(dict.fromkeys(state.lot.name for state in line.trays))
    judged = [state.dryness for state in line.trays if state.dryness is not None]
    words = _("Not weighed back yet.")
    if judged:
        wettest = max(judged, key=lambda dryness: dryness.residual_water.central)
        words = ": ".join(dryness_words(wettest))
    if any(state.lot.id in held for state in line.trays):
        words = _("Food on hold is in it. {words}", words=words)
    return {
        "due": _due_words(line),
        "href": f"/runs/{line.run.id}",
        "place": line.place.name,
        "names": names,
        "hours": hours_between(line.started_at, scope.now()),
        "trays": len(line.trays),
        "words": words,
    }


def _due_words(line: RunLine) -> str:
    """Which trays are to be weighed again now; "" for none."""
    times = [(state.tray.number, weigh_again_at(state)) for state in line.trays]
    numbers = [number for number, at in times if at is not None and at <= scope.now()]
    return _("Weigh {trays_words} again now.", trays_words=trays_words(numbers)) if numbers else ""
