"""The form of a blend of several lots."""

from collections.abc import Sequence
from datetime import date, datetime

from sqlalchemy.orm import Session
from wtforms import FormField, SelectField

from app.language import N_, _
from app.ledger.models import Place
from app.ledger.operations import mix
from app.ledger.operations._post import Posted
from app.ledger.queries.stock import StockLine
from app.ledger.stock import StockRef
from app.ledger.words import PlaceKind
from app.science.blending import Component
from app.web.display import mass
from app.web.fields import (
    DayField,
    EntryForm,
    MassField,
    NumberField,
    choices,
    text_line,
    text_note,
    worded,
)
from app.web.operations.base import (
    NAME,
    allergens_field,
    place_choices,
    stock_choices,
    told_allergens,
)
from app.web.operations.preparing import PartForm
from app.web.rows import RowForm, Rows

_COMPONENTS = {
    Component.FAT: N_("% fat"),
    Component.WATER: N_("% water"),
    Component.PROTEIN: N_("% protein"),
}
_STUFF = {
    mix.Stuff.SALT: N_("Salt"),
    mix.Stuff.SPICE: N_("Dry spice"),
    mix.Stuff.WATER: N_("Water or ice"),
}


class SeasoningForm(RowForm):
    """One seasoning, as per cent of the meat."""

    typed_fields = ("percent",)
    stuff = SelectField(N_("What"), choices=worded((s.value, words) for s, words in _STUFF.items()))
    name = text_line(N_("Name"))
    percent = NumberField(N_("% of the meat"), high=100.0)

    def seasoning(self, allergens: frozenset[str] | None) -> mix.Seasoning:
        """As the ledger takes it; salt and water have no allergens to tell."""
        stuff = mix.Stuff(self.stuff.data)
        told = allergens if stuff is mix.Stuff.SPICE else None
        name = self.name.data or _(_STUFF[stuff])
        return mix.Seasoning(name, stuff, (self.percent.data or 0.0) / 100.0, told)


class MixForm(EntryForm):
    """Which lots, the content wanted, the seasoning, and what came out."""

    parts = Rows(
        FormField(PartForm),
        label=N_("What goes in"),
        min_entries=4,
        description=N_("Choose two lots or more; the weights may be worked out."),
    )
    component = SelectField(
        N_("Wanted"), choices=worded((c.value, words) for c, words in _COMPONENTS.items())
    )
    target = NumberField(N_("How much of that, %"), high=100.0, is_optional=True)
    total_mg = MassField(
        N_("Weight wanted, without seasoning"),
        is_optional=True,
        description=N_("Empty: as much as is on hand allows."),
    )
    seasonings = Rows(FormField(SeasoningForm), label=N_("Seasoning"), min_entries=3)
    spice_allergens = allergens_field(
        N_("Allergens of the spices"), N_("All spices together, as their packets say.")
    )
    name = text_line(N_("Name of the blend"), validators=NAME)
    made_mg = MassField(N_("What came out"))
    stuck_mg = MassField(N_("Stuck in the machine"), is_optional=True)
    unexplained_mg = MassField(N_("Missing, unexplained"), is_optional=True)
    place_id = SelectField(N_("Where it is now"), coerce=int)
    done_on = DayField(N_("Day"))
    note = text_note()

    def offer(self, lines: Sequence[StockLine], places: Sequence[Place]) -> None:
        """What is on hand and not frozen."""
        self.place_id.choices = place_choices(places)
        usable = [x for x in lines if not x.place_kind.is_dryer]
        offered = choices([("", "—")]) + stock_choices(
            x for x in usable if x.place_kind is not PlaceKind.FREEZER
        )
        for entry in self.parts.entries:
            entry.form.ref.choices = offered

    def start(self, places: Sequence[Place], today: date) -> None:
        """On the bench, today."""
        self.done_on.data = today
        bench = [place.id for place in places if PlaceKind(place.kind) is PlaceKind.BENCH]
        self.place_id.data = bench[0] if bench else None

    def work_out(self, session: Session) -> str:
        """Fill in the weights; gives the sentence that explains them."""
        rows = [entry.form for entry in self.parts.entries if entry.form.ref.data]
        target = self.target.data or 0.0
        amounts = mix.amounts_for(
            session,
            [StockRef.parse(row.ref.data) for row in rows],
            Component(self.component.data),
            target / 100.0,
            self.total_mg.mg or None,
        )
        whole_g = [round(mass_mg, -3) for mass_mg in amounts]
        for row, mass_mg in zip(rows, whole_g, strict=True):
            row.mass.typed, row.mass.data = ("", None) if not mass_mg else (None, mass_mg)
        meat_mg = sum(whole_g)
        seasoned = mix.seasoning_mg(self._seasonings(), meat_mg)
        self.made_mg.typed, self.made_mg.data = None, meat_mg + sum(seasoned)
        each = ", ".join(
            _("{mass} of {name}", mass=mass(mass_mg), name=one.name)
            for one, mass_mg in zip(self._seasonings(), seasoned, strict=True)
        )
        words = _(_COMPONENTS[Component(self.component.data)]).removeprefix("% ")
        told = _(
            "{meat} at {target:g} % {words}, by what the lots are made of.",
            meat=mass(meat_mg),
            target=target,
            words=words,
        )
        return _("{told} To it {each}.", told=told, each=each) if each else told

    def _seasonings(self) -> tuple[mix.Seasoning, ...]:
        told = told_allergens(self.spice_allergens.data)
        return tuple(row.form.seasoning(told) for row in self.seasonings.filled())

    def carry_out(self, session: Session, at: datetime, by: int | None) -> Posted:
        """Mix it."""
        request = mix.Mix(
            parts=tuple(
                mix.MixPart(row.form.ref.ref, row.form.mass.mg) for row in self.parts.filled()
            ),
            name=self.name.data,
            made_mg=self.made_mg.mg,
            place_id=self.place_id.data,
            done_on=self.done_on.data,
            seasonings=self._seasonings(),
            stuck_mg=self.stuck_mg.mg,
            unexplained_mg=self.unexplained_mg.mg,
            note=self.note.data,
            reason=self.reason.data,
        )
        return mix.mix_lots(session, request, at=at, by=by)
