"""What every operation's form shares: which food, on what day, and lists to choose from."""

from collections.abc import Iterable, Sequence
from datetime import date, datetime
from typing import Any, ClassVar

from sqlalchemy.orm import Session
from wtforms import BooleanField, SelectField, SelectMultipleField
from wtforms.fields.choices import SelectChoice
from wtforms.validators import DataRequired, ValidationError
from wtforms.widgets import CheckboxInput, ListWidget

from app.language import N_, _
from app.ledger.codes import spoken
from app.ledger.models import Place
from app.ledger.operations._post import Posted
from app.ledger.queries.stock import StockLine
from app.ledger.stock import StockRef
from app.ledger.temperatures import Typed
from app.ledger.words import OperationKind, PlaceKind
from app.science.classes import FoodClass
from app.science.safety.allergens import AllergenGroup
from app.web.display import mass
from app.web.fields import (
    DayField,
    EntryForm,
    StockField,
    TemperatureField,
    choices,
    text_note,
    worded,
)

NAME = [DataRequired(N_("Give it a name."))]


def choice_words(line: StockLine) -> str:
    """How a row of stock reads in a list of choices."""
    number = (
        _(", no. {package_number}", package_number=line.package_number)
        if line.package_number
        else ""
    )
    raw = _(", raw") if line.is_raw else ""
    held = _(", on hold") if line.holds else ""
    return (
        f"{spoken(line.code)} {line.name}{raw}{held}{number} · {mass(line.mass_mg)} · {line.place}"
    )


def stock_choices(lines: Iterable[StockLine]) -> list[SelectChoice]:
    """Rows of stock to choose from."""
    return choices((str(line.ref), choice_words(line)) for line in lines)


def place_choices(places: Iterable[Place]) -> list[SelectChoice]:
    """Places where food can lie; a dryer is loaded, not chosen."""
    return choices((place.id, place.name) for place in places if not PlaceKind(place.kind).is_dryer)


FISH = (FoodClass.FISH_LEAN, FoodClass.FISH_FATTY)
NONE_OF_THESE = "none"


def typed(field: TemperatureField) -> Typed | None:
    """A temperature as the ledger takes it, with the unit it was typed in."""
    read = field.data
    return Typed(read.value, read.unit, read.temp_c) if read else None


def allergens_field(label: str, description: str) -> SelectMultipleField:
    """Allergens to tick, and an answer for none of them."""
    return SelectMultipleField(
        label,
        choices=worded(
            [
                (NONE_OF_THESE, N_("None of these, by its packet")),
                *((a.value, a.value.capitalize()) for a in AllergenGroup),
            ]
        ),
        widget=ListWidget(prefix_label=False),
        option_widget=CheckboxInput(),
        validators=[_none_or_some],
        description=description,
    )


def _none_or_some(_form: Any, field: SelectMultipleField) -> None:
    if NONE_OF_THESE in (field.data or ()) and len(field.data) > 1:
        raise ValidationError(N_("Either none of these, or those that are in it."))


def told_allergens(ticked: Sequence[str] | None) -> frozenset[str] | None:
    """What was ticked; None when nothing was, which is no answer."""
    return frozenset(ticked) - {NONE_OF_THESE} if ticked else None


def place_field(label: str = N_("Where it is now")) -> SelectField:
    return SelectField(label, coerce=int)


