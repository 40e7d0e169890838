"""The form of a trial: two bowls side by side."""

from collections.abc import Sequence
from datetime import date, datetime

from sqlalchemy.orm import Session
from wtforms import FormField, SelectField

from app.language import N_
from app.ledger.operations.trial import Side, TrialIn, record_trial
from app.ledger.queries.stock import StockLine
from app.web.fields import (
    DayField,
    EntryForm,
    MassField,
    NumberField,
    StockField,
    TemperatureField,
    text_note,
    worded,
)
from app.web.operations.base import stock_choices
from app.web.rows import RowForm, Rows

_SCORES = (
    ("", N_("not scored")),
    ("5", N_("5, like fresh")),
    ("4", "4"),
    ("3", N_("3, fair")),
    ("2", "2"),
    ("1", N_("1, not again")),
)


class SideForm(RowForm):
    """One bowl."""

    typed_fields = ("dry",)
    ref = StockField(N_("Lot"))
    dry = MassField(N_("Weight dry"))
    water = MassField(N_("Water poured on"))
    temp = TemperatureField(N_("Temperature of the water"))
    minutes = NumberField(N_("Minutes"), high=2880.0)
    drained = MassField(N_("Weight drained"))
    score = SelectField(N_("Score"), choices=worded(_SCORES))

    @property
    def side(self) -> Side:
        """As the ledger takes it."""
        return Side(
            ref=self.ref.ref,
            dry_mg=self.dry.mg,
            water_mg=self.water.mg,
            drained_mg=self.drained.mg,
            minutes=self.minutes.data or 0.0,
            temp_c=self.temp.data.temp_c,
            score=int(self.score.data) if self.score.data else None,
        )


class TrialForm(EntryForm):
    """Both bowls, the day, anything worth noting."""

    sides = Rows(FormField(SideForm), label=N_("Bowl"), min_entries=2, max_entries=2)
    done_on = DayField(N_("Day"))
    note = text_note()

    def offer(self, lines: Sequence[StockLine]) -> None:
        """What is dried and on hand."""
        offered = stock_choices(line for line in lines if line.is_dried)
        for entry in self.sides.entries:
            entry.form.ref.choices = offered

    def start(self, today: date) -> None:
        """Today."""
        self.done_on.data = today

    def carry_out(self, session: Session, at: datetime, by: int | None) -> int:
        """Write it down."""
        first, second = (row.form.side for row in self.sides.filled())
        request = TrialIn((first, second), self.done_on.data, self.note.data)
        return record_trial(session, request, at=at, by=by)
