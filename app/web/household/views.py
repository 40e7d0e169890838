"""The first run, the household's page, its settings, and what can be added to it."""

import dataclasses
import secrets
from urllib.parse import urlsplit

from flask import abort, flash, redirect, render_template, request, session
from flask.typing import ResponseReturnValue
from sqlalchemy import select
from sqlalchemy.orm import Session

from app.language import LANGUAGES, N_, _, figures, speak
from app.ledger import household, windows
from app.ledger.errors import NotFound
from app.ledger.models import Household, Person
from app.ledger.queries import places as owned
from app.ledger.words import UnitSystem
from app.science.packaging import PACKAGINGS, PackagingKind
from app.units import format_volume
from app.web import scope
from app.web.address_code import address_code
from app.web.csrf import is_ours
from app.web.fields import EntryForm
from app.web.household.add_forms import ADD_FORMS, AddForm
from app.web.household.first_run import FirstRunForm
from app.web.household.first_steps import first_items
from app.web.household.settings_form import METRES_PER_FOOT, RULE_SET_WORDS, SettingsForm
from app.web.household.zones import zone_of_machine, zones
from app.web.posting import Written, write

_THIS_MACHINE = ("localhost", "127.0.0.1", "::1")
FEET_ROUNDING_M = 0.02  # the form shows tenths of a foot: saving it untouched must change nothing


def first_run() -> ResponseReturnValue:
    """The page that starts a ledger."""
    if scope.household() is not None:
        return redirect("/", 303)
    form = FirstRunForm(request.form if request.method == "POST" else None)
    if request.method == "POST":
        answer = write(form, lambda s: _set_up(form, s), draft="first-run")
        if answer is not None:
            return answer
    else:
        form.start(zone_of_machine())
    return _page("household/first_run.html", form, zones=zones())


def _set_up(form: FirstRunForm, transaction: Session) -> Written:
    household.set_up(transaction, form.request(), at=scope.now())
    session["person"] = transaction.scalar(select(Person.id).order_by(Person.id).limit(1))
    words = _(
        "The ledger of {household} is open, and {person} writes on this device. Next: "
        "“Write an entry” and take in the first food.",
        household=form.name.data,
        person=form.names[0],
    )
    return Written("/first-steps", words)


def first_steps() -> ResponseReturnValue:
    """What to do in the first ten minutes, and what of it is done."""
    return render_template("household/first_steps.html", items=first_items(scope.reading()))


def page() -> ResponseReturnValue:
    """What the household told us about itself."""
    reading, known = scope.reading(), _known()
    address = _calendar_address(reading)
    is_here = urlsplit(request.host_url).hostname in _THIS_MACHINE
    return render_template(
        "household/household.html",
        household=known,
        altitude=altitude_words(known.altitude_m),
        rule_set=RULE_SET_WORDS[known.rule_set],
        writer=scope.person_id(),
        reads=_reads(),
        languages=_languages(),
        people=owned.people(reading),
        bowls=owned.bowls(reading),
        packages=[
            (
                package,
                PACKAGINGS[PackagingKind(package.kind)].words,
                figures(format_volume(package.volume_ml * 1e-6, scope.units())),
            )
            for package in owned.packagings(reading)
        ],
        absorbers=owned.absorbers(reading),
        calendar=address,
        code=address_code(address) if address and not is_here else "",
        is_this_machine=is_here,
    )


def _reads() -> list[tuple[str, str, bool]]:
    """The units that the writer may choose, and which are chosen; none where nobody writes."""
    writer = scope.person()
    if writer is None:
        return []
    kinds = (
        ("", N_("As the household")),
        (str(UnitSystem.METRIC), N_("Grams, °C")),
        (str(UnitSystem.US), N_("Pounds, ounces, °F")),
    )
    return [(value, words, value == (writer.units or "")) for value, words in kinds]


def _languages() -> list[tuple[str, str, bool]]:
    """The languages that the writer may choose by their own names, and which is chosen."""
    writer = scope.person()
    if writer is None or len(LANGUAGES) == 1:
        return []
    kinds = (("", _("As the device asks")), *LANGUAGES.items())
    return [(code, words, code == (writer.language or "")) for code, words in kinds]


def altitude_words(altitude_m: float) -> str:
    """An altitude in the household's units, the other beside it."""
    metres, feet = f"{altitude_m:.0f} m", f"{altitude_m / METRES_PER_FOOT:.0f} ft"
    return f"{feet} ({metres})" if scope.units() == "us" else f"{metres} ({feet})"


