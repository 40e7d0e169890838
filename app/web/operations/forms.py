"""One form for each operation: what it asks, how it starts, and the request it becomes."""

from collections.abc import Callable, Iterable, Sequence
from datetime import date, datetime
from typing import Any, ClassVar

from sqlalchemy.orm import Session
from wtforms import (
    BooleanField,
    FormField,
    RadioField,
    SelectField,
    SelectMultipleField,
)
from wtforms.fields.choices import SelectChoice
from wtforms.validators import DataRequired, ValidationError
from wtforms.widgets import CheckboxInput, ListWidget

from app.ledger.codes import spoken
from app.ledger.models import Place
from app.ledger.operations import (
    blanch,
    blend,
    chill,
    cook,
    drain,
    grind,
    leave,
    measure,
    move,
    open,
    portion,
    skim,
    thaw,
    trim,
)
from app.ledger.operations._post import Posted
from app.ledger.queries.stock import StockLine
from app.ledger.stock import StockRef
from app.ledger.words import MeasuredBy, OperationKind, PlaceKind, ReadingKind
from app.science.classes import FoodClass
from app.science.safety.thawing import ThawWay
from app.web.display import MEASURED_BY, mass
from app.web.fields import (
    DayField,
    EntryForm,
    MassField,
    NumberField,
    StockField,
    TemperatureField,
    choices,
    text_line,
    text_note,
)
from app.web.rows import RowForm, Rows

NAME = [DataRequired("Give it a name.")]

_WAYS = {
    ThawWay.REFRIGERATOR: "In the refrigerator",
    ThawWay.COLD_WATER: "In cold water, changed every half hour",
    ThawWay.MICROWAVE: "In the microwave",
}
_METHODS = {
    cook.CookMethod.SIMMER: "Simmered",
    cook.CookMethod.ROAST: "Roasted",
    cook.CookMethod.FRY: "Fried",
    cook.CookMethod.STEAM: "Steamed",
    cook.CookMethod.REDUCE: "Boiled down",
}


def choice_words(line: StockLine) -> str:
    """How a row of stock reads in a list of choices."""
    number = f", no. {line.package_number}" if line.package_number else ""
    raw = ", raw" if line.is_raw else ""
    return f"{spoken(line.code)} {line.name}{raw}{number} · {mass(line.mass_mg)} · {line.place}"


def stock_choices(lines: Iterable[StockLine]) -> list[SelectChoice]:
    """Rows of stock to choose from."""
    return choices((str(line.ref), choice_words(line)) for line in lines)


def place_choices(places: Iterable[Place]) -> list[SelectChoice]:
    """Places where food can lie; a dryer is loaded, not chosen."""
    return choices((place.id, place.name) for place in places if not PlaceKind(place.kind).is_dryer)


class OperationForm(EntryForm):
    """What every operation asks: which food, on what day, and anything worth noting.

    carry_out turns the checked form into a request and calls the use-case with it.
    """

    verb: ClassVar[OperationKind]
    at_bench: ClassVar[PlaceKind] = PlaceKind.BENCH  # where the result usually goes
    ref = StockField("From")
    done_on = DayField("Day")
    note = text_note(description="Anything worth remembering.")

    def offer(self, lines: Sequence[StockLine], places: Sequence[Place]) -> None:
        """Fill the lists to choose from."""
        self.ref.choices = stock_choices(line for line in lines if self.takes(line))
        if "place_id" in self:
            self.place_id.choices = place_choices(places)

    def takes(self, line: StockLine) -> bool:
        """Can this operation start from that line?"""
        return not line.place_kind.is_dryer

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


def _place(label: str = "Where it is now") -> SelectField:
    return SelectField(label, coerce=int)


def _measured_by(label: str, *ways: MeasuredBy) -> SelectField:
    return SelectField(label, choices=choices((way.value, MEASURED_BY[way]) for way in ways))


