"""The pages of something that went wrong: which, what it means, and what was written."""

import hashlib
import secrets
from collections import Counter
from collections.abc import Sequence
from contextlib import suppress
from urllib.parse import urlencode

from flask import abort, render_template, request
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import Session

from app.language import N_, _
from app.ledger.codes import code_of, lot_id_of, spoken
from app.ledger.errors import NotFound
from app.ledger.models import Lot
from app.ledger.operations.incident import went_wrong
from app.ledger.queries.at_place import Air, air_between, lines_at
from app.ledger.queries.history import operation
from app.ledger.queries.places import places
from app.ledger.queries.stock import StockLine, stock_lines
from app.ledger.queries.what_it_means import Meaning, Told, meanings, touched
from app.ledger.stock import StockRef
from app.ledger.words import IncidentFate, IncidentKind, PlaceKind
from app.science.safety.rule import DEFERENCE
from app.web import scope
from app.web.display import moment, temperature
from app.web.history.words import FATES
from app.web.posting import Written, repeated, write
from app.web.went_wrong.forms import ToldForm
from app.web.went_wrong.incident import incident_view
from app.web.went_wrong.lines import groups_of, sources_of
from app.web.went_wrong.words import KINDS, hours_words

_GONE = N_(
    "Not there any more, because somebody took it meanwhile: {names}. What you typed is still "
    "here. Look at the rest, then write it."
)
_CHANGED = N_(
    "What you told, or what is there, has changed since the proposals were made. Nothing is "
    "written yet: look at them once more."
)


def menu() -> ResponseReturnValue:
    """What can go wrong, in plain words."""
    query = urlencode({k: v for k in ("place", "lot") if (v := request.args.get(k, ""))})
    items = [
        {
            "label": kind.title,
            "href": f"/went-wrong/{word}{'?' + query if query else ''}",
            "words": kind.more,
        }
        for word, kind in KINDS.items()
    ]
    return render_template("went_wrong/menu.html", items=items)


def tell(mishap: str) -> ResponseReturnValue:
    """One kind: it is told, judged food by food, and written when the proposals are accepted."""
    earlier = repeated()
    if earlier is not None:
        return earlier
    kind = _kind(mishap)
    session = scope.reading()
    form = ToldForm(kind, request.form if request.method == "POST" else None)
    form.offer(places(session), _offered(session, kind))
    found: list[Meaning] = []
    if request.method == "POST":
        answer, found = _answer(form, session)
        if answer is not None:
            return answer
    else:
        _start(form, session)
    form.key.data = form.key.data or secrets.token_urlsafe(18)
    is_asked = "work_out" in request.form and bool(found)
    return _page(form, found), 422 if request.method == "POST" and not is_asked else 200


def _page(form: ToldForm, found: Sequence[Meaning]) -> str:
    groups = groups_of(form, found)
    return render_template(
        "went_wrong/tell.html",
        form=form,
        kind=KINDS[form.what],
        draft=_draft(form.what),
        groups=groups,
        sources=sources_of(groups),
        lasted=_lasted(form) if found else "",
        air=_air_words(_air(form, scope.reading())) if found else "",
        is_fridge=any(_is_in_fridge(meaning, form.what) for meaning in found),
        deference=DEFERENCE,
    )


def incident_page(incident_id: int) -> ResponseReturnValue:
    """What went wrong and what became of each food, to look back at or to hand on."""
    op = operation(scope.reading(), incident_id)
    if op.about.incident is None:
        raise NotFound(str(incident_id))
    view = incident_view(scope.reading(), op, op.about.incident)
    return render_template("went_wrong/incident.html", op=op, view=view, deference=DEFERENCE)


# -- from what was sent to what is answered ---------------------------------------------------


def _answer(form: ToldForm, session: Session) -> tuple[ResponseReturnValue | None, list[Meaning]]:
    """A redirect when it is written; else the proposals to show, none while a fault stands."""
    if not _is_told(form):
        return None, []
    event = form.told(_lines(form, session), _air(form, session))
    found = meanings(session, event)
    if not found:
        form.trouble(_("Nothing there can have been touched: there is nothing to decide."))
        return None, []
    gone = _gone(form, session, found)
    mark = _fingerprint(found)
    is_same = form.seen.data == mark
    form.list_fates(found, afresh=not is_same)
    form.seen.data = mark
    if not is_same and (gone or "work_out" not in request.form):
        form.trouble(_GONE.format(names=gone) if gone else _CHANGED)
    if "work_out" in request.form or not is_same or not form.accepts(found):
        return None, found
    return write(form, lambda s: _written(form, s, event, found), draft=_draft(form.what)), found


def _is_told(form: ToldForm) -> bool:
    """Are the questions of the first step answered? The token is asked for when it is written."""
    form.validate()
    form.csrf_token.errors = []  # type: ignore[attr-defined]
    return not form.errors


