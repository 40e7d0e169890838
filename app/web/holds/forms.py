"""The forms of a hold: putting it, writing a test's result, lifting it."""

from collections.abc import Sequence
from datetime import date, datetime
from typing import Any

from sqlalchemy.orm import Session
from wtforms import RadioField, SelectMultipleField
from wtforms.validators import AnyOf, ValidationError
from wtforms.widgets import CheckboxInput, ListWidget

from app.language import N_
from app.ledger.codes import spoken
from app.ledger.operations._post import Posted
from app.ledger.operations.hold import (
    LiftHold,
    PutOnHold,
    TestResult,
    hold,
    release,
    test_result,
)
from app.ledger.queries.holds import Kin, Reached
from app.ledger.words import HoldCause, ReleaseCause
from app.web.fields import DayField, EntryForm, choices, text_line, text_note, worded

#: The causes as choices that stand alone.
_ALONE = {
    HoldCause.TEST_AWAITED: N_("A test result is awaited"),
    HoldCause.LOOK_FIRST: N_("Somebody has to look at it first"),
    HoldCause.SEAL_FAILED: N_("A seal failed"),
    HoldCause.RECALL: N_("It was recalled"),
    HoldCause.LOOKED_SICK: N_("The animal looked sick or was found dead"),
    HoldCause.TEST_POSITIVE: N_("A disease was found"),
}
NOT_DETECTED, DETECTED = "not_detected", "detected"


def _one_of(label: str, pairs: Sequence[tuple[str, str]], message: str, **more: Any) -> RadioField:
    """Radio buttons of which one must be chosen, with our own words when none is."""
    return RadioField(
        label,
        choices=worded(pairs),
        validate_choice=False,
        validators=[AnyOf([value for value, _ in pairs], message=message)],
        **more,
    )


class LotChoices(SelectMultipleField):
    """Several lots, each a big touch row."""

    widget = ListWidget(prefix_label=False)
    option_widget = CheckboxInput()

    def pre_validate(self, form: Any) -> None:
        """Only the lots that the page offered."""
        offered = {option.value for option in self.choices}
        if any(lot_id not in offered for lot_id in self.data or ()):
            raise ValidationError(N_("Choose among these lots."))


class HoldForm(EntryForm):
    """Put lots on hold."""

    lot_ids = LotChoices(N_("Which"), coerce=int)
    cause = _one_of(
        N_("Why"),
        [
            *((cause.value, words) for cause, words in _ALONE.items()),
            (HoldCause.OTHER.value, N_("Another reason")),
        ],
        N_("Say why it is held."),
        description=N_("For a sick animal or a disease that was found, a hold is never lifted."),
    )
    words = text_line(
        N_("In a few words"), description=N_("Which test, which recall, what to look for.")
    )
    done_on = DayField(N_("Day"))
    note = text_note()

    def offer(self, reached: Sequence[Reached]) -> None:
        """The lots that may be meant."""
        self.lot_ids.choices = choices((r.lot_id, f"{spoken(r.code)} {r.name}") for r in reached)

    def start(self, lot_ids: Sequence[int], today: date) -> None:
        """These lots, today."""
        self.lot_ids.data = list(lot_ids)
        self.done_on.data = today

    def carry_out(self, session: Session, at: datetime, by: int | None) -> Posted:
        """Put them on hold."""
        request = PutOnHold(
            lot_ids=tuple(self.lot_ids.data or ()),
            cause=HoldCause(self.cause.data),
            done_on=self.done_on.data,
            words=self.words.data,
            note=self.note.data,
        )
        return hold(session, request, at=at, by=by)


class EndForm(EntryForm):
    """What both ways to end a hold share: further holds that end with it."""

    also: LotChoices
    done_on: DayField

    def offer(self, kin: Kin) -> None:
        """Other holds that the same answer may end."""
        self.also.choices = choices(
            (hold.id, f"{spoken(hold.code)} {hold.name}") for hold, _ in kin.holds
        )

    def start(self, kin: Kin, today: date) -> None:
        """Those that the same entry put are ticked."""
        self.also.data = [hold.id for hold, is_same_entry in kin.holds if is_same_entry]
        self.done_on.data = today

    def carry_out(self, session: Session, hold_id: int, at: datetime, by: int | None) -> Posted:
        """End them in the open transaction."""
        raise NotImplementedError


class ResultForm(EndForm):
    """The result of a test."""

    hold_id = _one_of(
        N_("Result"),
        [(NOT_DETECTED, N_("Not detected")), (DETECTED, N_("Detected"))],
        N_("Say what the result is."),
    )
    also = LotChoices(N_("The same result for"), coerce=int)
    done_on = DayField(N_("Day"))
    note = text_note(description=N_("Laboratory, number of the report."))

    def carry_out(self, session: Session, hold_id: int, at: datetime, by: int | None) -> Posted:
        """Write it down."""
        is_detected = self.hold_id.data == DETECTED
        also = tuple(self.also.data or ())
        request = TestResult(hold_id, is_detected, self.done_on.data, self.note.data, also)
        return test_result(session, request, at=at, by=by)


class ReleaseForm(EndForm):
    """Lift a hold."""

    hold_ids = _one_of(
        N_("Why it may be eaten again"),
        [
            (ReleaseCause.LOOKED_FINE.value, N_("Somebody looked, and it was fine")),
            (ReleaseCause.OTHER.value, N_("For another reason, which stands in the note")),
        ],
        N_("Say why."),
    )
    also = LotChoices(N_("Release as well"), coerce=int)
    done_on = DayField(N_("Day"))
    note = text_note(
        description=N_("Needed where the reason is another, or a test is still awaited.")
    )

    def carry_out(self, session: Session, hold_id: int, at: datetime, by: int | None) -> Posted:
        """Lift it."""
        cause = ReleaseCause(self.hold_ids.data)
        hold_ids = (hold_id, *(self.also.data or ()))
        request = LiftHold(hold_ids, cause, self.done_on.data, self.note.data)
        return release(session, request, at=at, by=by)