class ThawForm(OperationForm):
    """Thaw."""

    verb = OperationKind.THAW
    at_bench = PlaceKind.FRIDGE
    mass_mg = MassField("How much")
    way = RadioField("How", choices=choices((way.value, words) for way, words in _WAYS.items()))
    drip_mg = MassField("Drip poured off", is_optional=True)
    place_id = _place()

    def takes(self, line: StockLine) -> bool:
        """Only what is frozen."""
        return line.place_kind is PlaceKind.FREEZER

    def start(self, line: StockLine | None, places: Sequence[Place], today: date) -> None:
        """In the refrigerator, unless said."""
        super().start(line, places, today)
        self.way.data = ThawWay.REFRIGERATOR.value

    def carry_out(self, session: Session, at: datetime, by: int | None) -> Posted:
        """Thaw it."""
        request = thaw.Thaw(
            ref=self.ref.ref,
            mass_mg=self.mass_mg.mg,
            way=ThawWay(self.way.data),
            place_id=self.place_id.data,
            done_on=self.done_on.data,
            drip_mg=self.drip_mg.mg,
            note=self.note.data,
            reason=self.reason.data,
        )
        return thaw.thaw(session, request, at=at, by=by)


class TrimForm(OperationForm):
    """Trim."""

    verb = OperationKind.TRIM
    mass_mg = MassField("How much goes in")
    made_mg = MassField("What is left")
    trimmed_mg = MassField("Cut away", is_optional=True)
    unexplained_mg = MassField("Missing, unexplained", is_optional=True)
    place_id = _place()

    def carry_out(self, session: Session, at: datetime, by: int | None) -> Posted:
        """Trim it."""
        request = trim.Trim(
            ref=self.ref.ref,
            mass_mg=self.mass_mg.mg,
            made_mg=self.made_mg.mg,
            trimmed_mg=self.trimmed_mg.mg,
            unexplained_mg=self.unexplained_mg.mg,
            place_id=self.place_id.data,
            done_on=self.done_on.data,
            note=self.note.data,
        )
        return trim.trim(session, request, at=at, by=by)


class PartForm(RowForm):
    """One lot that goes into the grinder."""

    typed_fields = ("mass",)
    ref = StockField("Lot")
    mass = MassField("How much")


class GrindForm(OperationForm):
    """Grind."""

    verb = OperationKind.GRIND
    ref = None  # type: ignore[assignment]
    name = text_line("Name of the ground lot", validators=NAME)
    parts = Rows(FormField(PartForm), label="What goes in", min_entries=3)
    made_mg = MassField("What came out")
    trimmed_mg = MassField("Trimmed away", is_optional=True)
    stuck_mg = MassField("Stuck in the grinder", is_optional=True)
    spilled_mg = MassField("Spilled", is_optional=True)
    unexplained_mg = MassField("Missing, unexplained", is_optional=True)
    place_id = _place()

    def offer(self, lines: Sequence[StockLine], places: Sequence[Place]) -> None:
        """The same choices in every row."""
        self.place_id.choices = place_choices(places)
        offered = choices([("", "—")]) + stock_choices(
            line for line in lines if self.takes(line) and line.place_kind is not PlaceKind.FREEZER
        )
        for entry in self.parts.entries:
            entry.form.ref.choices = offered

    def start(self, line: StockLine | None, places: Sequence[Place], today: date) -> None:
        """The lot it was started from stands in the first row."""
        self.done_on.data = today
        self.place_id.data = self._usual_place(line, places)
        if line is not None:
            self.parts[0].form.ref.data = str(line.ref)
            self.parts[0].form.mass.data = line.mass_mg
            self.name.data = f"{line.name.removesuffix(' trim')}, ground"

    def carry_out(self, session: Session, at: datetime, by: int | None) -> Posted:
        """Grind it."""
        request = grind.Grind(
            parts=tuple(
                grind.Part(row.form.ref.ref, row.form.mass.mg) for row in self.parts.filled()
            ),
            name=self.name.data,
            made_mg=self.made_mg.mg,
            trimmed_mg=self.trimmed_mg.mg,
            stuck_mg=self.stuck_mg.mg,
            spilled_mg=self.spilled_mg.mg,
            unexplained_mg=self.unexplained_mg.mg,
            place_id=self.place_id.data,
            done_on=self.done_on.data,
            note=self.note.data,
            reason=self.reason.data,
        )
        return grind.grind(session, request, at=at, by=by)


