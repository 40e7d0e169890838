"""The form of the first day: rows by tens, one place and one kind of source for all."""

from collections.abc import Sequence
from datetime import date
from typing import Any

from wtforms import BooleanField, FormField, RadioField, SelectField
from wtforms.validators import DataRequired, ValidationError

from app.language import N_, _
from app.ledger.game import GameIn
from app.ledger.models import Place
from app.ledger.operations.first_day import (
    MOST_PACKETS,
    MOST_ROWS,
    NOT_OLDER_YEARS,
    AlreadyThere,
    FirstDay,
    Since,
    not_older,
)
from app.ledger.operations.intake import SourceIn
from app.ledger.words import Ammunition, PlaceKind, SourceKind
from app.science.classes import Form as FoodForm
from app.science.classes import Treatment
from app.science.foods import Food
from app.science.safety.game import CwdStatus
from app.web import scope
from app.web.fields import (
    EntryForm,
    MassField,
    NumberField,
    PartialDateField,
    text_line,
    text_note,
    worded,
)
from app.web.operations.base import place_choices
from app.web.operations.game_form import AMMUNITION, CWD
from app.web.rows import RowForm, Rows
from app.web.table_of_foods import NUMBERED, food_of

ROWS_AT_ONCE = 10  # the others are folded away
_UNKNOWN = ("?", N_("not known"), "unknown")
_STATES = {
    "raw": (N_("Raw or fresh"), FoodForm.PIECES, frozenset[Treatment]()),
    "raw_ground": (N_("Raw, ground"), FoodForm.GROUND, frozenset({Treatment.GROUND})),
    "cooked": (N_("Cooked"), FoodForm.PIECES, frozenset({Treatment.COOKED})),
    "cooked_ground": (
        N_("Cooked, ground"),
        FoodForm.GROUND,
        frozenset({Treatment.COOKED, Treatment.GROUND}),
    ),
    "blanched": (N_("Blanched"), FoodForm.PIECES, frozenset({Treatment.BLANCHED})),
}
_SOURCES = {
    SourceKind.UNKNOWN: N_("Not known, or mixed"),
    SourceKind.ANIMAL: N_("Animals of ours or shot by us"),
    SourceKind.PLOT: N_("Our own plots"),
    SourceKind.SHOP: N_("Shops"),
    SourceKind.GIFT: N_("Gifts"),
}


class SinceField(PartialDateField):
    """A day, a month, a year, or a question mark; data is None for the last, is_unknown tells."""

    is_unknown = False

    def parse(self, text: str) -> Any:
        """First and last day, or nothing where it is not known."""
        if text.strip().casefold() in _UNKNOWN:
            self.is_unknown = True
            return None
        try:
            first, last = super().parse(text)
        except ValueError:
            raise ValueError(N_("Write 2024, 2024-10, 2024-10-05, or ? when not known.")) from None
        if first > scope.today():
            raise ValueError(N_("That is still to come."))
        return first, last

    def pre_validate(self, form: Any) -> None:
        """A question mark is an answer."""
        if not self.is_unknown:
            super().pre_validate(form)


class PacketsRow(RowForm):
    """One food, in so many packets."""

    typed_fields = ("food", "weight", "since")
    food = text_line(N_("What it is"), most=200, validators=[DataRequired(N_("Say what it is."))])
    state = SelectField(N_("State"), choices=worded((k, words[0]) for k, words in _STATES.items()))
    packets = NumberField(N_("Packets"), low=1, high=MOST_PACKETS, default=1.0)
    weight = MassField(N_("Weight"))
    of = SelectField(
        N_("Weight of"), choices=worded([("all", N_("all together")), ("each", N_("each"))])
    )
    since = SinceField(N_("Since"))

    @property
    def is_filled(self) -> bool:
        """Did somebody type into this row? How many packets and the lists stand there anyway."""
        return any(_typed(self[name]).strip() for name in self.typed_fields)

    def validate_food(self, field: Any) -> None:
        """The words must lead to a food of the table."""
        if field.data and self.chosen is None:
            raise ValidationError(N_("No such food in the table. Try another word, or choose one."))

    def validate_packets(self, field: Any) -> None:
        """Packets are counted."""
        if field.data is not None and field.data != int(field.data):
            raise ValidationError(N_("This should be a whole number."))

    @property
    def chosen(self) -> Food | None:
        """The food of the table that was chosen or that the words lead to."""
        return food_of(self.food.data or "")

    def already_there(self, today: date, years: int) -> AlreadyThere:
        """The row of a checked form."""
        chosen = self.chosen
        if chosen is None:
            raise ValueError("validated before")
        _words, form, treatments = _STATES[self.state.data]
        span = self.since.data
        return AlreadyThere(
            name=NUMBERED.sub("", self.food.data)[:80],
            food_ndb=chosen.ndb_no,
            since=Since(*span) if span else not_older(today, years),
            packets=int(self.packets.data or 1),
            mass_mg=self.weight.mg,
            typed=self.weight.typed or "",
            is_each=self.of.data == "each",
            is_raw=self.state.data.startswith("raw"),
            form=form,
            treatments=treatments,
        )


