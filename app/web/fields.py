"""Form fields that read what people type, keep it as typed, and say beside it what is wrong."""

import re
from calendar import monthrange
from collections.abc import Iterable
from datetime import date
from typing import Any

from wtforms import Field, Form, HiddenField, SelectField, StringField, TextAreaField
from wtforms.csrf.session import SessionCSRF
from wtforms.fields.choices import SelectChoice
from wtforms.validators import Length, ValidationError
from wtforms.widgets import TextInput

from app.language import N_, Later, _
from app.ledger.errors import NotFound
from app.ledger.stock import StockRef
from app.units import (
    Mass,
    UnitProblem,
    parse_length,
    parse_mass,
    parse_temperature,
    parse_volume,
)
from app.web import scope
from app.web.messages import unit_sentence


def choices(pairs: Iterable[tuple[Any, str]]) -> list[SelectChoice]:
    """Pairs of a value and its words, as the select fields take them."""
    return [SelectChoice(value, words) for value, words in pairs]


def worded(pairs: Iterable[tuple[Any, str]]) -> list[SelectChoice]:
    """As choices, for words marked with N_: the page translates them."""
    return [SelectChoice(value, Later(words)) for value, words in pairs]


LINE_LENGTH, NOTE_LENGTH = 80, 2000  # letters; no name in the ledger is longer than a line
_CONTROL = re.compile(r"[\x00-\x08\x0b-\x1f\x7f]")


def as_text(value: str | None) -> str:
    """A text box that was not sent counts as empty; characters that do not print are dropped."""
    return _CONTROL.sub("", value or "").strip()


class _AtMost(Length):
    """No more letters than that; the box takes no more either."""

    def __call__(self, form: Any, field: Any) -> None:
        """Say how many there may be."""
        if len(field.data or "") > self.max:
            raise ValidationError(_("At most {letters:,} letters.", letters=self.max))


def text_line(label: str, *, most: int = LINE_LENGTH, **kwargs: Any) -> StringField:
    """A field for a line of text."""
    checks = [*kwargs.pop("validators", ()), _AtMost(max=most)]
    return StringField(label, filters=[as_text], validators=checks, **kwargs)


def text_note(label: str = N_("Note"), **kwargs: Any) -> TextAreaField:
    """A field for a few lines of text."""
    checks = [*kwargs.pop("validators", ()), _AtMost(max=NOTE_LENGTH)]
    return TextAreaField(label, filters=[as_text], validators=checks, **kwargs)


