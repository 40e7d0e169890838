"""The intake form: what, from where, since when, and the bowls."""

from collections.abc import Sequence
from datetime import date, datetime
from typing import Any

from sqlalchemy.orm import Session
from wtforms import RadioField, SelectField
from wtforms.validators import DataRequired, ValidationError

from app.language import N_
from app.ledger.models import Place
from app.ledger.operations._post import BowlWeighed, Posted
from app.ledger.operations.intake import Intake, SourceIn, intake
from app.ledger.queries.last_time import LastIntake
from app.ledger.words import PlaceKind, SourceKind
from app.science.classes import Form, Treatment
from app.science.foods import Food, all_foods
from app.science.packaging import PackagingKind
from app.web.fields import (
    DayField,
    EntryForm,
    NumberField,
    PartialDateField,
    text_line,
    text_note,
    worded,
)
from app.web.operations.base import allergens_field, place_choices, told_allergens
from app.web.operations.game_form import GameFields
from app.web.rows import bowl_rows
from app.web.table_of_foods import food_of, food_words

_SOURCES = {
    SourceKind.ANIMAL: N_("An animal"),
    SourceKind.PLOT: N_("Our own plot"),
    SourceKind.SHOP: N_("A shop"),
    SourceKind.GIFT: N_("A gift"),
    SourceKind.UNKNOWN: N_("Not known"),
}
_FORMS = {
    Form.WHOLE: N_("Whole or large cuts"),
    Form.PIECES: N_("Pieces, trim, diced"),
    Form.GROUND: N_("Ground"),
    Form.LIQUID: N_("Liquid"),
    Form.POWDER: N_("Powder"),
}
_STATES = {"raw": N_("Raw or fresh"), "cooked": N_("Cooked"), "blanched": N_("Blanched")}
WRAPS = {
    PackagingKind.TUB: N_("A lidded tub, or nothing"),
    PackagingKind.ZIP_BAG: N_("A zip bag"),
    PackagingKind.VACUUM_BAG: N_("A vacuum bag"),
    PackagingKind.BUTCHER_PAPER: N_("Butcher paper"),
}


