"""A tiny application that shows every macro with sample data; used by tests only.

`python -m tests.browser.gallery 5099` serves it on this machine for looking at.
"""

import secrets
from dataclasses import dataclass, field
from datetime import date, timedelta
from pathlib import Path
from types import SimpleNamespace

from flask import Flask, Response, abort, current_app, flash, redirect, render_template, request
from jinja2 import ChoiceLoader, FileSystemLoader, StrictUndefined
from werkzeug.wrappers import Response as AnyResponse
from wtforms import (
    BooleanField,
    DateField,
    FieldList,
    Form,
    FormField,
    HiddenField,
    RadioField,
    SelectField,
    StringField,
    TextAreaField,
)
from wtforms.fields.choices import SelectChoice
from wtforms.validators import DataRequired, ValidationError

from app.language import IN_PAGES
from app.web import window_drawing
from app.web.said import said, said_list
from app.web.window_drawing import WindowView

TODAY = date(2026, 11, 25)
POLICY = "default-src 'self'; frame-ancestors 'none'; base-uri 'none'; form-action 'self'"
WEB = Path(window_drawing.__file__).parent


class MassField(StringField):
    """Stands for the application's field of the same name: the macro goes by the name."""


class TemperatureField(StringField):
    """As above."""


class PartialDateField(StringField):
    """As above."""


class BowlForm(Form):
    bowl = StringField("bowl")
    gross = MassField("gross")
    tare = MassField("tare")


class IntakeForm(Form):
    key = HiddenField(default=lambda: secrets.token_urlsafe(8))
    food = StringField("What is it", [DataRequired("Say what it is.")])
    bowls = FieldList(FormField(BowlForm), "Weigh it", min_entries=3)
    fat = MassField("Back-fat added", description="As the scale shows it, 4 lb 6 1/2 oz too")
    centre = TemperatureField("Temperature at the centre")
    harvested = PartialDateField("Harvested")
    done_on = DateField("Taken in on", default=TODAY)
    place = SelectField(
        "Where it goes",
        choices=[SelectChoice("1", "Chest freezer"), SelectChoice("2", "Cold cellar")],
    )
    origin = RadioField(
        "Where it comes from",
        [DataRequired("Say where it comes from.")],
        choices=[
            SelectChoice("animal", "An animal"),
            SelectChoice("plot", "A plot of the garden"),
            SelectChoice("gift", "A gift"),
        ],
    )
    raw = BooleanField("It is raw")
    remark = TextAreaField("Anything to remember")

    def validate_fat(self, fat: StringField) -> None:
        """Refuse one unit, so that a refusal can be looked at."""
        if "stone" in (fat.data or ""):
            raise ValidationError("“stone” is not a unit this book knows. Use g, kg, oz or lb.")


