"""The pages of a dryer run."""

import secrets
from collections.abc import Sequence

from flask import render_template, request
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import Session

from app.language import _
from app.ledger.codes import code_of, spoken
from app.ledger.errors import NotFound
from app.ledger.models import Lot, Place, Run
from app.ledger.queries import places as places_query
from app.ledger.queries.last_time import LastTime, last_time
from app.ledger.queries.stock import StockLine, find_line, stock_lines
from app.ledger.runs import TrayState, hours_between, is_over, known_run, trays_of
from app.ledger.stock import StockRef
from app.ledger.words import OperationKind, PlaceKind
from app.web import scope
from app.web.bowls import is_tray
from app.web.fields import choices
from app.web.foretell.links import foretell_link
from app.web.operations.cautions import beside
from app.web.operations.defaults import last_words
from app.web.posting import Written, write
from app.web.runs.forms import LoadForm, UnloadForm, WeighBackForm
from app.web.runs.words import Slices, TrayRow, prediction, tray_row


def load_page() -> ResponseReturnValue:
    """Load a dryer, tray by tray; before it starts, what to expect."""
    session = scope.reading()
    places = places_query.places(session)
    line = _line(session)
    form = LoadForm(request.form if request.method == "POST" else None)
    last = last_time(session, OperationKind.LOAD, line) if line else None
    dryer = _dryer(places, form, line, last)
    if last is not None and dryer is not None and dryer.id == last.place_id and _is_untold():
        form.place_id.description = last_words(last)
    if request.method == "GET":
        form.start(line, dryer, _tray_tares(session, dryer), scope.today())
    asks = {"add_row", "work_out"} & set(request.form)
    if asks:
        form.thickness.validate(form)
        form.air.validate(form)
    if "add_row" in request.form:
        form.trays.append_entry()
    lines = [x for x in stock_lines(session, one_by_one=True) if not x.place_kind.is_dryer]
    form.offer(lines, places)
    draft = f"load-{line.ref}" if line else "load"
    if request.method == "POST" and not asks:
        answer = write(form, lambda s: _loaded(form, s), draft=draft)
        if answer is not None:
            return answer
    form.key.data = form.key.data or secrets.token_urlsafe(18)
    page = render_template(
        "runs/load.html",
        form=form,
        line=line,
        dryer=dryer,
        draft=draft,
        expected=_expected(session, form, line, dryer),
        is_warm_air=_is_dehydrator(dryer),
        foretell=None if _is_dehydrator(dryer) else foretell_link(OperationKind.LOAD, line),
        cautions=beside(OperationKind.LOAD, line),
    )
    return page, 422 if request.method == "POST" and not asks else 200


def run_page(run_id: int) -> ResponseReturnValue:
    """A run: its trays, weigh-backs and what they say."""
    return _page(known_run(scope.reading(), run_id), WeighBackForm(), _unload_form(run_id))


def weigh(run_id: int) -> ResponseReturnValue:
    """Record one weigh-back."""
    run = known_run(scope.reading(), run_id)
    form = WeighBackForm(request.form)
    _offer_trays(form, run)
    answer = write(form, lambda s: _weighed(form, s, run_id), draft=f"weigh-{run_id}")
    return answer or (_page(run, form, _unload_form(run_id)), 422)


def unload_run(run_id: int) -> ResponseReturnValue:
    """End a run."""
    run = known_run(scope.reading(), run_id)
    form = UnloadForm(request.form)
    form.offer(places_query.places(scope.reading()))
    answer = write(form, lambda s: _unloaded(form, s, run_id), draft=f"unload-{run_id}")
    return answer or (_page(run, WeighBackForm(), form), 422)


def _page(run: Run, weigh_form: WeighBackForm, unload_form: UnloadForm) -> str:
    session = scope.reading()
    trays = trays_of(session, run)
    _offer_trays(weigh_form, run)
    if weigh_form.number.data is None and trays:
        asked = request.args.get("tray", "", str)
        weigh_form.number.data = _tray_to_weigh(trays, asked)
        if asked:  # whoever comes to weigh finds the box open
            weigh_form.gross.render_kw = {"autofocus": True}
    for form in (weigh_form, unload_form):
        form.key.data = form.key.data or secrets.token_urlsafe(18)
    place = session.get_one(Place, run.place_id)
    return render_template(
        "runs/run.html",
        run=run,
        place=place,
        hours=hours_between(run.started_at, scope.now()),
        rows=[_row(state, run) for state in trays],
        expected=prediction(_by_lot(trays), place),
        is_over=is_over(session, run.id),
        weigh_form=weigh_form,
        unload_form=unload_form,
        lot_names={state.lot.id: state.lot.name for state in trays},
        cautions=beside(OperationKind.UNLOAD),
    )


def _tray_to_weigh(trays: Sequence[TrayState], asked: str) -> int:
    """The tray asked for, else one of those that were weighed least often."""
    known = {str(state.tray.number): state.tray.number for state in trays}
    return known.get(asked, min(trays, key=lambda t: len(t.weighings)).tray.number)


