"""Lots: an amount of one food, of one state, handled as one thing; and what travels with them.

The words of the science (class, form, treatment, packaging) may grow, so no CHECK lists them.
Rows are written once. What a lot weighs and where it is stands in the entries and in `stock`.
"""

from datetime import date

from sqlalchemy import CheckConstraint, ForeignKey
from sqlalchemy.orm import Mapped, mapped_column

from app.ledger.models.base import STRICT, Base
from app.ledger.types import one_of
from app.ledger.words import CompositionBasis, Mark, Presence, SourceKind

_FRACTIONS = ("water", "protein", "fat", "carbohydrate", "fibre", "ash")


class Source(Base):
    """Where an intake came from: an animal, a plot, a shop, a neighbour."""

    __tablename__ = "source"
    __table_args__ = (one_of("kind", SourceKind), STRICT)
    id: Mapped[int] = mapped_column(primary_key=True)
    kind: Mapped[str]
    name: Mapped[str]
    tag: Mapped[str]
    from_whom: Mapped[str]
    taken_with_lead: Mapped[bool]


class Lot(Base):
    """One lot, as it was when an operation made it."""

    __tablename__ = "lot"
    __table_args__ = (
        *(CheckConstraint(f"{f} BETWEEN 0 AND 1", name=f"{f}_fraction") for f in _FRACTIONS),
        CheckConstraint("harvest_from <= harvest_to", name="harvest_order"),
        CheckConstraint("water_low <= water_high", name="water_order"),
        CheckConstraint("share_used >= 0", name="share_used"),
        CheckConstraint("length(name) BETWEEN 1 AND 80", name="name_length"),
        one_of("composition_basis", CompositionBasis),
        STRICT,
    )
    id: Mapped[int] = mapped_column(primary_key=True)
    operation_id: Mapped[int] = mapped_column(ForeignKey("operation.id"), index=True)
    source_id: Mapped[int | None] = mapped_column(ForeignKey("source.id"), index=True)
    name: Mapped[str]
    food_ndb: Mapped[str | None]
    food_class: Mapped[str]
    form: Mapped[str]
    is_raw: Mapped[bool]
    harvest_from: Mapped[date | None]
    harvest_to: Mapped[date | None]
    kept_since: Mapped[date]  # when its present way of keeping began
    water: Mapped[float]
    protein: Mapped[float]
    fat: Mapped[float]
    carbohydrate: Mapped[float]
    fibre: Mapped[float]
    ash: Mapped[float]
    composition_basis: Mapped[str]
    water_low: Mapped[float | None]  # plausible range of a dried lot's water fraction
    water_high: Mapped[float | None]
    water_is_measured: Mapped[bool]  # by weighings or a meter, not only computed
    fresh_water: Mapped[float | None]  # water fraction before drying, for rehydration
    share_used: Mapped[float]  # share of its quality used before it was made
    wrap: Mapped[str]  # how it is wrapped while it is not in packages


class LotTreatment(Base):
    """Something that has been done to a lot to keep it."""

    __tablename__ = "lot_treatment"
    __table_args__ = (STRICT,)
    lot_id: Mapped[int] = mapped_column(ForeignKey("lot.id"), primary_key=True)
    treatment: Mapped[str] = mapped_column(primary_key=True)


class LotAllergen(Base):
    """An allergen that a lot contains or may contain."""

    __tablename__ = "lot_allergen"
    __table_args__ = (one_of("presence", Presence), STRICT)
    lot_id: Mapped[int] = mapped_column(ForeignKey("lot.id"), primary_key=True)
    allergen: Mapped[str] = mapped_column(primary_key=True)
    presence: Mapped[str]


class LotMark(Base):
    """Lead or a parasite that a lot may carry, from any animal in it."""

    __tablename__ = "lot_mark"
    __table_args__ = (one_of("mark", Mark), STRICT)
    lot_id: Mapped[int] = mapped_column(ForeignKey("lot.id"), primary_key=True)
    mark: Mapped[str] = mapped_column(primary_key=True)


class Package(Base):
    """One sealed unit of a packed lot."""

    __tablename__ = "package"
    __table_args__ = (
        CheckConstraint("net_mg > 0", name="net"),
        CheckConstraint("number >= 1 AND number <= of_count", name="number"),
        CheckConstraint("pressure_fraction BETWEEN 0 AND 1", name="pressure_fraction"),
        STRICT,
    )
    id: Mapped[int] = mapped_column(primary_key=True)
    lot_id: Mapped[int] = mapped_column(ForeignKey("lot.id"), index=True)
    number: Mapped[int]
    of_count: Mapped[int]
    net_mg: Mapped[int]
    packaging_id: Mapped[int] = mapped_column(ForeignKey("packaging.id"))
    absorber_id: Mapped[int | None] = mapped_column(ForeignKey("absorber.id"))
    pressure_fraction: Mapped[float]
    seal_checked: Mapped[bool]
    packed_on: Mapped[date]
