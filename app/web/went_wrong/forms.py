"""What is asked when something went wrong: first what happened, then what becomes of each food."""

from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from wtforms import FieldList, Form, FormField, HiddenField, RadioField, SelectField
from wtforms.validators import ValidationError

from app.language import N_, _
from app.ledger.models import Place
from app.ledger.operations.incident import LotFate, WentWrong
from app.ledger.queries.at_place import Air
from app.ledger.queries.stock import StockLine
from app.ledger.queries.what_it_means import Meaning, Seen, Told
from app.ledger.words import IncidentFate, IncidentKind, PlaceKind
from app.science.safety.outage import WARM_C
from app.science.safety.readings import Reading, unit_ask
from app.science.safety.rule import Verdict
from app.web import scope
from app.web.fields import (
    DayField,
    EntryForm,
    NumberField,
    TemperatureField,
    choices,
    text_line,
    worded,
)
from app.web.fields import text_note as note_field
from app.web.operations.base import StockChoices, stock_choices
from app.web.posting import Caution
from app.web.went_wrong.moments import MomentField, earliest, latest
from app.web.went_wrong.words import CHOICES, KINDS, NOT_THERE, NOT_THERE_WORDS

_YES, _NO, _NOT_LOOKED = "yes", "no", "unknown"
_ICE = {_YES: True, _NO: False, _NOT_LOOKED: None}
_ICE_WORDS = (
    (_YES, N_("Yes: ice in it, and cold as from the refrigerator")),
    (_NO, N_("No: thawed and no longer cold")),
    (_NOT_LOOKED, N_("Nobody has looked")),
)
_ONE_ICE = (
    ("", N_("As said for all")),
    (_YES, N_("Ice in it, and cold")),
    (_NO, N_("Thawed")),
    (_NOT_LOOKED, N_("Nobody has looked")),
)
_FULL = (("full", N_("Full")), ("half", N_("Half full or less")), ("", N_("It is no freezer")))

_DATED = (IncidentFate.OPENED, IncidentFate.WORN)
_SPAN = ("from_at", "to_at")
_OF_PLACE = ("place_id", *_SPAN, "temp", "warm_hours", "is_full", "ice")
FIELDS: dict[IncidentKind, tuple[str, ...]] = {
    IncidentKind.POWER_OUT: _OF_PLACE,
    IncidentKind.DOOR_OPEN: _OF_PLACE,
    IncidentKind.THAWED: ("refs", *_SPAN, "temp", "warm_hours", "ice"),
    IncidentKind.LEFT_OUT: ("refs", *_SPAN, "temp"),
    IncidentKind.KEPT_WARM: ("refs", *_SPAN, "temp"),
    IncidentKind.SEAL_FAILED: ("refs", "since"),
    IncidentKind.ABSORBER_SPENT: ("refs", "since"),
    IncidentKind.FREEZER_BURN: ("refs",),
    IncidentKind.WORN: ("refs",),
}
_MAY_BE_EMPTY = {IncidentKind.THAWED: _SPAN}
_TEMPS = {
    IncidentKind.LEFT_OUT: (
        N_("How warm the air was there"),
        N_("Above 32 °C (90 °F) the limit is one hour, not two. Empty: not known."),
    ),
    IncidentKind.KEPT_WARM: (
        N_("How hot the food was at its coolest"),
        N_("From a thermometer in the food. Above 57 °C (135 °F) it may wait. Empty: not known."),
    ),
}


class FateForm(Form):
    """One line of stock: what was seen of it, what becomes of it, and why if a rule objects."""

    ref = HiddenField()
    refs = HiddenField()  # every package of the line, so that one taken meanwhile can be named
    ice = SelectField(N_("Ice"), choices=worded(_ONE_ICE), validate_choice=False)
    fate = RadioField(N_("What becomes of it"), validate_choice=False)
    reason = text_line(N_("Reason, if it is not discarded"), most=300)


