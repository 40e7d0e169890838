"""The forms of how warm a place is: a change from when on, and a reading."""

from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import Any

from sqlalchemy.orm import Session
from wtforms import FieldList, Form, FormField, RadioField
from wtforms.validators import InputRequired, ValidationError

from app.language import N_, _
from app.ledger.calendar import today_of, zone_of
from app.ledger.climates import StatedClimate, Warmth
from app.ledger.models import Place
from app.ledger.operations._post import Posted
from app.ledger.operations.check import Looked, check
from app.ledger.operations.climate import ChangeClimate, ReadingIn, SaidClimate, change_climate
from app.ledger.queries.climate import ClimateNow
from app.ledger.safety import gate
from app.ledger.words import CheckKind, Finding, PlaceKind
from app.science.safety.checks import freezer_cold
from app.science.safety.readings import Reading
from app.science.safety.rule import Outcome, Verdict
from app.science.safety.verdicts import held_cold, unit_ask
from app.units import Temperature
from app.web import scope
from app.web.display import temperature
from app.web.fields import EntryForm, NumberField, TemperatureField, text_note, worded
from app.web.places.words import MONTHS
from app.web.usual_places import USUAL_TEMPS_C
from app.web.went_wrong.moments import MomentField, earliest

ALL_YEAR, BY_MONTH = "year", "month"
_READ_OF = {PlaceKind.FREEZER: Reading.FREEZER, PlaceKind.FRIDGE: Reading.FRIDGE}


def asked_of(kind: PlaceKind, read: Iterable[Temperature | None]) -> list[Verdict]:
    """The first temperature that looks mistyped for such a place, as a verdict that asks."""
    asked = (unit_ask(_READ_OF.get(kind, Reading.ROOM), t.value, t.unit) for t in read if t)
    return [verdict for verdict in asked if verdict is not None][:1]


class ThreeForm(Form):
    """How warm in one month: usual, and if known the coldest and the warmest."""

    usual = TemperatureField(N_("Usual"), is_optional=True)
    low = TemperatureField(N_("Coldest"), is_optional=True)
    high = TemperatureField(N_("Warmest"), is_optional=True)

    def validate_high(self, field: Any) -> None:
        """Coldest, usual, warmest rise; a range needs its middle."""
        temps = [f.data.temp_c for f in (self.low, self.usual, field) if f.data]
        if temps and not self.usual.data and not self.usual.errors:
            raise ValidationError(N_("Say the usual, too."))
        if temps != sorted(temps):
            raise ValidationError(N_("Coldest, usual and warmest must rise in that order."))


class WarmForm(EntryForm):
    """How warm a place is from a day on."""

    how = RadioField(
        N_("Does it change with the seasons?"),
        choices=worded(
            [(ALL_YEAR, N_("No, about the same all year")), (BY_MONTH, N_("Yes, month by month"))]
        ),
        validators=[InputRequired(N_("Choose one."))],
    )
    usual = TemperatureField(
        N_("How warm it usually is"),
        is_optional=True,
        description=N_("From a thermometer left there for a day."),
    )
    low = TemperatureField(N_("At its coldest"), is_optional=True)
    high = TemperatureField(N_("At its warmest"), is_optional=True)
    months = FieldList(FormField(ThreeForm), label=N_("Month"), min_entries=12, max_entries=12)
    humidity = NumberField(N_("Relative humidity, %"), is_optional=True, high=100.0)
    since = MomentField(N_("From when on"), description=N_("A day that is past counts, too."))
    note = text_note()
    had_months = False  # so that months that stand there were typed now

    def start(self, stated: StatedClimate, warmth: Warmth, local: datetime) -> None:
        """As it is said to be now, from this minute on."""
        self.how.data = BY_MONTH if stated.is_by_month else ALL_YEAR
        self.since.data = local
        self.humidity.data = round(100 * warmth.relative_humidity, 1)
        if not stated.is_by_month:
            _show(self, stated.by_month[0])
        else:
            for entry, month in zip(self.months.entries, stated.by_month, strict=True):
                _show(entry.form, month)

    def copy_to_all_months(self) -> None:
        """Start every month with what was typed for the whole year."""
        self.how.data = BY_MONTH
        for entry in self.months.entries:
            for name in ("usual", "low", "high"):
                entry.form[name].typed = self[name].typed
                entry.form[name].process_formdata([self[name].typed or ""])

    @property
    def by_month(self) -> Any:
        """Where an objection to the months is shown."""
        return self.months

    @property
    def is_by_month(self) -> bool:
        """Was it said month by month?"""
        return bool(self.how.data == BY_MONTH)

    def validate_how(self, field: Any) -> None:
        """Months that were typed are not dropped in silence."""
        typed = any((entry.form.usual.typed or "").strip() for entry in self.months)
        if field.data == ALL_YEAR and typed and not self.had_months:
            raise ValidationError(N_("Months are filled in below: choose yes, or empty them."))

    def validate_usual(self, field: Any) -> None:
        """Needed unless the months are told."""
        if not self.is_by_month and not (field.typed or "").strip():
            raise ValidationError(N_("Say how warm it usually is."))

    def validate_months(self, field: Any) -> None:
        """All twelve, or none."""
        if not self.is_by_month:
            return
        missing = [
            name
            for name, entry in zip(MONTHS, field.entries, strict=True)
            if not (entry.form.usual.typed or "").strip()
        ]
        if missing:
            raise ValidationError(_("Still missing: {join}.", join=", ".join(missing)))

    def carry_out(
        self, session: Session, place: Place, known: ClimateNow, at: datetime, by: int | None
    ) -> Posted:
        """Write it down; an unusual temperature is asked about first."""
        kind, damp = PlaceKind(place.kind), known.warmth.relative_humidity
        rows: Sequence[Any] = [e.form for e in self.months] if self.is_by_month else [self]
        read = [row[name].data for row in rows for name in ("usual", "low", "high")]
        if self.humidity.data is not None:
            damp = self.humidity.data / 100.0
        request = ChangeClimate(
            place_id=place.id,
            done_on=today_of(session, at),
            climates=(
                SaidClimate(
                    earliest(self.since.data, zone_of(session)),
                    tuple(_warmth(row, kind, damp) for row in rows),
                ),
            ),
            note=self.note.data,
        )
        applied = gate(asked_of(kind, read), self.reason.data)
        return change_climate(session, request, at=at, by=by, checkpoints=applied)