class BlendForm(OperationForm):
    """Blend; the page works out how much fat reaches the content wanted."""

    verb = OperationKind.BLEND
    mass_mg = MassField("How much of it")
    target_fat = NumberField("Fat wanted, % of the blend", low=0.0, high=90.0, is_optional=True)
    other_ref = StockField("Work in")
    other_mass_mg = MassField("How much of that", is_optional=True)
    name = text_line("Name of the blend", validators=NAME)
    seasoning_mg = MassField("Seasoning added", is_optional=True)
    seasoning_words = text_line("What seasoning")
    made_mg = MassField("What came out", is_optional=True)
    stuck_mg = MassField("Stuck in the machine", is_optional=True)
    unexplained_mg = MassField("Missing, unexplained", is_optional=True)
    place_id = _place()

    def offer(self, lines: Sequence[StockLine], places: Sequence[Place]) -> None:
        """Fatty lots first among what can be worked in."""
        super().offer(lines, places)
        fatty = sorted(lines, key=lambda line: line.food_class is not FoodClass.FAT)
        self.other_ref.choices = stock_choices(line for line in fatty if self.takes(line))

    def start(self, line: StockLine | None, places: Sequence[Place], today: date) -> None:
        """Burgers at 15 % fat are the commonest wish."""
        super().start(line, places, today)
        self.target_fat.data = 15.0
        if line is not None:
            self.name.data = f"{line.name}, blended"

    def work_out(self, session: Session) -> str:
        """Fill in how much fat is needed; gives the sentence that explains it."""
        needed_mg = blend.fat_needed_mg(
            session,
            self.ref.ref,
            self.mass_mg.mg,
            StockRef.parse(self.other_ref.data or ""),
            (self.target_fat.data or 0.0) / 100.0,
        )
        whole_g_mg = round(needed_mg, -3)
        self.other_mass_mg.typed = None
        self.other_mass_mg.data = whole_g_mg
        self.made_mg.typed = None
        self.made_mg.data = self.mass_mg.mg + whole_g_mg + self.seasoning_mg.mg
        return (
            f"{mass(whole_g_mg)} brings {mass(self.mass_mg.mg)} to "
            f"{self.target_fat.data:g} % fat, by what both are made of."
        )

    def carry_out(self, session: Session, at: datetime, by: int | None) -> Posted:
        """Blend it."""
        request = blend.Blend(
            ref=self.ref.ref,
            mass_mg=self.mass_mg.mg,
            other_ref=self.other_ref.ref,
            other_mass_mg=self.other_mass_mg.mg,
            name=self.name.data,
            seasoning_mg=self.seasoning_mg.mg,
            seasoning_words=self.seasoning_words.data,
            made_mg=self.made_mg.mg,
            stuck_mg=self.stuck_mg.mg,
            unexplained_mg=self.unexplained_mg.mg,
            place_id=self.place_id.data,
            done_on=self.done_on.data,
            note=self.note.data,
            reason=self.reason.data,
        )
        return blend.blend(session, request, at=at, by=by)


class PortionForm(OperationForm):
    """Split off."""

    verb = OperationKind.PORTION
    mass_mg = MassField("How much is split off")
    name = text_line("Name of the part", validators=NAME)
    place_id = _place()

    def start(self, line: StockLine | None, places: Sequence[Place], today: date) -> None:
        """It keeps its name and place; how much is the question."""
        super().start(line, places, today)
        if line is not None:
            self.mass_mg.data = None
            self.name.data = line.name
            self.place_id.data = line.place_id

    def carry_out(self, session: Session, at: datetime, by: int | None) -> Posted:
        """Split it."""
        request = portion.Portion(
            ref=self.ref.ref,
            mass_mg=self.mass_mg.mg,
            name=self.name.data,
            place_id=self.place_id.data,
            done_on=self.done_on.data,
            note=self.note.data,
            reason=self.reason.data,
        )
        return portion.portion(session, request, at=at, by=by)


