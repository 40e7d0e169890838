"""The pack form: which package, how many, and what each weighs."""

from collections.abc import Sequence
from datetime import date, datetime

from sqlalchemy.orm import Session
from wtforms import BooleanField, FormField, SelectField

from app.language import N_
from app.ledger.models import Absorber, Packaging, Place
from app.ledger.operations._post import Posted
from app.ledger.operations.pack import Pack, pack
from app.ledger.queries.packages import PackageOption
from app.ledger.stock import StockRef
from app.science.packaging import PACKAGINGS, PackagingKind
from app.web.fields import DayField, EntryForm, MassField, NumberField, choices, text_note, worded
from app.web.operations.base import place_choices
from app.web.rows import RowForm, Rows


class UnitForm(RowForm):
    """One package on the scale."""

    typed_fields = ("net",)
    net = MassField(N_("Net weight"))


class PackForm(EntryForm):
    """What packing asks once a package is chosen."""

    packaging_id = SelectField(
        N_("Package"),
        coerce=int,
        description=N_("What each does for this food stands above; a later band is better."),
    )
    absorber_id = SelectField(
        N_("Absorber"),
        coerce=int,
        description=N_("A packet that takes up the oxygen sealed in; for food that is dry enough."),
    )
    minutes_open = NumberField(
        N_("Absorbers open before the seal, minutes"),
        is_optional=True,
        high=100_000.0,
        description=N_("From opening their bag to sealing. Beyond 15 minutes they may be used up."),
    )
    absorber_is_spent = BooleanField(N_("A packet was already warm or hard"))
    is_pumped_down = BooleanField(
        N_("Pumped down (vacuum)"),
        description=N_("Air drawn out before it is closed. By itself it preserves nothing."),
    )
    net_mg = Rows(FormField(UnitForm), label=N_("Net weight of each"), min_entries=1)
    spilled_mg = MassField(
        N_("Spilled"),
        is_optional=True,
        description=N_("What fell beside it: a loss with a name, so that the sums close."),
    )
    seal_checked = BooleanField(
        N_("I looked at every seal"),
        description=N_("A checked seal buys years; look along its whole edge."),
    )
    place_id = SelectField(N_("Where they are kept"), coerce=int)
    done_on = DayField(N_("Packed on"))
    note = text_note()

    def offer(
        self,
        packagings: Sequence[Packaging],
        absorbers: Sequence[Absorber],
        places: Sequence[Place],
    ) -> None:
        """What the household owns and where it keeps things."""
        self.packaging_id.choices = choices((p.id, p.name) for p in packagings)
        self.absorber_id.choices = worded([(0, N_("None")), *((a.id, a.name) for a in absorbers)])
        self.place_id.choices = place_choices(places)

    def start(self, option: PackageOption | None, place_id: int, today: date) -> None:
        """The option that was chosen, or the one that keeps longest."""
        self.done_on.data, self.place_id.data = today, place_id
        if option is not None:
            self.packaging_id.data = option.packaging.id
            self.absorber_id.data = option.absorber.id if option.absorber else 0
            self.is_pumped_down.data = option.is_pumped_down
            self.net_mg.grow_to(option.count)

    def carry_out(self, session: Session, ref: StockRef, at: datetime, by: int | None) -> Posted:
        """Pack it."""
        kind = PackagingKind(session.get_one(Packaging, self.packaging_id.data).kind)
        residual = PACKAGINGS[kind].residual_pressure.value
        request = Pack(
            ref=ref,
            packaging_id=self.packaging_id.data,
            net_mg=tuple(row.form.net.mg for row in self.net_mg.filled()),
            place_id=self.place_id.data,
            done_on=self.done_on.data,
            absorber_id=self.absorber_id.data or None,
            pressure_fraction=residual if self.is_pumped_down.data else 1.0,
            seal_checked=self.seal_checked.data,
            spilled_mg=self.spilled_mg.mg,
            minutes_open=self.minutes_open.data,
            absorber_is_spent=self.absorber_is_spent.data,
            note=self.note.data,
            reason=self.reason.data,
        )
        return pack(session, request, at=at, by=by)
