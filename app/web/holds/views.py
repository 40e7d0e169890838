"""Everything on hold on one sheet; putting a hold, a test's result, and lifting a hold."""

import secrets
from collections.abc import Sequence

from flask import abort, flash, redirect, render_template, request
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import Session

from app.language import N_, _, ngettext
from app.ledger.codes import spoken
from app.ledger.models import Hold
from app.ledger.queries.holds import (
    HeldLot,
    Reached,
    StandingHold,
    held_food,
    kin_of,
    lots_of_same_source,
    reach_of,
    standing_hold,
)
from app.ledger.queries.lot import lot_by_code
from app.ledger.queries.stock import StockLine, stock_lines
from app.ledger.words import HoldCause
from app.science.safety.game import CWD_NEG, CWD_POS
from app.science.safety.rule import DEFERENCE, Outcome, Verdict
from app.web import scope
from app.web.display import Action, amount_words, lot_row
from app.web.holds.forms import DETECTED, EndForm, HoldForm, ReleaseForm, ResultForm
from app.web.holds.words import why_words
from app.web.posting import Written, write

OVER = N_(
    "This hold was lifted already, or taken back. If you know otherwise, put it on hold anew."
)
_FINAL = (HoldCause.TEST_POSITIVE, HoldCause.LOOKED_SICK)


def page() -> ResponseReturnValue:
    """Every hold that stands, with where all of that food lies: to act on, or to hang up."""
    foods = held_food(scope.reading())
    return render_template(
        "holds/holds.html",
        foods=[(food, _holds_of(food), _lines(food.lines)) for food in foods],
        today=scope.today(),
        deference=DEFERENCE,
    )


def new() -> ResponseReturnValue:
    """Put a lot on hold, or everything of its source; says first what that will keep."""
    code = request.args.get("lot", "")
    if not code:
        return render_template("holds/which.html", rows=_rows_to_choose())
    session = scope.reading()
    lot = lot_by_code(session, code)
    reached = reach_of(session, lots_of_same_source(session, lot.id))
    form = HoldForm(request.form if request.method == "POST" else None)
    form.offer(reached)
    draft = f"hold-{lot.id}"
    if request.method == "POST":
        answer = write(form, lambda s: _put(form, s, reached), draft=draft)
        if answer is not None:
            return answer
    else:
        form.start(
            [r.lot_id for r in reached if "all" in request.args or r.lot_id == lot.id],
            scope.today(),
        )
    form.key.data = form.key.data or secrets.token_urlsafe(18)
    body = render_template(
        "holds/new.html",
        form=form,
        draft=draft,
        lot=lot,
        code=code,
        reached={r.lot_id: (r, _lines(r.lines)) for r in reached},
    )
    return body, 422 if request.method == "POST" else 200


def result(hold_id: int) -> ResponseReturnValue:
    """Write the result of a test that was awaited."""
    form = ResultForm(request.form if request.method == "POST" else None)
    return _ending(
        hold_id,
        form,
        "holds/result.html",
        cautions=[Verdict(CWD_NEG, Outcome.NOTE), Verdict(CWD_POS, Outcome.STOP)],
    )


def lift(hold_id: int) -> ResponseReturnValue:
    """Release what is held."""
    form = ReleaseForm(request.form if request.method == "POST" else None)
    return _ending(hold_id, form, "holds/release.html")


def _ending(hold_id: int, form: EndForm, template: str, **more: object) -> ResponseReturnValue:
    food = standing_hold(scope.reading(), hold_id)
    if food is None:
        return _over(hold_id)
    standing = next(s for s in food.holds if s.hold.id == hold_id)
    kin = kin_of(scope.reading(), hold_id)
    form.offer(kin)
    draft = f"{type(form).__name__.lower()}-{hold_id}"
    if request.method == "POST":
        answer = write(form, lambda s: _ended(form, s, food, hold_id), draft=draft)
        if answer is not None:
            return answer
    else:
        form.start(kin, scope.today())
    form.key.data = form.key.data or secrets.token_urlsafe(18)
    body = render_template(
        template,
        kin=kin,
        form=form,
        draft=draft,
        food=food,
        standing=standing,
        why=why_words(standing.hold.cause, standing.hold.words),
        lines=_lines(food.lines),
        deference=DEFERENCE,
        **more,
    )
    return body, 422 if request.method == "POST" else 200


def _over(hold_id: int) -> ResponseReturnValue:
    """Somebody else ended it, or nobody ever put it."""
    if scope.reading().get(Hold, hold_id) is None:
        abort(404)
    flash(OVER)
    return redirect("/holds", 303)


def _ended(form: EndForm, session: Session, food: HeldLot, hold_id: int) -> Written:
    posted = form.carry_out(session, hold_id, scope.now(), scope.person_id())
    name = f"{food.name}, {spoken(food.code)}"
    more = len(form.also.data or ())
    name += _(", and {more} more", more=more) if more else ""
    if not isinstance(form, ResultForm):
        words = _("Released: {name}.", name=name)
    elif form.hold_id.data == DETECTED:
        words = _(
            "Detected: on hold for good: {name}. Do not eat it, nor what it went into.", name=name
        )
    else:
        words = _("Not detected, released: {name}.", name=name)
    return Written("/holds", words, posted.operation_id)


def _put(form: HoldForm, session: Session, reached: Sequence[Reached]) -> Written:
    posted = form.carry_out(session, scope.now(), scope.person_id())
    chosen = [r for r in reached if r.lot_id in form.lot_ids.data]
    names = ", ".join(f"{r.name} {spoken(r.code)}" for r in chosen)
    own = {r.lot_id for r in chosen}
    others = {line.lot_id for r in chosen for line in r.lines} - own
    made = ngettext(" and {number} lot made of it", " and {number} lots made of it", len(others))
    made = made if others else ""
    return Written(
        "/holds", _("Put on hold: {names}{made}.", names=names, made=made), posted.operation_id
    )


def _holds_of(food: HeldLot) -> list[tuple[StandingHold, str, str]]:
    """Each hold with its reason and what may be done: write a result, release, or nothing."""
    is_final = any(standing.hold.cause in _FINAL for standing in food.holds)
    found = []
    for standing in food.holds:
        hold = standing.hold
        ends = "result" if hold.cause is HoldCause.TEST_AWAITED else "release"
        found.append((standing, why_words(hold.cause, hold.words), "" if is_final else ends))
    return found


def _lines(lines: Sequence[StockLine]) -> list[tuple[StockLine, str]]:
    return [(line, amount_words(line)) for line in lines]


def _rows_to_choose() -> list[object]:
    lines = {line.lot_id: line for line in reversed(stock_lines(scope.reading()))}
    return [
        lot_row(line, scope.today(), Action(_("Hold"), f"/holds/new?lot={line.code}"))
        for line in reversed(lines.values())
    ]
