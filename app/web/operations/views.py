"""The menu of entries, and the page of each operation."""

import secrets
from collections.abc import Sequence

from flask import abort, render_template, request
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import Session
from wtforms.fields.choices import SelectChoice

from app.language import N_, _
from app.ledger.codes import code_of, lot_id_of, spoken
from app.ledger.errors import NotFound, Refused
from app.ledger.holds import holds_on
from app.ledger.models import Lot
from app.ledger.operations._post import Posted
from app.ledger.queries import places as places_query
from app.ledger.queries.last_time import LastIntake, last_intake, last_intakes
from app.ledger.queries.stock import StockLine, stock_lines
from app.ledger.safety import rule_set_of
from app.ledger.stock import StockRef
from app.ledger.words import OperationKind
from app.web import scope
from app.web.bowls import bowl_buttons, scale_words
from app.web.display import DONE, VERBS, step_href
from app.web.fields import LINE_LENGTH, as_text
from app.web.foretell.links import foretell_link
from app.web.lots.steps import Proposals
from app.web.messages import HOLD_CAUSES, day
from app.web.operations.base import OperationForm, UnitsForm, fields_of
from app.web.operations.cautions import beside, uncovered_words
from app.web.operations.cooking import CookForm
from app.web.operations.defaults import as_last_time
from app.web.operations.forms import FORMS
from app.web.operations.game_form import asked, asks_for_test
from app.web.operations.hints import hints_for
from app.web.operations.intake_form import IntakeForm
from app.web.operations.keeping import MoveForm
from app.web.operations.preparing import BlendForm
from app.web.posting import Written, attach, write
from app.web.rows import Rows
from app.web.table_of_foods import food_choices

_WORDS = {
    OperationKind.INTAKE: N_("Bring food in: weighed, with where it came from"),
    OperationKind.THAW: N_("From the freezer, in the refrigerator"),
    OperationKind.TRIM: N_("Cut away what is not kept"),
    OperationKind.GRIND: N_("One lot or several through the grinder"),
    OperationKind.BLEND: N_("Work in fat, to the content wanted"),
    OperationKind.PORTION: N_("Part of a lot goes another way"),
    OperationKind.COOK: N_("Simmer, roast, steam or boil down"),
    OperationKind.CHILL: N_("Cooked food into the cold"),
    OperationKind.SKIM: N_("Lift off the fat that has set"),
    OperationKind.DRAIN: N_("Food and broth become two lots"),
    OperationKind.BLANCH: N_("Scald garden produce"),
    OperationKind.LOAD: N_("Tray by tray, freeze-dryer or dehydrator"),
    OperationKind.PACK: N_("Into pouches, bags or jars"),
    OperationKind.MOVE: N_("To another place"),
    OperationKind.OPEN: N_("Break a seal"),
    OperationKind.MEASURE: N_("Water, fat or a nutrition panel: it overrides what was computed"),
    OperationKind.EAT: N_("Off the shelf and onto the table"),
    OperationKind.GIVE: N_("To a neighbour, with a name"),
    OperationKind.DISCARD: N_("Thrown away, with the reason"),
}

MOST_ROWS = 60
MOST_LATELY = 6


def menu() -> ResponseReturnValue:
    """Every entry that can be written."""
    items = [
        {"label": _(VERBS[kind]), "href": f"/write/{kind}", "words": words}
        for kind, words in _WORDS.items()
    ]
    several = {
        "label": _("Blend several"),
        "href": "/write/mix",
        "words": _("Three lots or more to a fat, water or protein wanted; seasoned by percent"),
    }
    items.insert(5, several)
    words = _("A full freezer of packets, many rows at once, when the ledger is new")
    items.insert(
        1, {"label": _("What is there already"), "href": "/write/first-day", "words": words}
    )
    words = _("Walk a place, compare with the ledger, write what differs")
    items.append({"label": _("Take stock"), "href": "/places", "words": words})
    words = _("Two soakings of dried food side by side")
    items.append({"label": _("Rehydration trial"), "href": "/write/trial", "words": words})
    words = _("Canning, curing, fermenting, smoking: which official guide to use")
    items.append({"label": _("Not covered here"), "href": "/papers/not-covered", "words": words})
    words = _("Power out, a door open, thawed, left out, a seal failed: what it means")
    items.append({"label": _("Something went wrong"), "href": "/went-wrong", "words": words})
    words = _("Food not to be eaten, given or mixed until something is known")
    items.append({"label": _("Put on hold"), "href": "/holds/new", "words": words})
    return render_template("operations/menu.html", items=items)


