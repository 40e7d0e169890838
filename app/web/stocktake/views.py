"""Walk one place with the tablet, compare with the ledger, write the differences, print them."""

import secrets
from collections.abc import Sequence
from dataclasses import dataclass, replace

from flask import redirect, render_template, request
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import Session
from wtforms import BooleanField, HiddenField

from app.language import N_, _, ngettext
from app.ledger.codes import code_of, lot_id_of
from app.ledger.errors import NotFound, Refused
from app.ledger.models import Lot, Place
from app.ledger.operations.stocktake import Differences, Stocktake, compare, stocktake
from app.ledger.queries.places import place_by_id
from app.ledger.queries.stocktake import elsewhere, lots_meant, rows_at, taken_stock
from app.ledger.words import PlaceKind
from app.web import scope
from app.web.fields import EntryForm, text_line, text_note
from app.web.posting import Written, attach, repeated, write
from app.web.stocktake.answers import (
    ExtraRow,
    Row,
    counted_of,
    extras_of,
    found_here_of,
    read,
    rows_of,
    written,
)
from app.web.stocktake.words import difference_lines, names_of, note_of, seal_of

MOST_LOOKED_UP = 30
_NOTHING = N_("Nothing is answered yet. Say of at least one row whether it is there.")
_NO_SUCH_CODE = N_(
    "No lot has this code or name. The last sign of a code checks the others: read it again."
)
_UNREADABLE = N_("Some masses could not be read; they are marked below.")


class StocktakeForm(EntryForm):
    """What is asked beside the rows."""

    seen = HiddenField()
    compared = HiddenField()
    lots = HiddenField()
    look_for = text_line(
        N_("Found here, but not in the list"),
        description=N_("Type the code of its label, or a word of its name."),
    )
    rest_is_there = BooleanField(N_("All that is left unanswered is there"))
    reason = text_note(
        N_("Why does it differ"),
        description=N_("As far as anybody knows: eaten and not written down, another freezer."),
    )
    note = text_note(description=N_("Anything worth remembering."))


@dataclass(frozen=True, slots=True)
class Walk:
    """What is at the place by the ledger, what was looked up, and what was answered."""

    place: Place
    form: StocktakeForm
    rows: list[Row]
    extras: list[ExtraRow]

    @property
    def is_unreadable(self) -> bool:
        """Is there a mass that cannot be read?"""
        return any(row.error for row in self.rows) or any(row.error for row in self.extras)

    def request(self) -> Stocktake:
        """What was counted so far."""
        seen, rest = read(self.form.seen.data or ""), bool(self.form.rest_is_there.data)
        return Stocktake(
            self.place.id,
            counted_of(self.rows, self.extras, seen, request.form, rest),
            scope.today(),
            reason=self.form.reason.data or "",
            found_here=found_here_of(self.extras),
        )

    def full_request(self, found: Differences) -> Stocktake:
        """The same with the note that the ledger keeps."""
        names = names_of(self.rows, self.extras)
        unlooked = sum(1 for row in self.rows if row.answer is None)
        unlooked = 0 if self.form.rest_is_there.data else unlooked
        words = note_of(self.place.name, found, names, unlooked)
        note = "\n".join(text for text in (self.form.note.data, words) if text)
        return replace(self.request(), note=note)


def page(place_id: int) -> ResponseReturnValue:
    """The walk through one place: answer, compare, write."""
    earlier = repeated()
    if earlier is not None:
        return earlier
    place = place_by_id(scope.reading(), place_id)
    if PlaceKind(place.kind).is_dryer:  # its trays are weighed, and counted when it is unloaded
        return redirect(f"/places/{place.id}", 303)
    form = StocktakeForm(request.form if request.method == "POST" else None)
    if request.method == "GET":
        return _shown(_walk(scope.reading(), place, form), None, 200)
    if "look_up" in request.form:
        status = 200 if _look_up(scope.reading(), form) else 422
        form.compared.data = ""
        return _shown(_walk(scope.reading(), place, form), None, status)
    walk = _walk(scope.reading(), place, form)
    found = _compared(walk, scope.reading())
    if found is None:
        form.compared.data = ""
        return _shown_anew(place, form)
    if form.compared.data != seal_of(found):
        form.compared.data = seal_of(found)
        return _shown(walk, found, 200)
    answer = write(form, lambda s: _written(s, walk, found), draft=_draft(place))
    return answer if answer is not None else _shown_anew(place, form)


