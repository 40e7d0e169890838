"""The pages on which devices are paired, listed and shut out."""

import secrets

from flask import abort, current_app, flash, redirect, render_template, request
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import Session
from wtforms.validators import DataRequired

from app.language import N_, _
from app.ledger import devices as ledger
from app.ledger.errors import NotFound
from app.ledger.models import PostingKey
from app.web import entrance, scope
from app.web.csrf import is_ours
from app.web.fields import EntryForm, text_line
from app.web.posting import again, is_key
from app.web.security import cookie_name


class PairForm(EntryForm):
    """The code from the server's screen, and what to call this device."""

    code = text_line(
        N_("Code"),
        validators=[DataRequired(N_("Type the code; paste it if you like."))],
        description=N_(
            "Eight digits. It stands where the server was started, or on a paired device "
            "under Household, Devices. It lasts ten minutes."
        ),
    )
    name = text_line(
        N_("What to call this device"),
        most=ledger.NAME_LENGTH,
        validators=[DataRequired(N_("Give it a name, so that you know it in the list."))],
        description=N_("Kitchen tablet"),
    )


def pair() -> ResponseReturnValue:
    """Type a code, and this device may open the ledger from now on."""
    if request.method == "GET" and entrance.is_paired():
        return redirect("/", 303)
    form = PairForm(request.form if request.method == "POST" else None)
    if request.method == "POST" and form.validate():
        paired = scope.book().write(lambda session: _pair_once(session, form))
        if isinstance(paired, PostingKey):
            return again(paired)  # a double tap: the first answer has brought the cookie
        if paired is not None:
            flash(_("{data} is paired.", data=form.name.data))
            answer = redirect("/", 303)
            if request.is_secure:
                answer.delete_cookie(entrance.COOKIE)
            answer.set_cookie(
                cookie_name(entrance.COOKIE),
                paired.token,
                max_age=entrance.COOKIE_SECONDS,
                httponly=True,
                samesite="Lax",
                secure=request.is_secure,
            )
            return answer
        form.code.errors = [_("That code is wrong or too old. Ask for a new one.")]
    form.key.data = form.key.data or secrets.token_urlsafe(18)
    page = render_template("devices/pair.html", form=form)
    return page, 422 if request.method == "POST" else 200


def _pair_once(session: Session, form: PairForm) -> ledger.Paired | PostingKey | None:
    """Pair, unless this very form did; a wrong code is counted, so that is kept too."""
    key = form.key.data or ""
    earlier = session.get(PostingKey, key)
    if earlier is not None:
        session.expunge(earlier)
        return earlier
    paired = ledger.pair(session, form.code.data, form.name.data, at=scope.now())
    if paired is not None and request.is_secure:
        _end_open_pairing(session)
    if paired is not None and is_key(key):
        session.add(PostingKey(key=key, location="/", recorded_at=scope.now()))
    return paired


def _end_open_pairing(session: Session) -> None:
    """What this device was given over plain http may have been read on the way: it ends now."""
    earlier = ledger.device_of(session, request.cookies.get(entrance.COOKIE, ""))
    if earlier is not None:
        ledger.remove(session, earlier.id)


def page(code: str = "") -> ResponseReturnValue:
    """Every paired device, and a code for the next."""
    return render_template(
        "devices/devices.html",
        devices=ledger.devices(scope.reading()),
        is_opened=current_app.extensions["stillroom.settings"].is_opened,
        code=" ".join((code[:4], code[4:])) if code else "",
        minutes=int(ledger.CODE_LASTS.total_seconds() // 60),
    )


def new_code() -> ResponseReturnValue:
    """Show a code for one more device."""
    if not is_ours(request.form):
        abort(400)
    at = scope.now()
    return page(scope.book().write(lambda session: ledger.new_code(session, at=at)))


def remove(device_id: int) -> ResponseReturnValue:
    """Shut a device out."""
    if not is_ours(request.form):
        abort(400)
    try:
        name = scope.book().write(lambda session: ledger.remove(session, device_id))
    except NotFound:
        flash(_("That device was removed already."))
    else:
        flash(_("{name} is shut out. To let it in again, pair it anew.", name=name))
    return redirect("/household/devices", 303)