@dataclass(frozen=True)
class Action:
    label: str
    href: str = "/"
    is_post: bool = False
    fields: dict[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Row:
    code: str
    name: str
    state: str
    window: WindowView | None
    words: str
    place: str
    action: Action | None
    href: str = "/"
    hold: str = ""


def view(
    start: int, early: int, central: int, late: int, words: str, capped: bool = False
) -> WindowView:
    """A window by its days from today."""
    a, b, c, d = (TODAY + timedelta(days=n) for n in (start, early, central, late))
    return WindowView(a, b, c, d, today=TODAY, late_is_capped=capped, sentence=words)


THIS_WEEK = [
    Row("K7-M2", "Moose broth", "cooked, chilled · 1.4 l tub",
        view(-1, 1, 2, 2, "Moose broth: use by 27 November 2026."),
        "Refrigerator limit: use by Friday 27 November", "Fridge", Action("Eat")),
    Row("R3-H9", "Sweetcorn, opened jar", "dried · 84 g left of 210 g",
        view(-5, 8, 14, 26, "Sweetcorn: best before 3 to 21 December 2026."),
        "Opened on 20 November; draws moisture from the air", "Pantry, left", Action("Eat")),
]  # fmt: skip
FREEZER = [
    Row("P4-X6", "Rabbit, jointed", "raw · 0.94 kg packet",
        view(-1500, -420, -300, -150, "Rabbit: its best time ended on 28 June 2026."),
        "Past its window: still safe while frozen, poorer every month", "Chest freezer",
        Action("Cook", is_post=True, fields={"lot": "P4-X6"})),
    Row("B4-T8", "Moose trim", "raw · 1.60 kg packet",
        view(-790, -60, 40, 120, "Moose trim: best before November 2026."),
        "Freezer quality, vacuum bag: best before November 2026", "Chest freezer",
        Action("Dry it")),
    Row("F2-N5", "Trout fillets", "raw · 3 packets, 1.12 kg",
        view(-180, -25, 20, 60, "Trout: past its early date."),
        "Fatty fish: past its early date, eat or give soon", "Chest freezer", Action("Eat")),
]  # fmt: skip
KEEPS = [
    Row("D6-K3", "Apple rings", "dried · 6 pouches, 1.08 kg",
        view(-58, 1200, 2700, 4400, "Apple rings: best before 2030 to 2038."),
        "Slow browning without oxygen", "Pantry, top", Action("Eat")),
    Row("M8-J4", "Moose, ground", "cooked, freeze-dried · 5 pouches, 1.31 kg",
        view(-24, 2000, 4000, 9131, "Moose: best before 2032, likely 2037, to 2051 or longer.",
             True),
        "A weak seal is the main risk; check one pouch in a year", "Pantry, left", Action("Eat")),
    Row("A2-C4", "Squash", "fresh · 11 kg", None, "No window is worked out for it",
        "Cold cellar", None),
]  # fmt: skip
PACKAGES = [
    SimpleNamespace(name="Foil-laminate pouch, quart", note="300 cc absorber", is_chosen=True,
                    window=view(0, 2000, 5500, 9131, "Foil-laminate pouch: 5½ to 25 years.", True),
                    life="5½ to 25 years", why="Slow change without oxygen."),
    SimpleNamespace(name="Vacuum bag, quart", note="300 cc absorber", is_chosen=False,
                    window=view(0, 32, 60, 106, "Vacuum bag: 1 to 3½ months."),
                    life="1 to 3½ months", why="Moisture comes in through the bag."),
    SimpleNamespace(name="Zip bag", note="no absorber", is_chosen=False,
                    window=view(0, 8, 33, 61, "Zip bag: 1 week to 2 months."),
                    life="1 week to 2 months", why="Oxygen inside and through the bag."),
]  # fmt: skip
CAUTIONS = [
    SimpleNamespace(id="raw", severity="stop", source_text="Our judgement.",
                    sentence="This lot is raw. It cannot get a pantry window until it is cooked."),
    SimpleNamespace(id="colour", severity="confirm", source_text="Common practice, no source.",
                    sentence="“No pink” does not tell that meat is done. Was the centre measured?"),
    SimpleNamespace(id="drying", severity="note", source_text="",
                    sentence="Freeze-drying does not cook: what went in raw comes out raw."),
]  # fmt: skip
STEPS = [
    SimpleNamespace(label="Grind", href="/", words="Alone or with others, through the grinder"),
    SimpleNamespace(label="Portion", href="/", words="Into parts that go different ways"),
    SimpleNamespace(
        label="Cook", href="/", words="Until the centre is hot enough, the temperature noted"
    ),
    SimpleNamespace(label="Move", href="/", words=""),
]
BOWLS = [
    SimpleNamespace(name="Blue enamel", tare="412 g"),
    SimpleNamespace(name="Glass bowl", tare="655 g"),
]
PAGES = {"lists": "gallery_lists.html", "form": "gallery_form.html", "lot": "gallery_lot.html"}


def create_gallery() -> Flask:
    """The application; /lists, /lot and /form show all macros between them."""
    app = Flask(
        "gallery",
        template_folder=str(Path(__file__).parent / "templates"),
        static_folder=str(WEB / "static"),
        static_url_path="/static",
    )
    app.secret_key = "only for the gallery"  # noqa: S105
    app.jinja_env.undefined = StrictUndefined
    folders = [FileSystemLoader(str(app.template_folder)), FileSystemLoader(WEB / "templates")]
    app.jinja_env.loader = ChoiceLoader(folders)
    app.jinja_env.globals["csrf_token"] = lambda: "a token"
    app.jinja_env.globals.update(IN_PAGES, said=said, said_list=said_list)
    window_drawing.register(app.jinja_env.globals)
    app.add_url_rule("/", "home", lambda: page("lists"))
    app.add_url_rule("/<name>", "page", page)
    app.add_url_rule("/form", "intake", intake, methods=["GET", "POST"])
    app.config["WRITTEN"] = set()
    app.add_url_rule("/written/<key>", "written", written)
    app.after_request(_strict)
    return app


def page(name: str) -> str:
    """One page of the gallery."""
    if name not in PAGES:
        abort(404)
    return render_template(
        PAGES[name], this_week=THIS_WEEK, freezer=FREEZER, keeps=KEEPS, packages=PACKAGES,
        cautions=CAUTIONS, steps_next=STEPS, form=IntakeForm(), w=KEEPS[1].window,
        past=FREEZER[0].window,
    )  # fmt: skip


def intake() -> str | AnyResponse | tuple[str, int]:
    """The form: refused with 422, or taken with a message that can be undone."""
    form = IntakeForm(request.form)
    if request.method == "POST" and "add_bowl" in request.form:
        form.bowls.append_entry()
    elif request.method == "POST" and form.validate():
        current_app.config["WRITTEN"].add(form.key.data)
        flash({"text": "Taken in: 9.20 kg of moose trim.", "undo": "/undo", "saved": "intake"})  # type: ignore[arg-type]
        return redirect("/lot", 303)
    body = render_template(PAGES["form"], form=form, bowls=BOWLS)
    return (body, 422) if form.errors else body


def written(key: str) -> dict[str, bool]:
    """Was the form with this key taken? A tab may remember what was typed longer than its page."""
    return {"written": key in current_app.config["WRITTEN"]}


def _strict(response: Response) -> Response:
    response.headers["Content-Security-Policy"] = POLICY
    return response


if __name__ == "__main__":
    import sys

    create_gallery().run("127.0.0.1", int(sys.argv[1]))
