"""Forms of the work before heat: thaw, trim, grind, blend, split off."""

from collections.abc import Sequence
from datetime import date, datetime

from sqlalchemy.orm import Session
from wtforms import BooleanField, FormField, RadioField

from app.language import N_, _
from app.ledger.models import Place
from app.ledger.operations import blend, grind, portion, thaw, trim
from app.ledger.operations._post import Posted
from app.ledger.queries.stock import StockLine
from app.ledger.stock import StockRef
from app.ledger.words import OperationKind, PlaceKind
from app.science.classes import FoodClass
from app.science.safety.thawing import ThawWay
from app.web.display import mass
from app.web.fields import (
    MassField,
    NumberField,
    StockField,
    TemperatureField,
    choices,
    text_line,
    worded,
)
from app.web.operations.base import (
    FISH,
    NAME,
    OperationForm,
    allergens_field,
    place_choices,
    place_field,
    stock_choices,
    told_allergens,
    typed,
)
from app.web.rows import RowForm, Rows

_WAYS = {
    ThawWay.REFRIGERATOR: N_("In the refrigerator"),
    ThawWay.COLD_WATER: N_("In cold water, changed every half hour"),
    ThawWay.MICROWAVE: N_("In the microwave"),
}


class ThawForm(OperationForm):
    """Thaw."""

    verb = OperationKind.THAW
    at_bench = PlaceKind.FRIDGE
    mass_mg = MassField(N_("How much"))
    way = RadioField(N_("How"), choices=worded((way.value, words) for way, words in _WAYS.items()))
    drip_mg = MassField(N_("Drip poured off"), is_optional=True)
    pack_opened = BooleanField(
        N_("The pack was opened or slit before it thawed"),
        description=N_("Fish sealed without air; botulism can grow in it from 3.3 °C (38 °F)."),
    )
    warmest = TemperatureField(
        N_("Warmest the fish became, if read"),
        is_optional=True,
        description=N_("Of a sealed pack only."),
    )
    place_id = place_field()

    def ask_only_what_matters(self, line: StockLine | None) -> None:
        """Only raw fish may be sealed without air and harmed by it."""
        if line is not None and not (line.is_raw and line.food_class in FISH):
            del self.pack_opened
            del self.warmest

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
            pack_opened=self.pack_opened.data if "pack_opened" in self else None,
            warmest=typed(self.warmest) if "warmest" in self else None,
            note=self.note.data,
            reason=self.reason.data,
        )
        return thaw.thaw(session, request, at=at, by=by)


class TrimForm(OperationForm):
    """Trim."""

    verb = OperationKind.TRIM
    mass_mg = MassField(N_("How much goes in"))
    made_mg = MassField(N_("What is left"))
    trimmed_mg = MassField(N_("Cut away"), is_optional=True)
    unexplained_mg = MassField(N_("Missing, unexplained"), is_optional=True)
    place_id = place_field()

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
    ref = StockField(N_("Lot"))
    mass = MassField(N_("How much"))


class GrindForm(OperationForm):
    """Grind."""

    verb = OperationKind.GRIND
    ref = None  # type: ignore[assignment]
    name = text_line(N_("Name of the ground lot"), validators=NAME)
    parts = Rows(FormField(PartForm), label=N_("What goes in"), min_entries=3)
    made_mg = MassField(N_("What came out"))
    trimmed_mg = MassField(N_("Trimmed away"), is_optional=True)
    stuck_mg = MassField(N_("Stuck in the grinder"), is_optional=True)
    spilled_mg = MassField(N_("Spilled"), is_optional=True)
    unexplained_mg = MassField(N_("Missing, unexplained"), is_optional=True)
    cleaned = BooleanField(
        N_("The grinder was cleaned down before"),
        description=N_("Else what was in it before leaves its allergens here, and raw makes raw."),
    )
    place_id = place_field()

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
            trim = _(" trim")
            self.name.data = _("{name}, ground", name=line.name.removesuffix(trim))

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
            cleaned=self.cleaned.data,
            place_id=self.place_id.data,
            done_on=self.done_on.data,
            note=self.note.data,
            reason=self.reason.data,
        )
        return grind.grind(session, request, at=at, by=by)


class BlendForm(OperationForm):
    """Blend; the page works out how much fat reaches the content wanted."""

    verb = OperationKind.BLEND
    mass_mg = MassField(N_("How much of it"))
    target_fat = NumberField(N_("Fat wanted, % of the blend"), low=0.0, high=90.0, is_optional=True)
    other_ref = StockField(N_("Work in"))
    other_mass_mg = MassField(N_("How much of that"), is_optional=True)
    name = text_line(N_("Name of the blend"), validators=NAME)
    seasoning_mg = MassField(N_("Seasoning added"), is_optional=True)
    seasoning_words = text_line(N_("What seasoning"), description=N_("Empty: salt."))
    seasoning_allergens = allergens_field(
        N_("Allergens of the seasoning"), N_("Of anything but salt, as its packet says.")
    )
    made_mg = MassField(N_("What came out"), is_optional=True)
    stuck_mg = MassField(N_("Stuck in the machine"), is_optional=True)
    unexplained_mg = MassField(N_("Missing, unexplained"), is_optional=True)
    place_id = place_field()

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
            self.name.data = _("{name}, blended", name=line.name)

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
        return _(
            "{added} brings {mass} to {target:g} % fat, by what both are made of.",
            added=mass(whole_g_mg),
            mass=mass(self.mass_mg.mg),
            target=self.target_fat.data,
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
            seasoning_allergens=told_allergens(self.seasoning_allergens.data),
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
    mass_mg = MassField(N_("How much is split off"))
    name = text_line(N_("Name of the part"), validators=NAME)
    place_id = place_field()

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