class EntryForm(Form):
    """Base of every form that writes: a token against forgery and a key against doubles."""

    class Meta:
        """How tokens are made; the context is the visitor's session."""

        csrf = True
        csrf_class = SessionCSRF
        csrf_time_limit = None  # a tablet may sleep for days with a form open

        @property
        def csrf_secret(self) -> bytes:
            """The installation's secret."""
            from flask import current_app

            return str(current_app.secret_key).encode()

        @property
        def csrf_context(self) -> Any:
            """Where the token's counterpart is kept."""
            from flask import session

            return session

    key = HiddenField()
    reason = text_note(
        N_("Reason"),
        description=N_("Only where a caution asks for one; it stays in the ledger."),
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        """Start with no cautions; posting fills them when a rule objects."""
        super().__init__(*args, **kwargs)
        self.cautions: list[Any] = []

    def trouble(self, message: str) -> None:
        """Say something about the form as a whole."""
        self.form_errors.append(message)


class _TypedField(Field):
    """A text box whose text is kept exactly as typed, whatever comes of it."""

    widget = TextInput()

    def __init__(self, label: str = "", *, is_optional: bool = False, **kwargs: Any) -> None:
        """Take an empty box as an error unless it is optional."""
        super().__init__(label, **kwargs)
        self.is_optional = is_optional
        self.typed: str | None = None

    def _value(self) -> str:
        if self.typed is not None:
            return self.typed
        return "" if self.data is None else self.shown(self.data)

    def shown(self, data: Any) -> str:
        """How a default is written into the box."""
        return str(data)

    def process_formdata(self, valuelist: list[str]) -> None:
        """Read what was typed; faults become messages beside the field."""
        if not valuelist:
            return
        self.typed = valuelist[0]
        self.data = None
        if not self.typed.strip():
            return
        try:
            self.data = self.parse(self.typed)
        except UnitProblem as problem:
            raise ValueError(unit_sentence(problem)) from problem

    def pre_validate(self, form: Any) -> None:
        """Ask for what is missing, unless the text was already refused."""
        if self.data is None and not self.is_optional and not self.process_errors:
            raise ValidationError(N_("Something is needed here."))

    def parse(self, text: str) -> Any:
        """The value of a text; raises UnitProblem or ValueError with a sentence."""
        raise NotImplementedError


class MassField(_TypedField):
    """A mass in any unit a kitchen scale shows; data is a Mass or None."""

    data: Any  # a Mass once read, whole milligrams as a default

    def parse(self, text: str) -> Mass:
        """Grams unless a unit is typed (ounces in a household of US units)."""
        return parse_mass(text, default_unit="g" if scope.units() == "metric" else "oz")

    def shown(self, data: Any) -> str:
        """A default is given as whole milligrams."""
        mass_mg = data.mass_mg if isinstance(data, Mass) else int(data)
        return f"{mass_mg / 1000:.12g} g"

    @property
    def mg(self) -> int:
        """Whole milligrams, 0 when the box is empty."""
        return self.data.mass_mg if isinstance(self.data, Mass) else int(self.data or 0)


class TemperatureField(_TypedField):
    """A temperature in °C or °F; data is a Temperature once read."""

    data: Any  # a Temperature once read

    def parse(self, text: str) -> Any:
        """Celsius unless F is typed (the reverse in a household of US units)."""
        return parse_temperature(text, "C" if scope.units() == "metric" else "F")


class LengthField(_TypedField):
    """A length in mm, cm or inches within limits given in metres; data is a Length once read."""

    data: Any  # a Length once read

    def __init__(
        self, label: str = "", *, low_m: float = 0.0, high_m: float = 100.0, **kwargs: Any
    ) -> None:
        """Take only lengths from low_m to high_m."""
        super().__init__(label, **kwargs)
        self.low_m, self.high_m = low_m, high_m

    def parse(self, text: str) -> Any:
        """Millimetres unless a unit is typed (inches in a household of US units)."""
        length = parse_length(text, "mm" if scope.units() == "metric" else "in")
        if not self.low_m <= length.length_m <= self.high_m:
            low, high = 1000 * self.low_m, 1000 * self.high_m
            inches = _(
                "{low:.2g} to {high:.2g} in", low=self.low_m / 0.0254, high=self.high_m / 0.0254
            )
            raise ValueError(
                _(
                    "This should be {low:g} to {high:g} mm ({inches}).",
                    low=low,
                    high=high,
                    inches=inches,
                )
            )
        return length


class VolumeField(_TypedField):
    """A volume in ml, l, cups, quarts; data is a Volume once read."""

    data: Any  # a Volume once read

    def parse(self, text: str) -> Any:
        """Millilitres unless a unit is typed (quarts in a household of US units)."""
        return parse_volume(text, "ml" if scope.units() == "metric" else "qt")


class NumberField(_TypedField):
    """A plain number, with a decimal point or comma."""

    def __init__(
        self, label: str = "", *, low: float = 0.0, high: float = 1e6, **kwargs: Any
    ) -> None:
        """Take only numbers from low to high."""
        super().__init__(label, **kwargs)
        self.low, self.high = low, high

    def parse(self, text: str) -> float:
        """The number; a sentence says the range when it does not fit."""
        try:
            number = float(text.strip().rstrip("%").strip().replace(",", "."))
        except ValueError:
            raise ValueError(N_("This should be a number, such as 12 or 2.5.")) from None
        if not self.low <= number <= self.high:
            raise ValueError(
                _("This should be between {low:g} and {high:g}.", low=self.low, high=self.high)
            )
        return number

    def shown(self, data: Any) -> str:
        """Without trailing zeros."""
        return f"{data:g}"


FIRST_YEAR, LAST_YEAR = 1950, 2200  # a year beyond is a slip of the finger


class DayField(_TypedField):
    """A day of the household's calendar, typed or picked: 2026-10-11."""

    data: Any

    def parse(self, text: str) -> date:
        """The date of an ISO text."""
        try:
            day = date.fromisoformat(text.strip())
        except ValueError:
            raise ValueError(N_("Write the day as 2026-10-11.")) from None
        if day.year < FIRST_YEAR:
            raise ValueError(_("Write a day from {year} on, as 2026-10-11.", year=FIRST_YEAR))
        return day


class PartialDateField(_TypedField):
    """A day, a month or a year; data is the first and last day it may mean."""

    _PATTERN = re.compile(r"(\d{4})(?:-(\d{1,2})(?:-(\d{1,2}))?)?")

    def parse(self, text: str) -> tuple[date, date]:
        """First and last day of what was typed."""
        match = self._PATTERN.fullmatch(text.strip())
        try:
            if match is None:
                raise ValueError
            year, month, day = (int(part) if part else None for part in match.groups())
            if year is None or not FIRST_YEAR <= year <= LAST_YEAR:
                raise ValueError
            if day is not None and month is not None:
                return date(year, month, day), date(year, month, day)
            if month is not None:
                return date(year, month, 1), date(year, month, monthrange(year, month)[1])
            return date(year, 1, 1), date(year, 12, 31)
        except ValueError:
            raise ValueError(
                N_("Write a year, a month or a day: 2024, 2024-10, 2024-10-05.")
            ) from None


class StockField(SelectField):
    """A choice among what is on hand; data is the text of a StockRef."""

    @property
    def ref(self) -> StockRef:
        """The reference chosen; only after validation."""
        return StockRef.parse(self.data)

    def pre_validate(self, form: Any) -> None:
        """Only what is on hand can be chosen."""
        try:
            StockRef.parse(self.data or "")
        except NotFound:
            raise ValidationError(N_("Choose a lot.")) from None
        if self.data not in {str(option.value) for option in self.choices}:
            raise ValidationError(N_("That is not on hand any more; choose again."))
