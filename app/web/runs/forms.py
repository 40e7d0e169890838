"""Forms of a dryer run: load, weigh back, unload."""

from collections.abc import Sequence
from datetime import date, datetime

from sqlalchemy.orm import Session
from wtforms import BooleanField, FormField, IntegerField, SelectField
from wtforms.widgets import HiddenInput

from app.language import N_
from app.ledger.models import Place
from app.ledger.operations._post import Posted
from app.ledger.operations.load import Load, TrayLoaded, load
from app.ledger.operations.unload import DryMade, Unload, unload
from app.ledger.operations.weigh_back import WeighBack, weigh_back
from app.ledger.queries.stock import StockLine
from app.ledger.words import PlaceKind
from app.web.fields import (
    DayField,
    EntryForm,
    LengthField,
    MassField,
    StockField,
    TemperatureField,
    choices,
    text_note,
)
from app.web.operations.base import place_choices, stock_choices, typed
from app.web.rows import RowForm, Rows


class TrayForm(RowForm):
    """One tray on the scale."""

    typed_fields = ("gross",)
    ref = StockField(N_("Food"))
    gross = MassField(N_("Full tray"))
    tare = MassField(N_("Empty tray"), is_optional=True)


class LoadForm(EntryForm):
    """What loading asks."""

    place_id = SelectField(N_("Dryer"), coerce=int)
    trays = Rows(
        FormField(TrayForm),
        label=N_("Trays"),
        min_entries=1,
        description=N_(
            "Each tray on the scale, with its food and empty; the food is the difference. Weighed "
            "back later, the same tray tells how dry it is."
        ),
    )
    thickness = LengthField(
        N_("Thickness of the slices"),
        is_optional=True,
        low_m=0.001,
        high_m=0.020,
        description=N_("Only for the hours to expect; it is not kept. Left empty: 6 mm (1/4 in)."),
    )
    air = TemperatureField(
        N_("Temperature of the air"),
        is_optional=True,
        description=N_(
            "For the hours to expect, left empty 60 °C (140 °F); and jerky is dried at "
            "54 to 60 °C (130 to 140 °F)."
        ),
    )
    cleaned = BooleanField(
        N_("The dryer and its trays were cleaned down before"),
        description=N_("Else the load before leaves its allergens here, and raw makes raw."),
    )
    done_on = DayField(N_("Day"))
    note = text_note()

    def offer(self, lines: Sequence[StockLine], places: Sequence[Place]) -> None:
        """The dryers, and what can lie on a tray."""
        self.place_id.choices = choices(
            (place.id, place.name) for place in places if PlaceKind(place.kind).is_dryer
        )
        for entry in self.trays.entries:
            entry.form.ref.choices = stock_choices(lines)

    def start(
        self, line: StockLine | None, dryer: Place | None, tares: Sequence[int], today: date
    ) -> None:
        """As many trays as the dryer has, with the tares of the household's trays."""
        self.done_on.data = today
        if dryer is not None:
            self.place_id.data = dryer.id
            self.trays.grow_to(dryer.tray_count or 1)
        for index, entry in enumerate(self.trays.entries):
            if line is not None:
                entry.form.ref.data = str(line.ref)
            if index < len(tares):
                entry.form.tare.data = tares[index]

    def trays_loaded(self) -> tuple[TrayLoaded, ...]:
        """The filled trays as the ledger takes them."""
        return tuple(
            TrayLoaded(
                ref=row.form.ref.ref,
                gross_mg=row.form.gross.mg,
                gross_typed=row.form.gross.data.typed,
                tare_mg=row.form.tare.mg,
                tare_typed=row.form.tare.typed or "",
            )
            for row in self.trays.filled()
        )

    def carry_out(self, session: Session, at: datetime, by: int | None) -> tuple[Posted, int]:
        """Load the dryer."""
        request = Load(
            place_id=self.place_id.data,
            trays=self.trays_loaded(),
            done_on=self.done_on.data,
            air=typed(self.air),
            cleaned=self.cleaned.data,
            note=self.note.data,
            reason=self.reason.data,
        )
        return load(session, request, at=at, by=by)


class WeighBackForm(EntryForm):
    """One tray, full, on the scale again."""

    number = SelectField(N_("Tray"), coerce=int)
    gross = MassField(N_("Full tray now"))

    def carry_out(self, session: Session, run_id: int, at: datetime) -> None:
        """Record the weighing."""
        request = WeighBack(
            run_id=run_id,
            number=self.number.data,
            gross_mg=self.gross.mg,
            gross_typed=self.gross.data.typed,
        )
        weigh_back(session, request, at=at)


class DryForm(RowForm):
    """The dry weight of one lot; none may stay empty."""

    typed_fields = ("mass",)
    is_filled = True
    lot_id = IntegerField(N_("Lot"), widget=HiddenInput())
    mass = MassField(N_("Dry weight"))


class UnloadForm(EntryForm):
    """What unloading asks."""

    made = Rows(FormField(DryForm), label=N_("Dry weights"), min_entries=0)
    spilled_mg = MassField(N_("Spilled"), is_optional=True)
    place_id = SelectField(N_("Where it is now"), coerce=int)
    done_on = DayField(N_("Day"))
    note = text_note()

    def offer(self, places: Sequence[Place]) -> None:
        """Where the dry food can wait to be packed."""
        self.place_id.choices = place_choices(places)

    def start(self, lot_ids: Sequence[int], places: Sequence[Place], today: date) -> None:
        """A row for each lot on the trays."""
        self.done_on.data = today
        bench = [place.id for place in places if PlaceKind(place.kind) is PlaceKind.BENCH]
        room = [place.id for place in places if PlaceKind(place.kind) is PlaceKind.ROOM]
        self.place_id.data = next(iter([*bench, *room]), None)
        for lot_id in lot_ids:
            self.made.append_entry({"lot_id": lot_id})

    def carry_out(self, session: Session, run_id: int, at: datetime, by: int | None) -> Posted:
        """Unload the dryer."""
        request = Unload(
            run_id=run_id,
            made=tuple(
                DryMade(row.form.lot_id.data, row.form.mass.mg) for row in self.made.filled()
            ),
            place_id=self.place_id.data,
            done_on=self.done_on.data,
            spilled_mg=self.spilled_mg.mg,
            note=self.note.data,
        )
        return unload(session, request, at=at, by=by)
