"""The form of a logger's file: what could not be told from the file, and which months count."""

from typing import Any

from wtforms import HiddenField, RadioField, SelectField, SelectMultipleField
from wtforms.widgets import CheckboxInput, ListWidget

from app.language import N_, _
from app.ledger.climates import StatedClimate
from app.ledger.loggers.cells import Unit
from app.ledger.loggers.columns import Mapping, Question
from app.web.fields import EntryForm, choices, text_note, worded
from app.web.messages import day
from app.web.places.logger_file import Answers, Looked, name_of, warmth_of
from app.web.places.words import warmth_words

_YES_NO = {"yes": True, "no": False}
_UNITS: dict[str | None, Unit] = {"C": "C", "F": "F"}
_FIELDS = {
    Question.DAY_OR_MONTH_FIRST: "day_first",
    Question.UNIT: "unit",
    Question.WHICH_COLUMN: "temperature",
    Question.WHICH_CHANNEL: "label_value",
    Question.STANDARD_TIME: "keeps_standard_time",
}
NONE = "none"


def _radio(label: str, pairs: Any, description: str = "") -> RadioField:
    return RadioField(label, choices=choices(pairs), validate_choice=False, description=description)


class LoggerFileForm(EntryForm):
    """A logger's file on its way into the ledger."""

    carried = HiddenField()
    file_name = HiddenField()
    temperature = SelectField(N_("Which column is the temperature"), validate_choice=False)
    unit = _radio(
        N_("It is in"), [("C", N_("°C, degrees Celsius")), ("F", N_("°F, degrees Fahrenheit"))]
    )
    humidity = SelectField(N_("Which column is the humidity"), validate_choice=False)
    label_value = SelectField(N_("Which sensor stood here"), validate_choice=False)
    day_first = _radio(
        N_("Dates in this file are written"),
        [("yes", N_("day first, then month")), ("no", N_("month first, then day"))],
    )
    keeps_standard_time = _radio(
        N_("When the clocks change to summer time"),
        [
            ("yes", N_("this logger stays on standard time all year")),
            ("no", N_("this logger changes, too")),
        ],
        N_("The file spans such a change, so an hour hangs on it."),
    )
    months = SelectMultipleField(
        N_("Which months count from now on"),
        widget=ListWidget(prefix_label=False),
        option_widget=CheckboxInput(),
        validate_choice=False,
    )
    after = _radio(N_("After the last reading"), [("stays", ""), ("returns", "")])
    note = text_note()

    def start(self, guess: Mapping, before: StatedClimate) -> None:
        """As far as the file itself tells."""
        self.temperature.data = _text(guess.temperature)
        self.humidity.data = _text(guess.humidity)
        self.label_value.data = _text(guess.label_value)
        self.unit.data = guess.unit or ""
        self.day_first.data = _yes_no(guess.day_first)
        self.keeps_standard_time.data = _yes_no(guess.keeps_standard_time)
        self.after.data = "returns" if before.is_by_month else "stays"

    @property
    def answers(self) -> Answers:
        """What was told, as the file is read with."""
        return Answers(
            temperature=_number(self.temperature.data),
            humidity=_number(self.humidity.data),
            label_value=None
            if self.label_value.data in (NONE, "", None)
            else self.label_value.data,
            unit=_UNITS.get(self.unit.data),
            day_first=_YES_NO.get(self.day_first.data),
            keeps_standard_time=_YES_NO.get(self.keeps_standard_time.data),
        )

    def offer(self, looked: Looked, before: StatedClimate, before_words: str) -> None:
        """The columns, channels and months of this file."""
        columns = [(str(i), title) for i, title in looked.columns()]
        self.temperature.choices = worded([(NONE, N_("choose one")), *columns])
        self.humidity.choices = worded([(NONE, N_("none of them")), *columns])
        self.label_value.choices = worded(
            [(NONE, N_("choose one")), *((name, name) for name in looked.channels)]
        )
        damp = before.by_month[0].relative_humidity
        self.months.choices = choices(
            (
                name_of(m),
                _(
                    "From {first_day} on: {warmth_words}",
                    first_day=day(m.first_day),
                    warmth_words=warmth_words(warmth_of(m, damp)),
                ),
            )
            for m in looked.months
        )
        self.after.choices = worded(
            [
                ("stays", N_("it goes on as in the last month that counts")),
                (
                    "returns",
                    _(
                        "it is again as it was said before: {before_words}",
                        before_words=before_words,
                    ),
                ),
            ]
        )

    def tick_all(self) -> None:
        """Every month counts, to begin with."""
        self.months.data = [choice.value for choice in self.months.choices]

    def ask(self, looked: Looked) -> None:
        """Say beside each field that it is still to be answered."""
        for question in looked.open:
            field = self[_FIELDS[question]]
            field.errors = [*field.errors, _("The file does not tell; please say.")]

    def shown(self, looked: Looked) -> list[Any]:
        """The fields that this file needs, in order."""
        wanted = {name for question, name in _FIELDS.items() if question in looked.asks}
        if not looked.channels:
            wanted |= {"humidity"}
        return [field for field in self if field.name in wanted]


def _text(value: int | str | None) -> str:
    return NONE if value is None else str(value)


def _named(text: str | None) -> str | None:
    return None if text in (NONE, "") else text


def _yes_no(value: bool | None) -> str:
    return {True: "yes", False: "no", None: ""}[value]


def _number(text: str | None) -> int | None:
    return int(text) if text and text.isascii() and text.isdigit() and len(text) < 4 else None