class CookForm(OperationForm):
    """Cook."""

    verb = OperationKind.COOK
    mass_mg = MassField("How much goes in")
    method = RadioField("How", choices=choices((m.value, words) for m, words in _METHODS.items()))
    water_mg = MassField("Water added", is_optional=True, description="1 litre weighs 1 kg.")
    made_mg = MassField(
        "Weight afterwards", description="All of it, pot and broth less the empty pot."
    )
    centre = TemperatureField(
        "Centre temperature at the end",
        is_optional=True,
        description="Without a reading it stays marked RAW.",
    )
    rest_minutes = NumberField("Held there or rested, minutes", is_optional=True, high=2880)
    name = text_line("What it is called now", description="A stew has another name than its meat.")
    place_id = _place()

    def start(self, line: StockLine | None, places: Sequence[Place], today: date) -> None:
        """Broth is boiled down, everything else simmered."""
        super().start(line, places, today)
        is_broth = line is not None and line.food_class is FoodClass.BROTH
        if line is not None:
            self.name.data = line.name
        self.method.data = (cook.CookMethod.REDUCE if is_broth else cook.CookMethod.SIMMER).value

    def carry_out(self, session: Session, at: datetime, by: int | None) -> Posted:
        """Cook it."""
        read = self.centre.data
        request = cook.Cook(
            ref=self.ref.ref,
            mass_mg=self.mass_mg.mg,
            method=cook.CookMethod(self.method.data),
            water_mg=self.water_mg.mg,
            made_mg=self.made_mg.mg,
            centre=cook.Centre(read.value, read.unit, read.temp_c, read.typed) if read else None,
            rest_minutes=self.rest_minutes.data or 0.0,
            name=self.name.data,
            place_id=self.place_id.data,
            done_on=self.done_on.data,
            note=self.note.data,
            reason=self.reason.data,
        )
        return cook.cook(session, request, at=at, by=by)


class ReadingForm(RowForm):
    """One reading while it cooled."""

    typed_fields = ("hours", "temp")
    hours = NumberField("Hours after cooking", high=72.0)
    temp = TemperatureField("Temperature")


class ChillForm(OperationForm):
    """Chill."""

    verb = OperationKind.CHILL
    at_bench = PlaceKind.FRIDGE
    mass_mg = MassField("How much")
    made_mg = MassField("Weight when cold", is_optional=True, description="Empty: as it went in.")
    readings = Rows(
        FormField(ReadingForm),
        label="Temperatures while it cooled",
        min_entries=3,
        description="The first is the end of cooking: 0 hours.",
    )
    place_id = _place()

    def carry_out(self, session: Session, at: datetime, by: int | None) -> Posted:
        """Chill it."""
        request = chill.Chill(
            ref=self.ref.ref,
            mass_mg=self.mass_mg.mg,
            made_mg=self.made_mg.mg if self.made_mg.data else self.mass_mg.mg,
            readings=tuple(
                chill.CoolingReading(
                    row.form.hours.data, row.form.temp.data.temp_c, row.form.temp.data.typed
                )
                for row in self.readings.filled()
            ),
            place_id=self.place_id.data,
            done_on=self.done_on.data,
            note=self.note.data,
            reason=self.reason.data,
        )
        return chill.chill(session, request, at=at, by=by)


class SkimForm(OperationForm):
    """Skim."""

    verb = OperationKind.SKIM
    at_bench = PlaceKind.FRIDGE
    mass_mg = MassField("How much")
    fat_mg = MassField("Fat lifted off", description="0 when none had set; that is recorded too.")
    keeps_fat = BooleanField("Keep the fat as a lot of its own")
    fat_name = text_line("Name of the fat")
    place_id = _place()

    def carry_out(self, session: Session, at: datetime, by: int | None) -> Posted:
        """Skim it."""
        request = skim.Skim(
            ref=self.ref.ref,
            mass_mg=self.mass_mg.mg,
            fat_mg=self.fat_mg.mg,
            keeps_fat=self.keeps_fat.data,
            fat_name=self.fat_name.data,
            place_id=self.place_id.data,
            done_on=self.done_on.data,
            note=self.note.data,
        )
        return skim.skim(session, request, at=at, by=by)


