"""Forms of food that is kept: move, open, measure, eat, give, discard."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, datetime
from typing import Any

from sqlalchemy.orm import Session
from wtforms import BooleanField, RadioField, SelectField, StringField
from wtforms.fields.choices import SelectChoice

from app.language import N_
from app.ledger.models import Place
from app.ledger.operations import leave, measure, move, open
from app.ledger.operations._post import Posted
from app.ledger.queries.stock import StockLine
from app.ledger.words import MeasuredBy, OperationKind, ReadingKind
from app.science.safety.fish import FishUse
from app.web.display import MEASURED_BY
from app.web.fields import LengthField, MassField, NumberField, TemperatureField, text_line, worded
from app.web.operations.base import FISH, OperationForm, UnitsForm, place_field, typed

_FISH_USES = {
    FishUse.COOKED: N_("Cooked through"),
    FishUse.RAW: N_("Raw"),
    FishUse.CURED: N_("Cured, not cooked"),
    FishUse.COLD_SMOKED: N_("Cold-smoked"),
    FishUse.PART_COOKED: N_("Part-cooked"),
}


class MoveForm(UnitsForm):
    """Move."""

    verb = OperationKind.MOVE
    place_id = place_field(N_("Where to"))
    mass_mg = MassField(N_("How much"), is_optional=True, description=N_("Empty: all of it."))
    place_to = StringField()  # a place that was tapped instead of chosen: not shown as a field

    def at_once(self, line: StockLine | None) -> list[SelectChoice]:
        """The places where one tap moves it, the proposed one first; none before a lot is known."""
        if line is None:
            return []
        others = [option for option in self.place_id.choices if option.value != line.place_id]
        return sorted(others, key=lambda option: option.value != self.place_id.data)

    def validate(self, *args: Any, **kwargs: Any) -> bool:
        """The place that was tapped counts, whatever stands in the list below."""
        text = self.place_to.data or ""
        tapped = [option.value for option in self.place_id.choices if str(option.value) == text]
        if tapped:
            self.place_id.data = tapped[0]
        return bool(super().validate(*args, **kwargs))

    def start(self, line: StockLine | None, places: Sequence[Place], today: date) -> None:
        """All packages of the lot move together unless some are unticked."""
        super().start(line, places, today)
        self.refs.data = [option.value for option in self.refs.choices]

    def lead_to(self, text: str) -> bool:
        """Propose the place that a link named by its number; False where it named none."""
        named = [option.value for option in self.place_id.choices if str(option.value) == text]
        if named:
            self.place_id.data = named[0]
        return bool(named)

    def carry_out(self, session: Session, at: datetime, by: int | None) -> Posted:
        """Move it."""
        request = move.Move(
            refs=self.chosen,
            place_id=self.place_id.data,
            mass_mg=self.mass_mg.mg if self.mass_mg.data else None,
            done_on=self.done_on.data,
            note=self.note.data,
            reason=self.reason.data,
        )
        return move.move(session, request, at=at, by=by)


class OpenForm(UnitsForm):
    """Open."""

    verb = OperationKind.OPEN

    def takes(self, line: StockLine) -> bool:
        """Sealed packages only."""
        return line.package_count == 1 and line.opened_on is None

    def carry_out(self, session: Session, at: datetime, by: int | None) -> Posted:
        """Open them."""
        request = open.Open(self.chosen, self.done_on.data, note=self.note.data)
        return open.open_package(session, request, at=at, by=by)


def _measured_by(label: str, *ways: MeasuredBy) -> SelectField:
    return SelectField(label, choices=worded((way.value, MEASURED_BY[way]) for way in ways))


class MeasureForm(OperationForm):
    """Measure: readings of what a lot is made of, in % or g per 100 g."""

    verb = OperationKind.MEASURE
    water = NumberField(N_("Water, %"), high=100.0, is_optional=True)
    water_spread = NumberField(
        N_("Water: right to within, points"),
        high=20.0,
        is_optional=True,
        description=N_("Empty: 1 point, our judgement. A meter or an oven may say its own."),
    )
    water_by = _measured_by(N_("Water measured by"), MeasuredBy.METER, MeasuredBy.OVEN)
    fat = NumberField(N_("Fat, %"), high=100.0, is_optional=True)
    fat_by = _measured_by(N_("Fat measured by"), MeasuredBy.FAT_TEST, MeasuredBy.PANEL)
    protein = NumberField(N_("Protein, g per 100 g"), high=100.0, is_optional=True)
    carbohydrate = NumberField(
        N_("Carbohydrate, g per 100 g"),
        high=100.0,
        is_optional=True,
        description=N_("With fibre: add the fibre if the panel lists it apart."),
    )
    salt = NumberField(
        N_("Salt, g per 100 g"), high=100.0, is_optional=True, description=N_("It counts as ash.")
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


class LeaveForm(UnitsForm):
    """What eating, giving and discarding ask alike."""

    mass_mg = MassField(N_("How much"), is_optional=True, description=N_("Empty: all of it."))

    def request(self) -> leave.Leave:
        """What leaves."""
        return leave.Leave(
            refs=self.chosen,
            mass_mg=self.mass_mg.mg if self.mass_mg.data else None,
            done_on=self.done_on.data,
            words=self.words.data if "words" in self else "",
            note=self.note.data,
            reason=self.reason.data,
        )


class EatForm(LeaveForm):
    """Eat."""

    verb = OperationKind.EAT
    fish_use = RadioField(
        N_("How it is eaten"),
        choices=worded((use.value, words) for use, words in _FISH_USES.items()),
        default=FishUse.COOKED.value,
    )
    frozen_at = TemperatureField(
        N_("How cold it was frozen"),
        is_optional=True,
        description=N_("The warmest it was in that time; a home freezer at −18 °C is not enough."),
    )
    frozen_days = NumberField(N_("Days at that cold"), is_optional=True, high=10_000.0)
    thickest = LengthField(
        N_("Thickest piece"), is_optional=True, high_m=1.0, description=N_("Up to 15 cm, 6 in.")
    )
    pellet_fed = BooleanField(N_("Farmed, fed on pellets alone"))

    def ask_only_what_matters(self, line: StockLine | None) -> None:
        """Only raw fish is asked how it is eaten."""
        if line is not None and not (line.is_raw and line.food_class in FISH):
            for name in ("fish_use", "frozen_at", "frozen_days", "thickest", "pellet_fed"):
                delattr(self, name)

    def carry_out(self, session: Session, at: datetime, by: int | None) -> Posted:
        """Eat it."""
        return leave.eat(session, replace(self.request(), fish=self._fish()), at=at, by=by)

    def _fish(self) -> leave.FishEaten | None:
        use = self.fish_use.data if "fish_use" in self else FishUse.COOKED.value
        if use == FishUse.COOKED:
            return None
        thick = self.thickest.data
        return leave.FishEaten(
            use=FishUse(use),
            frozen=typed(self.frozen_at),
            frozen_days=self.frozen_days.data,
            thickness_m=thick.length_m if thick else None,
            is_pellet_fed=self.pellet_fed.data,
        )


class GiveForm(LeaveForm):
    """Give."""

    verb = OperationKind.GIVE
    words = text_line(N_("To whom"), description=N_("So that a recall can reach them."))

    def carry_out(self, session: Session, at: datetime, by: int | None) -> Posted:
        """Give it."""
        return leave.give(session, self.request(), at=at, by=by)


class DiscardForm(LeaveForm):
    """Discard."""

    verb = OperationKind.DISCARD
    words = text_line(N_("Why"))

    def carry_out(self, session: Session, at: datetime, by: int | None) -> Posted:
        """Discard it."""
        return leave.discard(session, self.request(), at=at, by=by)