class IntakeForm(EntryForm, GameFields):
    """What intake asks."""

    name = text_line(
        N_("What is it"),
        validators=[DataRequired(N_("Give it a name."))],
        description=N_("As you would call it: Moose trim."),
    )
    food = text_line(
        N_("Nearest food in the table"),
        validators=[DataRequired(N_("Choose the nearest food; its water and fat are used."))],
        most=200,  # the longest name in the table has 103
        description=N_("Type a word and choose: moose, backfat, sweet corn."),
    )
    form = RadioField(
        N_("How it is cut"),
        choices=worded((f.value, words) for f, words in _FORMS.items()),
        description=N_("Ground food keeps less long than whole cuts, so it makes a difference."),
    )
    state = RadioField(
        N_("State"),
        choices=worded(_STATES.items()),
        description=N_("Raw food is marked RAW until a cooking met its target, by a reading."),
    )
    bowls = bowl_rows(
        N_("Weigh it, bowl by bowl"),
        least=5,
        description=N_(
            "Gross is bowl and food together, tare the empty bowl, net the food alone. Without a "
            "bowl leave the tare empty."
        ),
    )
    source_kind = RadioField(
        N_("Where from"), choices=worded((k.value, words) for k, words in _SOURCES.items())
    )
    source_name = text_line(N_("Name of the source"), description=N_("Moose bull, upper field…"))
    tag = text_line(N_("Tag or licence"), description=N_("Keep it with the lot."))
    from_whom = text_line(
        N_("Who gave or sold it"), description=N_("So that a recall or a question can be followed.")
    )
    harvest = PartialDateField(
        N_("Harvested or killed"),
        is_optional=True,
        description=N_("A year, a month or a day: 2024, 2024-10 or 2024-10-05."),
    )
    kept_since = PartialDateField(
        N_("Frozen or kept like this since"),
        is_optional=True,
        description=N_("Only if before today. A year or a month is enough."),
    )
    fat = NumberField(
        N_("Fat, % if you know it"),
        is_optional=True,
        high=99.0,
        description=N_("From the packet or a test; else the table's is used."),
    )
    allergens = allergens_field(
        N_("Contains"),
        N_(
            "Fish, eggs and milk are marked by themselves. Nothing ticked: nobody looked, and what "
            "was bought or given counts as not known."
        ),
    )
    wrap = RadioField(
        N_("Wrapped in"),
        choices=worded((k.value, words) for k, words in WRAPS.items()),
        description=N_("In the freezer it tells how fast the food dries at its surface."),
    )
    place_id = SelectField(
        N_("Where it is now"),
        coerce=int,
        description=N_("How warm that place is decides how long it keeps."),
    )
    done_on = DayField(N_("Day"), description=N_("When it was weighed and put there."))
    note = text_note()

    def offer(self, places: Sequence[Place]) -> None:
        """The places it can lie in."""
        self.place_id.choices = place_choices(places)

    def start(self, places: Sequence[Place], today: date) -> None:
        """Sensible defaults."""
        self.done_on.data = today
        self.form.data, self.state.data = Form.PIECES.value, "raw"
        self.source_kind.data = SourceKind.ANIMAL.value
        self.wrap.data = PackagingKind.TUB.value
        bench = [place.id for place in places if PlaceKind(place.kind) is PlaceKind.FRIDGE]
        self.place_id.data = bench[0] if bench else None

    def start_again(self, last: LastIntake) -> None:
        """As such food was taken in last time; weights, days and what a rule asks stay open."""
        food = next((f for f in all_foods() if f.ndb_no == last.food_ndb), None)
        self.name.data = last.name
        self.food.data = food_words(food) if food else ""
        self.form.data, self.state.data = last.form.value, _state_of(last)
        self.source_kind.data = last.source_kind.value
        if last.source_kind in (SourceKind.SHOP, SourceKind.GIFT):
            self.from_whom.data = last.from_whom
        if last.wrap in WRAPS:
            self.wrap.data = last.wrap.value
        if last.place_id in {option.value for option in self.place_id.choices}:
            self.place_id.data = last.place_id
        self.allergens.data = sorted(last.contains)

    def validate_food(self, field: Any) -> None:
        """The text must lead to one food of the table."""
        if field.data and self.chosen_food() is None:
            raise ValidationError(N_("No such food in the table. Choose one of the list."))

    def chosen_food(self) -> Food | None:
        """The food of the table that was chosen or that the words lead to."""
        return food_of(self.food.data or "")

    def carry_out(self, session: Session, at: datetime, by: int | None) -> Posted:
        """Take it in."""
        return intake(session, self.request(), at=at, by=by)

    def request(self) -> Intake:
        """The request of a checked form."""
        chosen = self.chosen_food()
        if chosen is None:
            raise ValueError("validated before")
        since = self.kept_since.data
        return Intake(
            name=self.name.data,
            food_ndb=chosen.ndb_no,
            form=Form(self.form.data),
            source=SourceIn(
                kind=SourceKind(self.source_kind.data),
                name=self.source_name.data or self.name.data,
                tag=self.tag.data,
                from_whom=self.from_whom.data,
            ),
            bowls=tuple(_bowl(row.form) for row in self.bowls.filled()),
            place_id=self.place_id.data,
            done_on=self.done_on.data,
            harvest=self.harvest.data,
            kept_since=since[0] if since else None,
            is_raw=self.state.data == "raw",
            treatments=_treatments(self.state.data, Form(self.form.data)),
            allergens=told_allergens(self.allergens.data),
            fat_fraction=self.fat.data / 100.0 if self.fat.data is not None else None,
            wrap=PackagingKind(self.wrap.data),
            game=self.game_of(chosen),
            warm_hours=self.warm_hours.data,
            reason=self.reason.data,
            note=self.note.data,
        )


def _state_of(last: LastIntake) -> str:
    if Treatment.COOKED in last.treatments:
        return "cooked"
    return "blanched" if Treatment.BLANCHED in last.treatments else "raw"


def _bowl(row: Any) -> BowlWeighed:
    tare = row.tare.data
    return BowlWeighed(
        bowl=row.bowl.data,
        gross_mg=row.gross.mg,
        gross_typed=row.gross.data.typed,
        tare_mg=tare.mass_mg if tare else 0,
        tare_typed=tare.typed if tare else "",
    )


def _treatments(state: str, form: Form) -> frozenset[Treatment]:
    words = {"cooked": {Treatment.COOKED}, "blanched": {Treatment.BLANCHED}}.get(state, set())
    return frozenset(words | ({Treatment.GROUND} if form is Form.GROUND else set()))