class DrainForm(OperationForm):
    """Drain."""

    verb = OperationKind.DRAIN
    at_bench = PlaceKind.FRIDGE
    mass_mg = MassField("How much goes in")
    drained_mg = MassField("Drained food")
    broth_mg = MassField("Broth")
    broth_name = text_line("Name of the broth")
    spilled_mg = MassField("Spilled", is_optional=True)
    unexplained_mg = MassField("Missing, unexplained", is_optional=True)
    place_id = _place()

    def start(self, line: StockLine | None, places: Sequence[Place], today: date) -> None:
        """The broth is named after its pot."""
        super().start(line, places, today)
        if line is not None:
            self.broth_name.data = f"{line.name.split(',')[0]} broth"

    def carry_out(self, session: Session, at: datetime, by: int | None) -> Posted:
        """Drain it."""
        request = drain.Drain(
            ref=self.ref.ref,
            mass_mg=self.mass_mg.mg,
            drained_mg=self.drained_mg.mg,
            broth_mg=self.broth_mg.mg,
            broth_name=self.broth_name.data,
            spilled_mg=self.spilled_mg.mg,
            unexplained_mg=self.unexplained_mg.mg,
            place_id=self.place_id.data,
            done_on=self.done_on.data,
            note=self.note.data,
        )
        return drain.drain(session, request, at=at, by=by)


class BlanchForm(OperationForm):
    """Blanch."""

    verb = OperationKind.BLANCH
    mass_mg = MassField("How much goes in")
    made_mg = MassField("Weight after draining")
    place_id = _place()

    def takes(self, line: StockLine) -> bool:
        """Garden produce only."""
        return super().takes(line) and not line.food_class.is_animal

    def carry_out(self, session: Session, at: datetime, by: int | None) -> Posted:
        """Blanch it."""
        request = blanch.Blanch(
            ref=self.ref.ref,
            mass_mg=self.mass_mg.mg,
            made_mg=self.made_mg.mg,
            place_id=self.place_id.data,
            done_on=self.done_on.data,
            note=self.note.data,
        )
        return blanch.blanch(session, request, at=at, by=by)


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
                "Some of what you ticked is not on hand any more: somebody took it, or it was "
                "written already. Look again and tick what is there."
            )


class UnitsForm(OperationForm):
    """An operation on packages, several at once, or on part of a single lot."""

    ref = None  # type: ignore[assignment]
    refs = StockChoices("Which")

    def offer(self, lines: Sequence[StockLine], places: Sequence[Place]) -> None:
        """Everything of the lot it was started from."""
        self.refs.choices = stock_choices(lines)
        if "place_id" in self:
            self.place_id.choices = place_choices(places)

    def start(self, line: StockLine | None, places: Sequence[Place], today: date) -> None:
        """The row it was started from is ticked."""
        self.done_on.data = today
        if line is not None:
            self.refs.data = [str(line.ref)]


class MoveForm(UnitsForm):
    """Move."""

    verb = OperationKind.MOVE
    place_id = _place("Where to")
    mass_mg = MassField("How much", is_optional=True, description="Empty: all of it.")

    def start(self, line: StockLine | None, places: Sequence[Place], today: date) -> None:
        """All packages of the lot move together unless some are unticked."""
        super().start(line, places, today)
        self.refs.data = [option.value for option in self.refs.choices]

    def carry_out(self, session: Session, at: datetime, by: int | None) -> Posted:
        """Move it."""
        request = move.Move(
            refs=self.refs.refs,
            place_id=self.place_id.data,
            mass_mg=self.mass_mg.mg if self.mass_mg.data else None,
            done_on=self.done_on.data,
            note=self.note.data,
            reason=self.reason.data,
        )
        return move.move(session, request, at=at, by=by)


class OpenForm(OperationForm):
    """Open."""

    verb = OperationKind.OPEN

    def takes(self, line: StockLine) -> bool:
        """Sealed packages only."""
        return line.package_count == 1 and line.opened_on is None

    def carry_out(self, session: Session, at: datetime, by: int | None) -> Posted:
        """Open it."""
        request = open.Open(self.ref.ref, self.done_on.data, note=self.note.data)
        return open.open_package(session, request, at=at, by=by)