def _row(state: TrayState, run: Run) -> TrayRow:
    hours = [hours_between(run.started_at, w.weighed_at) for w in state.weighings]
    return tray_row(state, code_of(state.lot.id), hours)


def _by_lot(trays: Sequence[TrayState]) -> list[tuple[Lot, int]]:
    masses: dict[int, int] = {}
    lots = {state.lot.id: state.lot for state in trays}
    for state in trays:
        net_mg = state.tray.gross_mg - state.tray.tare_mg
        masses[state.lot.id] = masses.get(state.lot.id, 0) + net_mg
    return [(lots[lot_id], mass_mg) for lot_id, mass_mg in masses.items()]


def _unload_form(run_id: int) -> UnloadForm:
    session = scope.reading()
    run = known_run(session, run_id)
    form = UnloadForm()
    places = places_query.places(session)
    form.offer(places)
    form.start([lot.id for lot, _ in _by_lot(trays_of(session, run))], places, scope.today())
    return form


def _offer_trays(form: WeighBackForm, run: Run) -> None:
    form.number.choices = choices(
        (
            state.tray.number,
            _("Tray {number}: {name}", number=state.tray.number, name=state.lot.name),
        )
        for state in trays_of(scope.reading(), run)
    )


def _line(session: Session) -> StockLine | None:
    try:
        return find_line(session, StockRef.parse(request.args.get("from", "")))
    except NotFound:
        return None


def _is_untold() -> bool:
    """Has nobody said yet which dryer?"""
    return request.method == "GET" and "dryer" not in request.args


def _dryer(
    places: Sequence[Place], form: LoadForm, line: StockLine | None, last: LastTime | None
) -> Place | None:
    """The dryer asked for, or that of last time; else the dehydrator for produce alone."""
    dryers = [place for place in places if PlaceKind(place.kind).is_dryer]
    asked = request.form.get("place_id") or request.args.get("dryer", "")
    for wanted_id in (asked, str(last.place_id) if last else ""):
        for place in dryers:
            if str(place.id) == wanted_id:
                return place
    wants_air = line is not None and not line.food_class.is_animal
    wanted = PlaceKind.DEHYDRATOR if wants_air else PlaceKind.FREEZE_DRYER
    return next(
        (place for place in dryers if PlaceKind(place.kind) is wanted), next(iter(dryers), None)
    )


def _is_dehydrator(dryer: Place | None) -> bool:
    return dryer is not None and PlaceKind(dryer.kind) is PlaceKind.DEHYDRATOR


def _tray_tares(session: Session, dryer: Place | None) -> list[int]:
    """The tares of the trays that bear the dryer's name, else of all trays."""
    trays = [bowl for bowl in places_query.bowls(session) if is_tray(bowl.name)]
    name = dryer.name.casefold() if dryer else ""
    own = [bowl for bowl in trays if name in bowl.name.casefold()]
    return [bowl.tare_mg for bowl in own or trays]


def _expected(
    session: Session, form: LoadForm, line: StockLine | None, dryer: Place | None
) -> list[str]:
    """The prediction for the trays typed so far; before any is typed, for the whole lot."""
    if dryer is None:
        return []
    typed: dict[int, int] = {}
    for row in form.trays.filled():
        net_mg = row.form.gross.mg - row.form.tare.mg
        if net_mg > 0:
            try:
                lot_id = StockRef.parse(row.form.ref.data or "").lot_id
            except NotFound:
                continue
            typed[lot_id] = typed.get(lot_id, 0) + net_mg
    if not typed and line is not None:
        typed = {line.lot_id: line.mass_mg}
    known = [(session.get(Lot, lot_id), mass_mg) for lot_id, mass_mg in typed.items()]
    loaded = [(lot, mass_mg) for lot, mass_mg in known if lot is not None]
    slices = Slices.of(form.thickness.data, form.air.data)
    return prediction(loaded, dryer, slices) if loaded else []


def _loaded(form: LoadForm, session: Session) -> Written:
    posted, run_id = form.carry_out(session, scope.now(), scope.person_id())
    words = _("The run has begun. Weigh a tray back when it should be dry.")
    return Written(f"/runs/{run_id}", words, posted.operation_id)


def _weighed(form: WeighBackForm, session: Session, run_id: int) -> Written:
    form.carry_out(session, run_id, scope.now())
    return Written(f"/runs/{run_id}", _("Tray {data} is written down.", data=form.number.data))


def _unloaded(form: UnloadForm, session: Session, run_id: int) -> Written:
    posted = form.carry_out(session, run_id, scope.now(), scope.person_id())
    code = code_of(posted.lot_ids[0])
    return Written(
        f"/lots/{code}",
        _("Unloaded: {code}. Pack it today.", code=spoken(code)),
        posted.operation_id,
    )