def intake() -> ResponseReturnValue:
    """The page that takes food in."""
    form = IntakeForm(request.form if request.method == "POST" else None)
    places = places_query.places(scope.reading())
    form.offer(places)
    wants_row = "add_bowl" in request.form
    again = _taken_in_before()
    draft = f"intake-{code_of(again.lot_id)}" if again else "intake"
    if request.method == "POST" and not wants_row:
        answer = write(form, lambda s: _taken_in(form, s), draft=draft)
        if answer is not None:
            return answer
    elif request.method == "GET":
        form.start(places, scope.today())
        form.food.data = as_text(request.args.get("food"))[:LINE_LENGTH]
        if again is not None:
            form.start_again(again)
    form.bowls.grow_to(len(form.bowls.entries) + 1 if wants_row else 5)
    form.key.data = form.key.data or secrets.token_urlsafe(18)
    rule_set = rule_set_of(scope.reading())
    chosen = form.chosen_food() if form.food.data else None
    page = render_template(
        "operations/intake.html",
        form=form,
        chosen=chosen,
        asked=asked(rule_set),
        asks_test=chosen is None or asks_for_test(chosen, form.name.data or "", rule_set),
        foods=food_choices(),
        bowls=bowl_buttons(scope.reading()),
        scale=scale_words(scope.household()),
        draft=draft,
        again=_again_words(again),
        is_guided="first" in request.args,
        lately=[] if again else last_intakes(scope.reading(), MOST_LATELY),
    )
    return page, 422 if request.method == "POST" and not wants_row else 200


def _taken_in_before() -> LastIntake | None:
    """The lot of which more is taken in, by its code in the address; it must have been taken in."""
    code = request.args.get("again", "")
    try:
        return last_intake(scope.reading(), lot_id_of(code)) if code else None
    except NotFound:
        return None


def _again_words(again: LastIntake | None) -> str:
    if again is None:
        return ""
    return _(
        "As last time, {day}: food, cut, state, where from, allergens, wrapping and place. Look "
        "whether it still fits. The weight and what a safety rule asks are told anew.",
        day=day(again.on),
    )


def _taken_in(form: IntakeForm, session: Session) -> Written:
    posted = form.carry_out(session, scope.now(), scope.person_id())
    code = code_of(posted.lot_ids[0])
    words = _(
        "Taken in: {data} is {code}.{held_words}",
        data=form.name.data,
        code=spoken(code),
        held_words=_held_words(session, posted),
    )
    return Written(f"/lots/{code}", words, posted.operation_id)


def _held_words(session: Session, posted: Posted) -> str:
    causes = [_(HOLD_CAUSES[hold.cause]) for hold in holds_on(session, posted.lot_ids[0])]
    return _(" It is on hold: {join}.", join=_(" and ").join(causes)) if causes else ""


def entry(word: str) -> ResponseReturnValue:
    """The page of one operation; with ?from= it starts from a row of stock."""
    kind = _kind(word)
    session = scope.reading()
    lines = stock_lines(session, one_by_one=True)
    line = _started_from(lines)
    form = FORMS[kind](request.form if request.method == "POST" else None)
    places = places_query.places(session)
    form.ask_only_what_matters(line)
    wants_row = _grown(form)
    form.offer(_offered(form, lines, line), places)
    said = ""
    if request.method == "POST" and not wants_row:
        if "work_out" in request.form and isinstance(form, BlendForm):
            said = _work_out(form, session)
        else:
            answer = write(form, lambda s: _carry_out(form, s, kind), draft=_draft(kind, line))
            if answer is not None:
                return answer
    elif request.method == "GET":
        form.start(line, places, scope.today())
        if not (isinstance(form, MoveForm) and form.lead_to(request.args.get("to", ""))):
            as_last_time(form, line, session)
    form.key.data = form.key.data or secrets.token_urlsafe(18)
    status = 422 if request.method == "POST" and not (said or wants_row) else 200
    return (
        render_template(
            "operations/entry.html",
            form=form,
            fields=fields_of(form),
            draft=_draft(kind, line),
            title=_(VERBS[kind]),
            line=line,
            said=said,
            can_work_out=isinstance(form, BlendForm),
            needs_reason=bool(form.cautions),
            hints=hints_for(kind, line, session),
            foretell=foretell_link(kind, line),
            cautions=beside(kind, line, rule_set_of(session)),
            steps=_other_steps(line, kind, session),
            choices=_choices(form),
            at_once=form.at_once(line) if isinstance(form, MoveForm) else [],
        ),
        status,
    )