class MeasureForm(OperationForm):
    """Measure: readings of what a lot is made of, in % or g per 100 g."""

    verb = OperationKind.MEASURE
    water = NumberField("Water, %", high=100.0, is_optional=True)
    water_spread = NumberField(
        "Water: right to within, points",
        high=20.0,
        is_optional=True,
        description="Empty: 1 point, our judgement. A meter or an oven may say its own.",
    )
    water_by = _measured_by("Water measured by", MeasuredBy.METER, MeasuredBy.OVEN)
    fat = NumberField("Fat, %", high=100.0, is_optional=True)
    fat_by = _measured_by("Fat measured by", MeasuredBy.FAT_TEST, MeasuredBy.PANEL)
    protein = NumberField("Protein, g per 100 g", high=100.0, is_optional=True)
    carbohydrate = NumberField(
        "Carbohydrate, g per 100 g",
        high=100.0,
        is_optional=True,
        description="With fibre: add the fibre if the panel lists it apart.",
    )
    salt = NumberField(
        "Salt, g per 100 g", high=100.0, is_optional=True, description="It counts as ash."
    )

    def carry_out(self, session: Session, at: datetime, by: int | None) -> Posted:
        """Write it down."""
        spread = self.water_spread.data
        how = {"water": MeasuredBy(self.water_by.data), "fat": MeasuredBy(self.fat_by.data)}
        values = tuple(
            measure.Value(
                ReadingKind(name),
                self[name].data / 100.0,
                how.get(name, MeasuredBy.PANEL),
                f"{name} {self[name].data:g} %",
                spread / 100.0 if name == "water" and spread is not None else None,
            )
            for name in ("water", "fat", "protein", "carbohydrate", "salt")
            if self[name].data is not None
        )
        request = measure.Measure(self.ref.ref, values, self.done_on.data, self.note.data)
        return measure.measure(session, request, at=at, by=by)


class EatForm(UnitsForm):
    """Eat."""

    verb = OperationKind.EAT
    mass_mg = MassField("How much", is_optional=True, description="Empty: all of it.")

    def request(self) -> leave.Leave:
        """What leaves."""
        return leave.Leave(
            refs=self.refs.refs,
            mass_mg=self.mass_mg.mg if self.mass_mg.data else None,
            done_on=self.done_on.data,
            words=self.words.data if "words" in self else "",
            note=self.note.data,
        )

    def carry_out(self, session: Session, at: datetime, by: int | None) -> Posted:
        """Eat it."""
        return leave.eat(session, self.request(), at=at, by=by)


class GiveForm(EatForm):
    """Give."""

    verb = OperationKind.GIVE
    words = text_line("To whom", description="So that a recall can reach them.")

    def carry_out(self, session: Session, at: datetime, by: int | None) -> Posted:
        """Give it."""
        return leave.give(session, self.request(), at=at, by=by)


class DiscardForm(EatForm):
    """Discard."""

    verb = OperationKind.DISCARD
    words = text_line("Why")

    def carry_out(self, session: Session, at: datetime, by: int | None) -> Posted:
        """Discard it."""
        return leave.discard(session, self.request(), at=at, by=by)


FORMS: dict[OperationKind, Callable[..., OperationForm]] = {
    form.verb: form
    for form in (
        ThawForm,
        TrimForm,
        GrindForm,
        BlendForm,
        PortionForm,
        CookForm,
        ChillForm,
        SkimForm,
        DrainForm,
        BlanchForm,
        MoveForm,
        OpenForm,
        MeasureForm,
        EatForm,
        GiveForm,
        DiscardForm,
    )
}


def fields_of(form: OperationForm) -> list[Any]:
    """The fields in the order of the page: which food, what, where, when, note."""
    first = [form[name] for name in ("ref", "refs") if name in form and form[name] is not None]
    last_names = ("place_id", "done_on", "note", "reason")
    own = [f for f in form if f.short_name not in ("ref", "refs", "key", "csrf_token", *last_names)]
    last = [form[name] for name in last_names if name in form]
    return [*first, *own, *last]