def _walk(session: Session, place: Place, form: StocktakeForm) -> Walk:
    seen = read(form.seen.data or "")
    codes = [lot_id_of(code) for code in (form.lots.data or "").split()[:MOST_LOOKED_UP]]
    return Walk(
        place,
        form,
        rows_of(rows_at(session, place.id), request.form, seen),
        extras_of(elsewhere(session, codes, place.id), request.form),
    )


def _look_up(session: Session, form: StocktakeForm) -> bool:
    """Add the lots that are meant to those that were looked up."""
    words = form.look_for.data or ""
    try:
        lot = session.get(Lot, lot_id_of(words))
        lots = [lot.id] if lot else []
    except NotFound:
        lots = lots_meant(session, words) if words else []
    if not lots:
        form.look_for.errors = [*form.look_for.errors, _NO_SUCH_CODE]
        return False
    codes = [*(form.lots.data or "").split(), *map(code_of, lots)]
    form.lots.data = " ".join(dict.fromkeys(codes))
    form.look_for.data = ""
    return True


def _compared(walk: Walk, session: Session) -> Differences | None:
    """The differences; None when something has to be put right first."""
    if walk.is_unreadable:
        walk.form.trouble(_UNREADABLE)
        return None
    counted = walk.request()
    if not counted.counted and not counted.found_here:
        walk.form.trouble(_NOTHING)
        return None
    try:
        return compare(session, counted)
    except Refused as refused:
        attach(walk.form, refused.problems)
        return None


def _shown_anew(place: Place, form: StocktakeForm) -> ResponseReturnValue:
    """The page as refused, with what the ledger has now: somebody may have written meanwhile."""
    with scope.book().reading() as session:
        walk = _walk(session, place, form)
        found = None
        if form.compared.data:
            try:
                found = compare(session, walk.request())
            except Refused:
                form.compared.data = ""  # what was compared is not so any more
        return _shown(walk, found, 422)


def _shown(walk: Walk, found: Differences | None, status: int) -> ResponseReturnValue:
    form = walk.form
    form.seen.data = written({row.line.ref: row.line.mass_mg for row in walk.rows})
    form.key.data = form.key.data or secrets.token_urlsafe(18)
    names = names_of(walk.rows, walk.extras)
    body = render_template(
        "stocktake/walk.html",
        place=walk.place,
        form=form,
        draft=_draft(walk.place),
        rows=walk.rows,
        extras=walk.extras,
        found=found,
        differences=difference_lines(found, names) if found is not None else [],
        restore=request.method == "GET",
    )
    return body, status


def _written(session: Session, walk: Walk, found: Differences) -> Written:
    posted = stocktake(session, walk.full_request(found), at=scope.now(), by=scope.person_id())
    words = (
        _("everything agrees")
        if found.is_none
        else _("{differences} written", differences=_count(found))
    )
    return Written(
        f"/stocktakes/{posted.operation_id}",
        _("Stock taken of {name}: {words}.", name=walk.place.name, words=words),
        posted.operation_id,
    )


def _count(found: Differences) -> str:
    parts: Sequence[object] = (*found.missing, *found.extra, *found.moved)
    return ngettext("{number} difference", "{number} differences", len(parts))


def _draft(place: Place) -> str:
    return f"stocktake-{place.id}"


def one(operation_id: int) -> ResponseReturnValue:
    """What a stocktake found, to print."""
    found = taken_stock(scope.reading(), operation_id)
    if found is None:
        return redirect(f"/operations/{operation_id}", 303)
    return render_template("stocktake/taken.html", found=found)