def _lines(form: ToldForm, session: Session) -> list[StockLine]:
    """The lines it happened to."""
    if "refs" in form:
        chosen = set(form.refs.data or ())
        return [x for x in _offered(session, form.what) if str(x.ref) in chosen]
    _begins, ends = form.span
    until = ends.astimezone(form.zone).date() if ends else scope.today()
    return touched(form.what, lines_at(session, form.place_id.data, until))


def _air(form: ToldForm, session: Session) -> Air | None:
    """How warm the air of the place was by its own readings."""
    begins, ends = form.span
    if "place_id" not in form or begins is None or ends is None:
        return None
    return air_between(session, form.place_id.data, begins, ends)


def _gone(form: ToldForm, session: Session, found: Sequence[Meaning]) -> str:
    """The names of what stood on the page before and is there no more."""
    there = {str(ref) for meaning in found for ref in meaning.line.refs}
    names = []
    for text in form.listed_before:
        try:
            lot = session.get(Lot, StockRef.parse(text).lot_id)
        except NotFound:
            continue
        if text not in there and lot is not None:
            names.append(f"{lot.name}, {spoken(code_of(lot.id))}")
    return "; ".join(dict.fromkeys(names))


def _fingerprint(found: Sequence[Meaning]) -> str:
    """Tells whether the proposals are those that were shown; hours that merely passed are not."""
    parts = [
        (list(map(str, m.line.refs)), str(m.fate), [(v.id, str(v.outcome)) for v in m.verdicts])
        for m in found
    ]
    return hashlib.sha256(repr(parts).encode()).hexdigest()[:32]


def _written(
    form: ToldForm, transaction: Session, event: Told, found: Sequence[Meaning]
) -> Written:
    wrong = form.request(event, found)
    posted = went_wrong(transaction, wrong, at=scope.now(), by=scope.person_id())
    counts = Counter(line.fate for line in wrong.lots)
    parts = [f"{counts[fate]} {_(FATES[fate])}" for fate in IncidentFate if counts[fate]]
    words = _("Written: {join}.", join=", ".join(parts))
    return Written(f"/incidents/{posted.operation_id}", words, posted.operation_id)


# -- what a page starts from ------------------------------------------------------------------


def _kind(word: str) -> IncidentKind:
    try:
        return IncidentKind(word)
    except ValueError:
        abort(404)


def _draft(kind: IncidentKind) -> str:
    return f"went-wrong-{kind}"


def _offered(session: Session, kind: IncidentKind) -> list[StockLine]:
    """What it can have happened to, each package by itself; of the lot or place asked for."""
    if kind.is_of_place:
        return []
    code, place = request.args.get("lot", ""), request.args.get("place", "")
    lot_id = lot_id_of(code) if code else None
    lines = touched(kind, stock_lines(session, lot_id=lot_id, one_by_one=True))
    return [line for line in lines if place in ("", str(line.place_id))]


def _start(form: ToldForm, session: Session) -> None:
    """Sensible answers for a page nobody has typed into yet."""
    if "place_id" in form:
        form.place_id.data = _place_asked(form, session)
    elif request.args.get("lot"):
        form.refs.data = [str(option.value) for option in form.refs.choices]
    if "to_at" in form and not form.to_at.is_optional:
        form.to_at.data = scope.now().astimezone(form.zone).replace(tzinfo=None)
    for name in ("from_at", "to_at"):
        if name in form and request.args.get(name):
            with suppress(ValueError):  # an address somebody wrote by hand
                form[name].data = form[name].parse(request.args[name])


def _place_asked(form: ToldForm, session: Session) -> int | None:
    """The place in the address, or where the lot in it lies; else the only one there is."""
    choices = [int(option.value) for option in form.place_id.choices]
    asked: int | None = request.args.get("place", 0, type=int)
    if not asked and request.args.get("lot"):
        lot_id = lot_id_of(request.args["lot"])
        asked = next((x.place_id for x in stock_lines(session, lot_id=lot_id)), 0)
    if asked in choices:
        return asked
    return choices[0] if len(choices) == 1 else None


def _is_in_fridge(meaning: Meaning, kind: IncidentKind) -> bool:
    return kind.is_of_place and meaning.line.place_kind is PlaceKind.FRIDGE


def _lasted(form: ToldForm) -> str:
    """From when to when, and how long that really was."""
    begins, ends = form.span
    if begins is None or ends is None:
        return ""
    hours = hours_words((ends - begins).total_seconds() / 3600)
    return _(
        "{moment} to {moment_2}: {hours}.",
        moment=moment(begins),
        moment_2=moment(ends),
        hours=hours,
    )


def _air_words(air: Air | None) -> str:
    """What the readings of the place say of that time."""
    if air is None:
        return ""
    highest = temperature(air.highest_c)
    if air.hours is None:
        return _(
            "By the readings of the place at most {highest}, with gaps that prove nothing.",
            highest=highest,
        )
    return _(
        "By the readings of the place {hours_words} too warm, at most {highest}.",
        hours_words=hours_words(air.hours),
        highest=highest,
    )