def writer() -> ResponseReturnValue:
    """Say who writes on this device; 0 is nobody in particular."""
    chosen = request.form.get("person", type=int)
    if not is_ours(request.form) or chosen is None:
        abort(400)
    if chosen == 0:
        session.pop("person", None)
        scope.speak()
        flash(_("Entries from this device are written without a name."))
        return redirect("/household", 303)
    person = scope.reading().get(Person, chosen)
    if person is None:
        abort(404)
    session["person"] = person.id
    scope.speak()
    flash(_("{name} writes on this device.", name=person.name))
    return redirect("/household", 303)


def units() -> ResponseReturnValue:
    """Say which units the person who writes on this device reads first."""
    chosen, writes = request.form.get("units"), scope.person_id()
    if not is_ours(request.form) or writes is None or chosen not in ("", *map(str, UnitSystem)):
        abort(400)
    wanted = UnitSystem(chosen) if chosen else None
    try:
        scope.book().write(lambda session: household.change_units(session, writes, wanted))
    except NotFound:
        abort(404)
    flash(_("Weights and temperatures are shown that way where you write."))
    return redirect("/household", 303)


def reading_language() -> ResponseReturnValue:
    """Say in which language the person who writes on this device reads."""
    chosen, writes = request.form.get("language"), scope.person_id()
    if not is_ours(request.form) or writes is None or chosen not in ("", *LANGUAGES):
        abort(400)
    wanted = chosen or None
    try:
        scope.book().write(lambda session: household.change_language(session, writes, wanted))
    except NotFound:
        abort(404)
    speak(wanted or scope.asked_language())
    flash(_("That is the language wherever you write."))
    return redirect("/household#language", 303)


def calendar() -> ResponseReturnValue:
    """Give the calendar an address, another one, or none."""
    if not is_ours(request.form):
        abort(400)
    wanted = request.form.get("address") != "off"
    token = secrets.token_urlsafe(24) if wanted else None
    had_one = scope.book().write(lambda session: _change_address(session, token))
    if not wanted:
        flash(_("The calendar has no address any more; phones see nothing new."))
    elif had_one:
        flash(
            _("The calendar has a new address. The old one is gone: tell each phone the new one.")
        )
    else:
        flash(_("The calendar has an address now."))
    return redirect("/household#calendar", 303)


def _change_address(session: Session, token: str | None) -> bool:
    """Give the calendar another address; had it one before?"""
    had_one = household.calendar_token(session) is not None
    household.change_calendar_token(session, token)
    return had_one


def _calendar_address(reading: Session) -> str | None:
    token = household.calendar_token(reading)
    return None if token is None else f"{request.host_url}calendar/{token}.ics"


def settings() -> ResponseReturnValue:
    """Change the household's settings."""
    form = SettingsForm(request.form if request.method == "POST" else None)
    if request.method == "POST":
        answer = write(form, lambda s: _change(form, s), draft="settings")
        if answer is not None:
            return answer
    else:
        form.start(_known())
    return _page("household/settings.html", form, zones=zones())


def _change(form: SettingsForm, transaction: Session) -> Written:
    before = transaction.scalars(select(Household.altitude_m)).one()
    wanted = form.request()
    if abs(wanted.altitude_m - before) < FEET_ROUNDING_M:
        wanted = dataclasses.replace(wanted, altitude_m=before)
    household.change_settings(transaction, wanted)
    if wanted.altitude_m == before:
        return Written("/household", _("The settings are changed."))
    count = windows.refresh_all(transaction)
    words = _(
        "The settings are changed, and {count} windows worked out again for the new altitude.",
        count=count,
    )
    return Written("/household", words)


def add(thing: str) -> ResponseReturnValue:
    """Add somebody or something."""
    if thing not in ADD_FORMS:
        abort(404)
    form = ADD_FORMS[thing](request.form if request.method == "POST" else None)
    if request.method == "POST":
        answer = write(form, lambda s: _added(form, s), draft=f"add-{thing}")
        if answer is not None:
            return answer
    return _page("household/add.html", form, draft=f"add-{thing}")


def _added(form: AddForm, transaction: Session) -> Written:
    form.carry_out(transaction)
    return Written("/household", _("Added: {name}.", name=form["name"].data.strip()))


def _known() -> Household:
    known = scope.household()
    if known is None:
        abort(404)
    return known


def _page(template: str, form: EntryForm, **more: object) -> ResponseReturnValue:
    form.key.data = form.key.data or secrets.token_urlsafe(18)
    page = render_template(template, form=form, **more)
    return page, 422 if request.method == "POST" else 200
