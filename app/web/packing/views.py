"""The pack page: choose a lot, compare packages, weigh each unit."""

import secrets
from collections.abc import Sequence

from flask import render_template, request
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import Session

from app.language import _
from app.ledger.climates import warmth_at
from app.ledger.codes import code_of, spoken
from app.ledger.errors import NotFound
from app.ledger.makeup import makeup_of
from app.ledger.models import Lot, Place
from app.ledger.operations.pack import pack_verdicts, wettest_activity
from app.ledger.queries import places as places_query
from app.ledger.queries.last_time import LastPacked, last_packed
from app.ledger.queries.packages import PackageOption, compare_packages
from app.ledger.queries.stock import StockLine, find_line, stock_lines
from app.ledger.stock import StockRef
from app.ledger.words import OperationKind, PlaceKind
from app.science.window import Window
from app.web import scope
from app.web.display import Action, lot_row, mass, percent
from app.web.foretell.links import oxygen_link
from app.web.messages import day
from app.web.operations.cautions import beside, uncovered_words
from app.web.operations.defaults import may_stand
from app.web.packing.forms import PackForm
from app.web.packing.options import OptionRow, option_row
from app.web.places.words import warmth_words
from app.web.posting import Written, write
from app.web.what_helps import HelpLine, help_lines

MOST_UNITS = 60


def pack_page() -> ResponseReturnValue:
    """Compare, choose, weigh. Without ?from= it asks which lot first."""
    session = scope.reading()
    line = _line(session)
    if line is None:
        return _which_lot(session)
    places = places_query.places(session)
    last = last_packed(session, line)
    place_id = _place_id(line, places, last)
    options = compare_packages(session, line.ref, place_id, scope.today(), count=_count())
    usual = _as_last_time(session, line, place_id, last, options)
    chosen = usual or _chosen(options)
    form = PackForm(request.form if request.method == "POST" else None)
    form.offer(places_query.packagings(session), places_query.absorbers(session), places)
    if request.method == "POST":
        if "add_row" in request.form:
            form.net_mg.grow_to(len(form.net_mg.entries) + 1)
        else:
            answer = write(form, lambda s: _carry_out(form, s, line.ref), draft=_draft(line))
            if answer is not None:
                return answer
    else:
        form.start(chosen, place_id, scope.today())
    form.key.data = form.key.data or secrets.token_urlsafe(18)
    lot, place = session.get_one(Lot, line.lot_id), session.get_one(Place, place_id)
    status = 422 if request.method == "POST" and "add_row" not in request.form else 200
    page = render_template(
        "packing/pack.html",
        form=form,
        line=line,
        lot=lot,
        fat=makeup_of(session, lot).composition.fat,
        draft=_draft(line),
        rows=[_row(option, _is_same(option, chosen), line, place_id) for option in options],
        chosen=chosen,
        proposal=_proposal(chosen, line),
        usual=_last_words(last) if usual else "",
        dryness=_dryness_words(session, lot, line),
        help_lines=_helps(chosen),
        oxygen_href=_oxygen_href(chosen, line),
        place=place,
        place_temperature=warmth_words(warmth_at(session, place, scope.now())),
        place_choices=[p for p in places if not PlaceKind(p.kind).is_dryer],
        cautions=beside(OperationKind.PACK),
    )
    return page, status


def _line(session: Session) -> StockLine | None:
    try:
        line = find_line(session, StockRef.parse(request.args.get("from", "")))
    except NotFound:
        return None
    return line if line is not None and not line.package_count else None


def _which_lot(session: Session) -> ResponseReturnValue:
    is_late = request.method == "POST"  # somebody took it since the page was opened
    rows = [
        lot_row(line, scope.today(), Action(_("Pack"), f"/write/pack?from={line.ref}"))
        for line in stock_lines(session)
        if not line.package_count and not line.place_kind.is_dryer
    ]
    page = render_template("packing/which.html", rows=rows, is_late=is_late)
    return page, 422 if is_late else 200


def _place_id(line: StockLine, places: Sequence[Place], last: LastPacked | None) -> int:
    """The place asked for, or of last time; else the shelf for dry food, the freezer for moist."""
    asked = request.form.get("place_id") or request.args.get("place", "")
    known = {str(p.id): p.id for p in places if not PlaceKind(p.kind).is_dryer}
    if asked in known:
        return known[asked]
    if last is not None and last.place_id in known.values() and _is_store(line, last.place_kind):
        return last.place_id
    wanted = PlaceKind.ROOM if line.is_dried else PlaceKind.FREEZER
    return next((p.id for p in places if PlaceKind(p.kind) is wanted), line.place_id)


def _count() -> int | None:
    text = request.args.get("count", "")
    if not (text.isascii() and text.isdigit() and len(text) <= 6):
        return None
    return min(int(text), MOST_UNITS) or None


