"""The form that writes a look down: one tap, or the temperature that was read."""

from datetime import date, datetime
from typing import Any

from sqlalchemy.orm import Session
from wtforms import HiddenField

from app.language import N_
from app.ledger.operations._post import Posted
from app.ledger.operations.check import Looked, check
from app.ledger.operations.climate import ReadingIn
from app.ledger.queries.due import Due, DueKind
from app.ledger.words import CheckKind, Finding, PlaceKind
from app.science.safety.checks import freezer_cold
from app.science.safety.rule import Outcome, Verdict
from app.science.safety.verdicts import held_cold
from app.web.fields import EntryForm, TemperatureField

_KINDS = {DueKind.SEAL: CheckKind.SEAL, DueKind.LOOK: CheckKind.LOOK}


class LookForm(EntryForm):
    """A look at one thing that is due."""

    back = HiddenField()
    temp = TemperatureField(
        N_("It reads"), description=N_("As the thermometer shows it, with its minus.")
    )

    def __init__(self, item: Due, *args: Any, **kwargs: Any) -> None:
        """Only a thermometer is asked for a temperature."""
        super().__init__(*args, **kwargs)
        self.item = item
        if item.kind is not DueKind.THERMOMETER:
            del self.temp

    @property
    def location(self) -> str:
        """Where the look was asked for."""
        return "/" if self.back.data == "home" else "/due"

    @property
    def warm(self) -> Verdict | None:
        """What speaks against the temperature that was read."""
        if self.item.kind is not DueKind.THERMOMETER:
            return None
        read = self.temp.data
        if self.item.place_kind is PlaceKind.FRIDGE:
            insists = bool((self.reason.data or "").strip())
            (verdict,) = held_cold(read.value, read.unit, insisted=insists)
            return None if verdict.outcome in (Outcome.PASS, Outcome.NOTE) else verdict
        (verdict,) = freezer_cold(read.value, read.unit)
        return None if verdict.outcome is Outcome.PASS else verdict

    def carry_out(self, session: Session, on: date, at: datetime, by: int | None) -> Posted:
        """Write it down."""
        if self.item.kind is not DueKind.THERMOMETER:
            fine = Looked(_KINDS[self.item.kind], Finding.FINE, on, lot_id=self.item.number)
            return check(session, fine, at=at, by=by)
        read = self.temp.data
        looked = Looked(
            CheckKind.THERMOMETER,
            Finding.FINE if self.warm is None else Finding.NOT_FINE,
            on,
            place_id=self.item.number,
            reading=ReadingIn(at, read.temp_c, typed=read.typed, unit=read.unit),
            reason=self.reason.data,
        )
        return check(session, looked, at=at, by=by)