class OperationForm(EntryForm):
    """What every operation asks: which food, on what day, and anything worth noting.

    carry_out turns the checked form into a request and calls the use-case with it.
    """

    verb: ClassVar[OperationKind]
    at_bench: ClassVar[PlaceKind] = PlaceKind.BENCH  # where the result usually goes
    ref = StockField(N_("From"))
    done_on = DayField(N_("Day"))
    note = text_note(description=N_("Anything worth remembering."))

    def offer(self, lines: Sequence[StockLine], places: Sequence[Place]) -> None:
        """Fill the lists to choose from."""
        self.ref.choices = stock_choices(line for line in lines if self.takes(line))
        if "place_id" in self:
            self.place_id.choices = place_choices(places)

    def takes(self, line: StockLine) -> bool:
        """Can this operation start from that line?"""
        return not line.place_kind.is_dryer

    def ask_only_what_matters(self, line: StockLine | None) -> None:
        """Leave out the questions that no rule asks of this line."""

    def start(self, line: StockLine | None, places: Sequence[Place], today: date) -> None:
        """Sensible defaults for a form nobody has typed into yet."""
        self.done_on.data = today
        if line is not None:
            self.ref.data = str(line.ref)
            if "mass_mg" in self and "all_of_it" not in self:
                self.mass_mg.data = line.mass_mg
        if "place_id" in self:
            self.place_id.data = self._usual_place(line, places)

    def _usual_place(self, line: StockLine | None, places: Sequence[Place]) -> int | None:
        wanted = [place.id for place in places if PlaceKind(place.kind) is self.at_bench]
        if wanted:
            return wanted[0]
        return line.place_id if line else None

    def carry_out(self, session: Session, at: datetime, by: int | None) -> Posted:
        """Do it in the open transaction."""
        raise NotImplementedError


class StockChoices(SelectMultipleField):
    """Several packages at once, each a big touch row."""

    widget = ListWidget(prefix_label=False)
    option_widget = CheckboxInput()

    @property
    def refs(self) -> tuple[StockRef, ...]:
        """What was ticked."""
        return tuple(StockRef.parse(text) for text in self.data or ())

    def pre_validate(self, form: Any) -> None:
        """Somebody else may have taken it since the page was opened."""
        offered = {str(option.value) for option in self.choices}
        if any(text not in offered for text in self.data or ()):
            raise ValidationError(
                N_(
                    "Some of what you ticked is not on hand any more: somebody took it, or it was "
                    "written already. Look again and tick what is there."
                )
            )


class UnitsForm(OperationForm):
    """An operation on packages, several at once, or on part of a single lot."""

    ref = None  # type: ignore[assignment]
    refs = StockChoices(N_("Which"))
    all_here = BooleanField(N_("All of this lot here"))

    def takes(self, line: StockLine) -> bool:
        """Whatever the page offers, a load in the dryer too."""
        return True

    def offer(self, lines: Sequence[StockLine], places: Sequence[Place]) -> None:
        """Everything of the lot it was started from; of several, all at one tick."""
        taken = [line for line in lines if self.takes(line)]
        self.refs.choices = stock_choices(taken)
        if len(taken) < 2 or len({(line.lot_id, line.place_id) for line in taken}) > 1:
            del self.all_here
        else:
            whole = mass(sum(line.mass_mg for line in taken))
            self.all_here.label.text = _(
                "All of this lot here: {taken}, together {whole}", taken=len(taken), whole=whole
            )
        if "place_id" in self:
            self.place_id.choices = place_choices(places)

    def start(self, line: StockLine | None, places: Sequence[Place], today: date) -> None:
        """The row it was started from is ticked."""
        self.done_on.data = today
        if line is not None and self.takes(line):
            self.refs.data = [str(line.ref)]

    @property
    def chosen(self) -> tuple[StockRef, ...]:
        """What was ticked; all that was offered where that was ticked instead."""
        if "all_here" in self and self.all_here.data:
            return tuple(StockRef.parse(str(option.value)) for option in self.refs.choices)
        return self.refs.refs


def fields_of(form: OperationForm) -> list[Any]:
    """The fields in the order of the page: which food, what, where, when, note."""
    first = [
        form[name]
        for name in ("ref", "refs", "all_here")
        if name in form and form[name] is not None
    ]
    last_names = ("place_id", "done_on", "note", "reason")
    elsewhere = ("key", "csrf_token", "place_to", *last_names)
    own = [f for f in form if f not in first and f.short_name not in elsewhere]
    last = [form[name] for name in last_names if name in form]
    return [*first, *own, *last]