def _chosen(options: Sequence[PackageOption]) -> PackageOption | None:
    wanted = request.args.get("choice", "")
    named = {_name(option): option for option in options}
    return named.get(wanted, options[0] if options else None)


def _is_store(line: StockLine, kind: PlaceKind) -> bool:
    """May packages of this food be proposed to be kept in a place of this kind?"""
    return kind is not PlaceKind.BENCH and may_stand(line, kind)


def _as_last_time(
    session: Session,
    line: StockLine,
    place_id: int,
    last: LastPacked | None,
    options: Sequence[PackageOption],
) -> PackageOption | None:
    """The package of last time, as full as then; None where it was not asked for or does not fit.

    Only one that gives a date, and whose absorber is enough: a habit hides no warning.
    """
    if last is None or request.method == "POST" or {"choice", "count"} & set(request.args):
        return None
    same = (last.packaging_id, last.absorber_id, last.is_pumped_down)
    usual = next((option for option in options if _kind_of(option) == same), None)
    if usual is None:
        return None
    count = min(max(1, round(line.mass_mg / last.net_mg)), MOST_UNITS)
    if usual.count != count:  # else it was worked out already
        anew = compare_packages(session, line.ref, place_id, scope.today(), count=count)
        usual = next(option for option in anew if _kind_of(option) == same)
    is_enough = usual.absorber is None or usual.absorber_is_enough
    return usual if isinstance(usual.answer, Window) and is_enough else None


def _kind_of(option: PackageOption) -> tuple[int, int | None, bool]:
    absorber = option.absorber.id if option.absorber else None
    return option.packaging.id, absorber, option.is_pumped_down


def _is_same(option: PackageOption, chosen: PackageOption | None) -> bool:
    return chosen is not None and _kind_of(option) == _kind_of(chosen)


def _last_words(last: LastPacked | None) -> str:
    if last is None:
        return ""
    return _(
        "As last time, {day}: this package, about {each} in each.",
        day=day(last.on),
        each=mass(last.net_mg),
    )


def _name(option: PackageOption) -> str:
    absorber = option.absorber.id if option.absorber else 0
    return f"{option.packaging.id}-{absorber}-{int(option.is_pumped_down)}"


def _row(option: PackageOption, is_chosen: bool, line: StockLine, place_id: int) -> OptionRow:
    href = f"/write/pack?from={line.ref}&place={place_id}&choice={_name(option)}"
    count = _count()
    return option_row(option, scope.today(), is_chosen, f"{href}&count={count}" if count else href)


def _proposal(option: PackageOption | None, line: StockLine) -> str:
    if option is None:
        return ""
    if option.count == 1:
        return _("One package of {mass}", mass=mass(line.mass_mg))
    return _("{count} packages of about {each} each", count=option.count, each=mass(option.each_mg))


def _oxygen_href(option: PackageOption | None, line: StockLine) -> str:
    if option is None or not line.is_dried:
        return ""
    return oxygen_link(option.packaging.volume_ml, option.each_mg)


def _helps(option: PackageOption | None) -> list[HelpLine]:
    """What would keep the chosen package longer."""
    if option is None or option.keeping is None or not isinstance(option.answer, Window):
        return []
    return help_lines(option.keeping, has_window=True)


def _dryness_words(session: Session, lot: Lot, line: StockLine) -> tuple[str, str]:
    """Whether it is dry enough, and the numbers behind it."""
    if not line.is_dried:
        return _("Not dried."), _(
            "It keeps in the cold only; a vacuum is packaging, not preservation."
        )
    verdicts = pack_verdicts(session, lot)
    dry = not any(v.id in ("ROP-WET", "ROP-UNKNOWN") and v.outcome == "stop" for v in verdicts)
    makeup = makeup_of(session, lot)
    activity = wettest_activity(session, lot)
    how = _("measured") if makeup.water_is_measured else _("computed, not measured")
    words = _(
        "{water} water left ({driest} to {wettest}, {how})",
        water=percent(makeup.composition.water),
        driest=percent(makeup.driest),
        wettest=percent(makeup.wettest),
        how=how,
    )
    if activity is not None:
        words += _("; water activity up to {activity:.2f}", activity=activity)
    words += _("; the line is 10 % of what is not fat, and 0.60.")
    return (
        _("Dry enough to seal without air.") if dry else _("Not dry enough to seal without air.")
    ), words


def _draft(line: StockLine) -> str:
    return f"pack-{line.ref}"


def _carry_out(form: PackForm, session: Session, ref: StockRef) -> Written:
    posted = form.carry_out(session, ref, scope.now(), scope.person_id())
    code = code_of(posted.lot_ids[0])
    words = _(
        "Packed: {package_ids} packages of {code}. Print their labels next.",
        package_ids=len(posted.package_ids),
        code=spoken(code),
    ) + uncovered_words(form.note.data)
    return Written(f"/labels?lot={code}", words, posted.operation_id)