def _choices(form: OperationForm) -> Sequence[SelectChoice]:
    """What the step can start from."""
    if isinstance(form, UnitsForm):
        return form.refs.choices
    first = form["parts"][0].form.ref if "parts" in form else form.ref
    return first.choices


def _grown(form: OperationForm) -> bool:
    """One more row of the list whose button was pressed."""
    name = request.form.get("add_row", "")
    rows = getattr(form, name, None) if name else None
    if not isinstance(rows, Rows):
        return False
    if len(rows.entries) < MOST_ROWS:
        rows.append_entry()
    return True


def _kind(word: str) -> OperationKind:
    try:
        kind = OperationKind(word)
    except ValueError:
        abort(404)
    if kind not in FORMS:
        abort(404)
    return kind


def _started_from(lines: Sequence[StockLine]) -> StockLine | None:
    wanted = request.args.get("from", "")
    if not wanted:
        return None
    try:
        ref = StockRef.parse(wanted)
    except NotFound:
        return None
    return next((line for line in lines if line.ref == ref), None)


def _offered(
    form: OperationForm, lines: Sequence[StockLine], line: StockLine | None
) -> Sequence[StockLine]:
    """For packages: those of the same lot at the same place; else everything on hand."""
    if not isinstance(form, UnitsForm) or line is None:
        return [x for x in lines if not x.place_kind.is_dryer]
    return [x for x in lines if x.lot_id == line.lot_id and x.place_id == line.place_id]


def _draft(kind: OperationKind, line: StockLine | None) -> str:
    return f"{kind}-{line.ref}" if line else str(kind)


def _work_out(form: BlendForm, session: Session) -> str:
    form.mass_mg.validate(form)
    form.target_fat.validate(form)
    form.ref.validate(form)
    form.other_ref.validate(form)
    if form.mass_mg.data is None or form.target_fat.data is None:
        form.target_fat.errors = [*form.target_fat.errors, _("Give the mass and the fat wanted.")]
        return ""
    if form.ref.errors or form.other_ref.errors:
        return ""
    try:
        return form.work_out(session)
    except Refused as refused:
        attach(form, refused.problems)
        return ""


def _carry_out(form: OperationForm, session: Session, kind: OperationKind) -> Written:
    posted = form.carry_out(session, scope.now(), scope.person_id())
    return Written(*_told(session, form, kind, posted), posted.operation_id)


def _told(
    session: Session, form: OperationForm, kind: OperationKind, posted: Posted
) -> tuple[str, str]:
    """Where to go and what to say."""
    if posted.lot_ids:
        lot = session.get_one(Lot, posted.lot_ids[0])
        told = _raw_words(form, lot) + uncovered_words(form.note.data)
        words = _(
            "{done}: {name} is {code_of}.{told}",
            done=DONE[kind],
            name=lot.name,
            code_of=spoken(code_of(lot.id)),
            told=told,
        )
        return f"/lots/{code_of(lot.id)}", words
    if kind in (OperationKind.MOVE, OperationKind.OPEN, OperationKind.MEASURE):
        refs = form.chosen if isinstance(form, UnitsForm) else (form.ref.ref,)
        return f"/lots/{code_of(refs[0].lot_id)}", f"{_(DONE[kind])}."
    return "/", f"{_(DONE[kind])}."


def _raw_words(form: OperationForm, lot: Lot) -> str:
    if isinstance(form, CookForm) and lot.is_raw:
        return _(" It stays marked RAW: its target was not shown to be met.")
    return ""


def _other_steps(
    line: StockLine | None, kind: OperationKind, session: Session
) -> list[dict[str, str]]:
    if line is None:
        return []
    return [
        {"label": _(VERBS[step]), "href": step_href(step, line)}
        for step in Proposals(session, scope.today()).steps(line)
        if step is not kind
    ][:4]