class ReadingForm(EntryForm):
    """What a thermometer shows."""

    reading = TemperatureField(N_("What the thermometer shows"))
    since = MomentField(N_("When"))
    note = text_note()

    def validate_since(self, field: Any) -> None:
        """Not of tomorrow."""
        if field.data and earliest(field.data, zone_of(scope.reading())) > scope.now():
            raise ValidationError(N_("That is still to come."))

    def carry_out(self, session: Session, place: Place, at: datetime, by: int | None) -> Posted:
        """Write it down; it counts as the look at the thermometer, too."""
        read = self.reading.data
        is_fine = not is_too_warm(PlaceKind(place.kind), read.temp_c)
        request = Looked(
            kind=CheckKind.THERMOMETER,
            finding=Finding.FINE if is_fine else Finding.NOT_FINE,
            done_on=self.since.data.date(),
            place_id=place.id,
            reading=ReadingIn(
                at=earliest(self.since.data, zone_of(session)),
                temp_c=read.temp_c,
                typed=read.typed.strip(),
                unit=read.unit,
            ),
            note=self.note.data,
            reason=self.reason.data,
        )
        return check(session, request, at=at, by=by)


def is_too_warm(kind: PlaceKind, temp_c: float) -> bool:
    """Is a reading warmer than a freezer or a refrigerator should be?"""
    if kind is PlaceKind.FREEZER:
        return any(v.outcome is not Outcome.PASS for v in freezer_cold(temp_c))
    cold = (Outcome.PASS, Outcome.NOTE)
    return kind is PlaceKind.FRIDGE and any(
        v.outcome not in cold for v in held_cold(temp_c, insisted=True)
    )


def _show(form: Any, warmth: Warmth) -> None:
    form.usual.typed = _typed(warmth.temp_c)
    form.low.typed, form.high.typed = _typed(warmth.temp_low_c), _typed(warmth.temp_high_c)


def _typed(temp_c: float) -> str:
    """As somebody would type it in the household's unit, without the unit."""
    return temperature(temp_c).split()[0].replace("−", "-")


def _warmth(row: Any, kind: PlaceKind, relative_humidity: float) -> Warmth:
    """Where the coldest or the warmest was left open it lies as far off as is usual."""
    low, usual, high = USUAL_TEMPS_C[kind]
    measured = row.usual.data.temp_c
    return Warmth(
        temp_low_c=row.low.data.temp_c if row.low.data else measured + low - usual,
        temp_c=measured,
        temp_high_c=row.high.data.temp_c if row.high.data else measured + high - usual,
        relative_humidity=relative_humidity,
    )