class ToldForm(EntryForm):
    """The whole page of one kind; fields that do not matter to a kind are taken out."""

    place_id = RadioField(N_("Which one"), coerce=int, validate_choice=False)
    refs = StockChoices(N_("Which food"))
    from_at = MomentField(N_("From"))
    to_at = MomentField(N_("To"), description=N_("Until it was cold again, or now."))
    temp = TemperatureField(
        N_("How warm the food became, at most"),
        is_optional=True,
        description=N_("From a thermometer in or between the food. Empty: not known."),
    )
    warm_hours = NumberField(
        N_("Hours above 4.4 °C (40 °F)"),
        is_optional=True,
        high=9999.0,
        description=N_(
            "Only if somebody knows. Empty: worked out from the place's readings if there "
            "are any, else not known; and not known never counts as cold."
        ),
    )
    is_full = RadioField(
        N_("How full the freezer is"),
        choices=worded(_FULL),
        validate_choice=False,
        default="half",
        description=N_("Shut, a full freezer stays cold for about 48 hours, half full about 24."),
    )
    ice = RadioField(
        N_("Does the food still have ice, and feel as cold as from the refrigerator"),
        choices=worded(_ICE_WORDS),
        default=_NOT_LOOKED,
        description=N_("For all of it; what differs is said food by food on the next step."),
    )
    since = DayField(
        N_("Last seen whole on"),
        is_optional=True,
        description=N_("Empty: the last look that found it fine, or the day it was packed."),
    )
    note = note_field(description=N_("What happened, for whoever reads this later."))
    seen = HiddenField()
    fates = FieldList(FormField(FateForm), label=N_("Food"))

    def __init__(self, kind: IncidentKind, *args: Any, **kwargs: Any) -> None:
        """The form of one kind of mishap."""
        super().__init__(*args, **kwargs)
        self.what = kind
        for name in {name for names in FIELDS.values() for name in names} - set(FIELDS[kind]):
            del self[name]
        for name in _MAY_BE_EMPTY.get(kind, ()):
            self[name].is_optional = True
        if kind in _TEMPS:
            self.temp.label.text, self.temp.description = _TEMPS[kind]
        if "refs" in self:
            self.refs.label.text = _(KINDS[kind].which)
        if kind in (IncidentKind.LEFT_OUT, IncidentKind.KEPT_WARM):
            self.refs.description = _("All of each that is ticked; split off a part first.")

    @property
    def asked(self) -> list[Any]:
        """The questions of the first step, in order."""
        return [self[name] for name in (*FIELDS[self.what], "note")]

    def offer(self, places: Sequence[Place], lines: Sequence[StockLine]) -> None:
        """The places that can fail, or the food it can have happened to."""
        if "place_id" in self:
            self.place_id.choices = choices((p.id, p.name) for p in places if self._can_fail(p))
        if "refs" in self:
            self.refs.choices = stock_choices(lines)

    def _can_fail(self, place: Place) -> bool:
        """What needs power; of a dryer, the load that stopped."""
        kind = PlaceKind(place.kind)
        stops = self.what is IncidentKind.POWER_OUT and kind.is_dryer
        return stops or kind in (PlaceKind.FREEZER, PlaceKind.FRIDGE)

    # -- checks ----------------------------------------------------------------------------

    def validate(self, *args: Any, **kwargs: Any) -> bool:
        """Besides each field: is a temperature believable, and are the hours possible?"""
        is_fine = bool(super().validate(*args, **kwargs))
        return self._believes_temp() and is_fine

    def validate_place_id(self, field: Any) -> None:
        """One of the cold places."""
        if field.data not in [choice.value for choice in field.choices]:
            raise ValidationError(N_("Choose one."))

    def validate_refs(self, field: Any) -> None:
        """At least one."""
        if not field.data:
            raise ValidationError(N_("Tick what it happened to."))

    def validate_from_at(self, field: Any) -> None:
        """Not in the future."""
        self._refuse_future(field)

    def validate_to_at(self, field: Any) -> None:
        """Not in the future, and not before the beginning."""
        self._refuse_future(field)
        begins, ends = self.span
        if begins and ends and ends < begins:
            raise ValidationError(N_("The end is before the beginning."))
        if bool(begins) != bool(ends) and not (self.from_at.errors or self.to_at.errors):
            raise ValidationError(N_("Give both beginning and end, or neither."))

    def validate_warm_hours(self, field: Any) -> None:
        """No more hours above the limit than it lasted."""
        begins, ends = self.span
        if field.data is None or begins is None or ends is None:
            return
        lasted = (ends - begins) / timedelta(hours=1)
        if field.data > lasted + 1e-9:
            raise ValidationError(
                _("That is more than the {lasted:.3g} hours it lasted.", lasted=lasted)
            )

    def validate_since(self, field: Any) -> None:
        """Not in the future."""
        if field.data is not None and field.data > scope.today():
            raise ValidationError(N_("That day is still to come."))

    def _refuse_future(self, field: Any) -> None:
        if field.data is not None and earliest(field.data, self.zone) > scope.now():
            raise ValidationError(N_("That is still to come."))

    def _believes_temp(self) -> bool:
        asked = self._unit_question()
        if asked is None or self.reason.data.strip():
            return True
        caution = Caution(asked.id, "confirm", asked.sentence, asked.source_text)
        self.cautions.append(caution)
        self.reason.errors = [*self.reason.errors, _("Give a reason to go on, or type it again.")]
        return False

    def _unit_question(self) -> Verdict | None:
        """Fahrenheit typed as Celsius, and the like."""
        read = self.temp.data if "temp" in self else None
        if read is None:
            return None
        usual = {IncidentKind.LEFT_OUT: Reading.ROOM, IncidentKind.KEPT_WARM: Reading.COOK_CENTRE}
        if self.what in usual:
            return unit_ask(usual[self.what], read.value, read.unit)
        if read.temp_c < 0:  # a freezer that hardly warmed
            return unit_ask(Reading.FREEZER, min(read.value, _frozen(read.unit)), read.unit)
        return unit_ask(Reading.FRIDGE, read.value, read.unit)

    # -- what was told ---------------------------------------------------------------------

    @property
    def zone(self) -> ZoneInfo:
        """The household's own."""
        known = scope.household()
        return ZoneInfo(known.time_zone if known else "UTC")

    @property
    def span(self) -> tuple[datetime | None, datetime | None]:
        """From and to as instants, the longest that the clock can have meant."""
        if "from_at" not in self:
            return None, None
        begins, ends = self.from_at.data, self.to_at.data
        return (
            earliest(begins, self.zone) if begins else None,
            latest(ends, self.zone, scope.now()) if ends else None,
        )

    def told(self, lines: Sequence[StockLine], air: Air | None) -> Told:
        """What happened, for the rules."""
        begins, ends = self.span
        return Told(
            kind=self.what,
            seen=tuple(Seen(line, self.ice_of(str(line.ref))) for line in lines),
            at=scope.now(),
            from_at=begins,
            to_at=ends,
            temp=(self.temp.data.value, self.temp.data.unit) if self._has_temp else None,
            warm_hours=self._warm_hours(),
            air=air,
            is_full=self.is_full.data == "full" if "is_full" in self else None,
            since=self.since.data if "since" in self else None,
        )

    @property
    def _has_temp(self) -> bool:
        return "temp" in self and self.temp.data is not None

    def _warm_hours(self) -> float | None:
        """As typed; none at all when the warmest reading keeps the limit, in the unit it has."""
        if "warm_hours" not in self:
            return None
        if self.warm_hours.data is not None:
            return float(self.warm_hours.data)
        read = self.temp.data
        limit = 40.0 if read is not None and read.unit == "F" else WARM_C.value
        return 0.0 if read is not None and read.value <= limit else None

    def ice_of(self, ref: str) -> bool | None:
        """What was seen of one line: said of it alone, or of all."""
        if "ice" not in self:
            return None
        row = self.row(ref)
        own = row.ice.data if row is not None else ""
        return _ICE.get(own or self.ice.data)

    # -- what becomes of each --------------------------------------------------------------

    def row(self, ref: str) -> Any:
        """The row of one line, or None."""
        rows = (entry.form for entry in self.fates.entries)
        return next((row for row in rows if row.ref.data == ref), None)

    @property
    def listed_before(self) -> list[str]:
        """Every reference that stood on the page when it was sent."""
        return [ref for row in self.fates.entries for ref in (row.form.refs.data or "").split()]

    def list_fates(self, meanings: Sequence[Meaning], *, afresh: bool) -> None:
        """A row for each line; what was chosen stays unless what was told has changed since."""
        kept = {entry.form.ref.data: entry.form.data for entry in self.fates.entries}
        self.fates.entries.clear()
        self.fates.last_index = -1
        for meaning in meanings:
            ref = str(meaning.line.ref)
            old = kept.get(ref, {})
            data = {"ref": ref, "ice": old.get("ice") or "", "reason": old.get("reason") or ""}
            data["reason"] = data["reason"] or meaning.reason
            data["fate"] = str(meaning.fate) if afresh else old.get("fate") or ""
            data["refs"] = " ".join(map(str, meaning.line.refs))
            self.fates.append_entry(data)
            row = self.fates.entries[-1].form
            row.fate.choices = choices(self._choices(meaning))

    def _choices(self, meaning: Meaning) -> list[tuple[str, str]]:
        pairs = [(str(fate), _(CHOICES[fate])) for fate in meaning.allowed]
        return [*pairs, (NOT_THERE, _(NOT_THERE_WORDS))] if "place_id" in self else pairs

    def accepts(self, meanings: Sequence[Meaning]) -> bool:
        """Is every choice one that is allowed, with a reason where a rule says discard?"""
        for meaning in meanings:
            row = self.row(str(meaning.line.ref))
            if row.fate.data not in [choice.value for choice in row.fate.choices]:
                row.fate.errors = [_("Choose one.")]
            goes = row.fate.data in (IncidentFate.DISCARD, NOT_THERE)
            if meaning.is_stopped and not goes and not row.reason.data.strip():
                row.reason.errors = [_("A rule says discard. Give a reason to do otherwise.")]
        if all(entry.form.fate.data == NOT_THERE for entry in self.fates.entries):
            self.trouble(_("Nothing was there at the time: there is nothing to write."))
            return False
        return not any(e.form.fate.errors or e.form.reason.errors for e in self.fates.entries)

    def request(self, event: Told, meanings: Sequence[Meaning]) -> WentWrong:
        """What is written when the choices are accepted."""
        insisted = self.reason.data.strip()
        parts = [
            self.note.data,
            _("Reading confirmed: {insisted}", insisted=insisted) if insisted else "",
        ]
        hours = event.warm_hours if event.warm_hours is not None else event.air_hours
        return WentWrong(
            kind=self.what,
            done_on=scope.today(),
            lots=tuple(line for meaning in meanings for line in self._fates(meaning)),
            place_id=self.place_id.data if "place_id" in self else None,
            from_at=event.from_at,
            to_at=event.to_at,
            temp_c=event.temp_c,
            warm_hours=hours,
            note=" ".join(part for part in parts if part),
        )

    def _fates(self, meaning: Meaning) -> list[LotFate]:
        row = self.row(str(meaning.line.ref))
        if row.fate.data == NOT_THERE:
            return []
        fate = IncidentFate(row.fate.data)
        return [
            LotFate(
                ref=ref,
                fate=fate,
                verdicts=meaning.verdicts,
                is_icy=meaning.is_icy,
                warm_hours=meaning.warm_hours,
                temp_c=meaning.temp_c,
                since=meaning.since if fate in _DATED else None,
                reason=row.reason.data,
            )
            for ref in meaning.line.refs
        ]


def _frozen(unit: str) -> float:
    """The warmest reading that is believed of a freezer, in a unit: one that warmed has more."""
    return -5.0 if unit == "C" else 23.0
