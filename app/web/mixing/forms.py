"""The form of a blend of several lots."""

from collections.abc import Sequence
from datetime import date, datetime

from sqlalchemy.orm import Session
from wtforms import FormField, SelectField

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
    Component.FAT: "% fat",
    Component.WATER: "% water",
    Component.PROTEIN: "% protein",
}
_STUFF = {
    mix.Stuff.SALT: "Salt",
    mix.Stuff.SPICE: "Dry spice",
    mix.Stuff.WATER: "Water or ice",
}


class SeasoningForm(RowForm):
    """One seasoning, as per cent of the meat."""

    typed_fields = ("percent",)
    stuff = SelectField("What", choices=choices((s.value, words) for s, words in _STUFF.items()))
    name = text_line("Name")
    percent = NumberField("% of the meat", high=100.0)

    def seasoning(self, allergens: frozenset[str] | None) -> mix.Seasoning:
        """As the ledger takes it; salt and water have no allergens to tell."""
        stuff = mix.Stuff(self.stuff.data)
        told = allergens if stuff is mix.Stuff.SPICE else None
        name = self.name.data or _STUFF[stuff]
        return mix.Seasoning(name, stuff, (self.percent.data or 0.0) / 100.0, told)


class MixForm(EntryForm):
    """Which lots, the content wanted, the seasoning, and what came out."""

    parts = Rows(
        FormField(PartForm),
        label="What goes in",
        min_entries=4,
        description="Choose two lots or more; the weights may be worked out.",
    )
    component = SelectField(
        "Wanted", choices=choices((c.value, words) for c, words in _COMPONENTS.items())
    )
    target = NumberField("How much of that, %", high=100.0, is_optional=True)
    total_mg = MassField(
        "Weight wanted, without seasoning",
        is_optional=True,
        description="Empty: as much as is on hand allows.",
    )
    seasonings = Rows(FormField(SeasoningForm), label="Seasoning", min_entries=3)
    spice_allergens = allergens_field(
        "Allergens of the spices", "All spices together, as their packets say."
    )
    name = text_line("Name of the blend", validators=NAME)
    made_mg = MassField("What came out")
    stuck_mg = MassField("Stuck in the machine", is_optional=True)
    unexplained_mg = MassField("Missing, unexplained", is_optional=True)
    place_id = SelectField("Where it is now", coerce=int)
    done_on = DayField("Day")
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
            f"{mass(mass_mg)} of {one.name}"
            for one, mass_mg in zip(self._seasonings(), seasoned, strict=True)
        )
        words = _COMPONENTS[Component(self.component.data)].removeprefix("% ")
        told = f"{mass(meat_mg)} at {target:g} % {words}, by what the lots are made of."
        return f"{told} To it {each}." if each else told

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
