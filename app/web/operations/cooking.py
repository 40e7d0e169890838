"""Forms of the stove and what follows it: cook, chill, skim, drain, blanch."""

from collections.abc import Sequence
from datetime import date, datetime

from sqlalchemy.orm import Session
from wtforms import BooleanField, FormField, RadioField

from app.language import N_, _
from app.ledger.models import Place
from app.ledger.operations import blanch, chill, cook, drain, skim
from app.ledger.operations._post import Posted
from app.ledger.queries.stock import StockLine
from app.ledger.words import OperationKind, PlaceKind
from app.science.classes import FoodClass
from app.web.fields import MassField, NumberField, TemperatureField, text_line, worded
from app.web.operations.base import OperationForm, place_field
from app.web.operations.probe import ProbeField, ProbeReading
from app.web.rows import RowForm, Rows

_METHODS = {
    cook.CookMethod.SIMMER: N_("Simmered"),
    cook.CookMethod.ROAST: N_("Roasted"),
    cook.CookMethod.FRY: N_("Fried"),
    cook.CookMethod.STEAM: N_("Steamed"),
    cook.CookMethod.REDUCE: N_("Boiled down"),
}


class CookForm(OperationForm):
    """Cook."""

    verb = OperationKind.COOK
    mass_mg = MassField(N_("How much goes in"))
    method = RadioField(
        N_("How"), choices=worded((m.value, words) for m, words in _METHODS.items())
    )
    water_mg = MassField(
        N_("Water added"), is_optional=True, description=N_("1 litre weighs 1 kg.")
    )
    made_mg = MassField(
        N_("Weight afterwards"), description=N_("All of it, pot and broth less the empty pot.")
    )
    centre = TemperatureField(
        N_("Centre temperature at the end"),
        is_optional=True,
        description=N_("Without a reading it stays marked RAW."),
    )
    rest_minutes = NumberField(N_("Held there or rested, minutes"), is_optional=True, high=2880)
    history = ProbeField(
        N_("Readings of a probe"),
        is_optional=True,
        description=N_(
            "Minutes and centre, one pair a line, or rows of the probe's file. Two "
            "neighbours at most 5 minutes apart count, by the lower of the two."
        ),
    )
    name = text_line(
        N_("What it is called now"), description=N_("A stew has another name than its meat.")
    )
    place_id = place_field()

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
            history=tuple(_centre_at(one) for one in self.history.data or ()),
            rest_minutes=self.rest_minutes.data or 0.0,
            name=self.name.data,
            place_id=self.place_id.data,
            done_on=self.done_on.data,
            note=self.note.data,
            reason=self.reason.data,
        )
        return cook.cook(session, request, at=at, by=by)


def _centre_at(one: ProbeReading) -> cook.CentreAt:
    if one.value is None or one.temp_c is None:
        return cook.CentreAt(one.minutes, None)
    return cook.CentreAt(one.minutes, cook.Centre(one.value, one.unit, one.temp_c, one.typed))


class ReadingForm(RowForm):
    """One reading while it cooled."""

    typed_fields = ("hours", "temp")
    hours = NumberField(N_("Hours after cooking"), high=72.0)
    temp = TemperatureField(N_("Temperature"))


class ChillForm(OperationForm):
    """Chill."""

    verb = OperationKind.CHILL
    at_bench = PlaceKind.FRIDGE
    mass_mg = MassField(N_("How much"))
    made_mg = MassField(
        N_("Weight when cold"), is_optional=True, description=N_("Empty: as it went in.")
    )
    readings = Rows(
        FormField(ReadingForm),
        label=N_("Temperatures while it cooled"),
        min_entries=3,
        description=N_("The first is the end of cooking: 0 hours."),
    )
    history = ProbeField(
        N_("Readings of a probe"),
        is_optional=True,
        description=N_(
            "Minutes and temperature, one pair a line, or rows of the probe's file. The "
            "first is the end of cooking."
        ),
    )
    is_reconstituted = BooleanField(
        N_("Soaked or mixed at room temperature, not cooked"),
        description=N_("Then it must be at 5 °C (41 °F) within 4 hours."),
    )
    place_id = place_field()

    def ask_only_what_matters(self, line: StockLine | None) -> None:
        """Only dried food is soaked."""
        if line is not None and not line.is_dried:
            del self.is_reconstituted

    def carry_out(self, session: Session, at: datetime, by: int | None) -> Posted:
        """Chill it."""
        request = chill.Chill(
            ref=self.ref.ref,
            mass_mg=self.mass_mg.mg,
            made_mg=self.made_mg.mg if self.made_mg.data else self.mass_mg.mg,
            readings=self._readings(),
            is_reconstituted="is_reconstituted" in self and self.is_reconstituted.data,
            place_id=self.place_id.data,
            done_on=self.done_on.data,
            note=self.note.data,
            reason=self.reason.data,
        )
        return chill.chill(session, request, at=at, by=by)

    def _readings(self) -> tuple[chill.CoolingReading, ...]:
        """Those of the rows, then those of a probe."""
        typed = [
            chill.CoolingReading(
                row.form.hours.data, row.form.temp.data.temp_c, row.form.temp.data.typed
            )
            for row in self.readings.filled()
        ]
        pasted = [
            chill.CoolingReading(one.minutes / 60.0, one.temp_c, one.typed)
            for one in self.history.data or ()
        ]
        return (*typed, *pasted)


class SkimForm(OperationForm):
    """Skim."""

    verb = OperationKind.SKIM
    at_bench = PlaceKind.FRIDGE
    mass_mg = MassField(N_("How much"))
    fat_mg = MassField(
        N_("Fat lifted off"), description=N_("0 when none had set; that is recorded too.")
    )
    keeps_fat = BooleanField(N_("Keep the fat as a lot of its own"))
    fat_name = text_line(N_("Name of the fat"))
    place_id = place_field()

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
    mass_mg = MassField(N_("How much goes in"))
    drained_mg = MassField(N_("Drained food"))
    broth_mg = MassField(N_("Broth"))
    broth_name = text_line(N_("Name of the broth"))
    spilled_mg = MassField(N_("Spilled"), is_optional=True)
    unexplained_mg = MassField(N_("Missing, unexplained"), is_optional=True)
    place_id = place_field()

    def start(self, line: StockLine | None, places: Sequence[Place], today: date) -> None:
        """The broth is named after its pot."""
        super().start(line, places, today)
        if line is not None:
            self.broth_name.data = _("{name} broth", name=line.name.split(",")[0])

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
    mass_mg = MassField(N_("How much goes in"))
    made_mg = MassField(N_("Weight after draining"))
    place_id = place_field()

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