def _typed(field: Any) -> str:
    text = getattr(field, "typed", None)
    return str((field.data if text is None and isinstance(field.data, str) else text) or "")


class FirstDayForm(EntryForm):
    """What the first day asks."""

    rows = Rows(FormField(PacketsRow), label=N_("Row"), min_entries=MOST_ROWS)
    place_id = SelectField(N_("Where all of this lies"), coerce=int)
    source_kind = RadioField(N_("Where it came from"), choices=worded(_SOURCES.items()))
    source_name = text_line(
        N_("Name of the source"), description=N_("Moose of 2024, Farm shop. May stay empty.")
    )
    cwd_status = RadioField(
        N_("Deer, elk and moose: test for chronic wasting disease"),
        choices=worded((status.value, words) for status, words in CWD.items()),
        default=CwdStatus.UNKNOWN.value,
        description=N_("While a result is awaited, all of them in this list are on hold."),
    )
    ammunition = RadioField(
        N_("Taken with"),
        choices=worded((kind.value, words) for kind, words in AMMUNITION.items()),
        default=Ammunition.UNKNOWN.value,
        description=N_("Lead leaves splinters far from the wound: the mark goes onto every label."),
    )
    looked_sick = BooleanField(
        N_("One of them looked sick, acted strangely or was found dead"),
        description=N_(
            "Then it is not for eating: all wild game of this list is kept only on hold. "
            "Take other game in with a list of its own."
        ),
    )
    years = NumberField(
        N_("Where the age is not known: not older than"),
        low=1,
        high=20,
        description="",
    )
    note = text_note(description=N_("Anything worth remembering; it is kept with every row."))

    def offer(self, places: Sequence[Place]) -> None:
        """Fill the list of places, and say from which year on."""
        self.years.description = _(
            "Years. {years} unless you know better: our judgement, no source.",
            years=NOT_OLDER_YEARS,
        )
        self.place_id.choices = place_choices(places)

    @property
    def tells_of_game(self) -> bool:
        """Was anything said of wild game?"""
        unsaid = (CwdStatus.UNKNOWN.value, Ammunition.UNKNOWN.value)
        return self.looked_sick.data or (self.cwd_status.data, self.ammunition.data) != unsaid

    def start(self, places: Sequence[Place]) -> None:
        """A freezer if there is one, a source nobody knows, three years."""
        cold = [place.id for place in places if PlaceKind(place.kind) is PlaceKind.FREEZER]
        self.place_id.data = cold[0] if cold else None
        self.source_kind.data = SourceKind.UNKNOWN.value
        self.years.data = float(NOT_OLDER_YEARS)

    def tens(self) -> list[tuple[int, bool, list[Any]]]:
        """The rows by tens: the number of the first, whether they are unfolded, and the rows."""
        rows = self.rows.entries
        groups = [rows[i : i + ROWS_AT_ONCE] for i in range(0, len(rows), ROWS_AT_ONCE)]
        return [
            (i * ROWS_AT_ONCE, i == 0 or any(row.form.is_filled for row in group), group)
            for i, group in enumerate(groups)
        ]

    def validate_years(self, field: Any) -> None:
        """Whole years."""
        if field.data is not None and field.data != int(field.data):
            raise ValidationError(N_("This should be a whole number of years."))

    def request(self) -> FirstDay:
        """The request of a checked form."""
        today, years = scope.today(), int(self.years.data or NOT_OLDER_YEARS)
        return FirstDay(
            tuple(row.form.already_there(today, years) for row in self.rows.filled()),
            self.place_id.data,
            SourceIn(SourceKind(self.source_kind.data), self.source_name.data or ""),
            today,
            self.note.data or "",
            self.game(),
            self.reason.data or "",
        )

    def game(self) -> GameIn | None:
        """What was told of wild game; None where nothing was, which is not an answer."""
        if not self.tells_of_game:
            return None
        return GameIn(
            ammunition=Ammunition(self.ammunition.data),
            looked_sick=self.looked_sick.data,
            cwd_status=CwdStatus(self.cwd_status.data),
        )
