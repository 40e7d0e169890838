"""The forms that add a place, and that give it another name or size."""

from typing import Any

from sqlalchemy.orm import Session
from wtforms import RadioField, StringField
from wtforms.validators import DataRequired, InputRequired, Length, ValidationError

from app.language import N_
from app.ledger.household import PlaceIn, add_place, change_place
from app.ledger.models import Place
from app.ledger.words import PlaceKind
from app.units import Volume
from app.web.fields import EntryForm, NumberField, TemperatureField, worded
from app.web.places.capacity import CapacityField
from app.web.sizes import LengthField
from app.web.usual_places import USUAL_HUMIDITY, USUAL_TEMPS_C

KINDS = {
    PlaceKind.FREEZER: N_("Freezer"),
    PlaceKind.FRIDGE: N_("Refrigerator"),
    PlaceKind.ROOM: N_("Shelf, pantry or cellar"),
    PlaceKind.BENCH: N_("Bench or stove, for work in progress"),
    PlaceKind.FREEZE_DRYER: N_("Freeze-dryer"),
    PlaceKind.DEHYDRATOR: N_("Dehydrator"),
}


SIZE_HINT = N_("Of a freezer: it stands on its plate. Then its page says about how full it is.")


def _name_field(**kwargs: Any) -> StringField:
    checks = [
        DataRequired(N_("Give it a name.")),
        Length(max=80, message=N_("At most 80 letters.")),
    ]
    return StringField(N_("What it is called"), validators=checks, **kwargs)


class PlaceForm(EntryForm):
    """What a new place is asked."""

    name = _name_field(description=N_("Pantry, left shelf"))
    kind = RadioField(
        N_("What it is"),
        choices=worded(KINDS.items()),
        validators=[InputRequired(N_("Choose one."))],
        description=N_("It tells which rules and dates hold for what lies there."),
    )
    usual = TemperatureField(
        N_("How warm it usually is"),
        is_optional=True,
        description=N_(
            "From a thermometer left there for a day. Empty: what is usual for such a "
            "place, by our own judgement."
        ),
    )
    low = TemperatureField(
        N_("At its coldest"),
        is_optional=True,
        description=N_("Between its coldest and its warmest lies the range of every date."),
    )
    high = TemperatureField(N_("At its warmest"), is_optional=True)
    humidity = NumberField(
        N_("Relative humidity, %"),
        is_optional=True,
        high=100.0,
        description=N_("Moisture creeps into packages that are not tight. Empty: the usual."),
    )
    capacity = CapacityField(N_("How much it holds"), is_optional=True, description=SIZE_HINT)
    tray_count = NumberField(N_("Trays"), low=1.0, high=60.0, is_optional=True)
    tray_length = LengthField(N_("Inner length of a tray"), is_optional=True)
    tray_width = LengthField(N_("Inner width of a tray"), is_optional=True)

    def validate_low(self, field: Any) -> None:
        """A range needs its middle."""
        if field.data and self.usual.data is None and not self.usual.errors:
            raise ValidationError(N_("Say how warm it usually is, too."))

    validate_high = validate_low

    def validate_tray_width(self, field: Any) -> None:
        """Length and width come together."""
        if bool(field.data) != bool(self.tray_length.data) and not self.tray_length.errors:
            raise ValidationError(N_("Give both length and width, or neither."))

    @property
    def temps_c(self) -> Any:
        """Where the ledger's objection to the temperatures is shown."""
        return self.usual

    def carry_out(self, session: Session) -> int:
        """Add it; gives its number."""
        return add_place(session, self.request())

    def request(self) -> PlaceIn:
        """The request of a checked form."""
        kind = PlaceKind(self.kind.data)
        humidity = self.humidity.data
        dryer = kind.is_dryer
        return PlaceIn(
            name=self.name.data.strip(),
            kind=kind,
            temps_c=self._temps_c(kind),
            relative_humidity=USUAL_HUMIDITY[kind] if humidity is None else humidity / 100.0,
            tray_count=round(self.tray_count.data) if dryer and self.tray_count.data else None,
            tray_area_m2=self._tray_area_m2() if dryer else None,
            capacity_ml=_millilitres(self.capacity.data),
        )

    def _temps_c(self, kind: PlaceKind) -> tuple[float, float, float]:
        low, usual, high = USUAL_TEMPS_C[kind]
        if self.usual.data is not None:
            measured = self.usual.data.temp_c
            low, usual, high = measured + low - usual, measured, measured + high - usual
        return (
            self.low.data.temp_c if self.low.data else low,
            usual,
            self.high.data.temp_c if self.high.data else high,
        )

    def _tray_area_m2(self) -> float | None:
        if not (self.tray_length.data and self.tray_width.data):
            return None
        return float(self.tray_length.data.length_m * self.tray_width.data.length_m)


class EditForm(EntryForm):
    """Another name or size of a place."""

    name = _name_field()
    capacity = CapacityField(N_("How much it holds"), is_optional=True, description=SIZE_HINT)

    def start(self, place: Place) -> None:
        """As it is now."""
        self.name.data = place.name
        self.capacity.data = place.capacity_ml

    def carry_out(self, session: Session, place_id: int) -> None:
        """Change it."""
        capacity_ml = _millilitres(self.capacity.data)
        change_place(session, place_id, name=self.name.data.strip(), capacity_ml=capacity_ml)


def _millilitres(volume: Volume | None) -> float | None:
    return volume.volume_m3 * 1e6 if volume else None
