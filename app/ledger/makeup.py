"""What a lot is made of: as computed from its genealogy, with what was measured above it."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.ledger.models import Lot, Operation, Reading
from app.ledger.stock import stands
from app.ledger.words import CompositionBasis, MeasuredBy, OperationKind, ReadingKind
from app.science.composition import Composition, mix, with_measured
from app.science.sources import Evidence, Sourced

WATER_SPREAD = Sourced(0.01, "kg/kg", Evidence.JUDGEMENT, low=0.003, high=0.03)


@dataclass(frozen=True, slots=True)
class MeasuredValue:
    """One reading of a lot's make-up that counts: a fraction, kg/kg, and how it was taken."""

    kind: ReadingKind
    value: float
    spread: float | None
    by: MeasuredBy
    on: date
    operation_id: int


@dataclass(frozen=True, slots=True)
class Makeup:
    """A lot's composition as every page and operation takes it, and as it was computed before."""

    composition: Composition
    water_low: float | None  # plausible range of the water fraction, where one is known
    water_high: float | None
    water_is_measured: bool
    basis: CompositionBasis
    computed: Composition
    measured: tuple[MeasuredValue, ...] = ()

    @property
    def driest(self) -> float:
        """The dry end of its water fraction."""
        return self.composition.water if self.water_low is None else self.water_low

    @property
    def wettest(self) -> float:
        """The wet end of its water fraction."""
        return self.composition.water if self.water_high is None else self.water_high


def makeup_of(session: Session, lot: Lot) -> Makeup:
    """What a lot is made of; the newest readings that were not taken back override.

    A reading that no longer fits beside newer ones (together more than the whole) is left out.
    Salt is part of the ash, so it only raises the ash.
    """
    computed = _computed(lot)
    values = _fitting(_readings(session, lot.id))
    if not values:
        basis = CompositionBasis(lot.composition_basis)
        is_measured = lot.water_is_measured
        return Makeup(computed, lot.water_low, lot.water_high, is_measured, basis, computed)
    composition = with_measured(computed, _as_ash(computed, {v.kind: v.value for v in values}))
    low, high = _water_range(lot, composition, values)
    return Makeup(
        composition=composition,
        water_low=low,
        water_high=high,
        water_is_measured=lot.water_is_measured or values_have(values, ReadingKind.WATER),
        basis=CompositionBasis.MEASURED,
        computed=computed,
        measured=values,
    )


def composition_of(session: Session, lot: Lot) -> Composition:
    """The mass fractions of a lot, as the science takes them: what was measured overrides."""
    return makeup_of(session, lot).composition


def pure(composition: Composition) -> Makeup:
    """What was never a lot, such as salt or water: its composition is as exact as its name."""
    return Makeup(composition, None, None, True, CompositionBasis.TABLE, composition)


def values_have(values: Iterable[MeasuredValue], kind: ReadingKind) -> bool:
    """Is there a reading of this kind among them?"""
    return any(value.kind is kind for value in values)


def mixed(parts: Sequence[tuple[Makeup, float]]) -> Makeup:
    """What several lots worked together are made of; masses in kg.

    The water is known as a range where it is for any part, and measured where it is for all.
    """
    composition = mix((makeup.composition, kg) for makeup, kg in parts)
    low = high = None
    if any(makeup.water_low is not None for makeup, _ in parts):
        total_kg = sum(kg for _, kg in parts)
        low = min(sum(m.driest * kg for m, kg in parts) / total_kg, composition.water)
        high = max(sum(m.wettest * kg for m, kg in parts) / total_kg, composition.water)
    is_measured = all(makeup.water_is_measured for makeup, _ in parts)
    basis = CompositionBasis.COMPUTED
    return Makeup(composition, low, high, is_measured, basis, composition)


def _computed(lot: Lot) -> Composition:
    return Composition(
        water=lot.water,
        protein=lot.protein,
        fat=lot.fat,
        carbohydrate=lot.carbohydrate,
        ash=lot.ash,
        fibre=lot.fibre,
    )


def _readings(session: Session, lot_id: int) -> list[MeasuredValue]:
    """Every reading of the lot's make-up, newest first."""
    rows = session.execute(
        select(Reading, Operation.done_on)
        .join(Operation, Operation.id == Reading.operation_id)
        .where(
            Reading.lot_id == lot_id,
            Operation.kind == OperationKind.MEASURE,
            stands(Operation.id),
        )
        .order_by(Operation.done_on.desc(), Reading.id.desc())
    ).all()
    return [
        MeasuredValue(
            ReadingKind(reading.kind),
            reading.value,
            reading.spread,
            MeasuredBy(reading.measured_by or MeasuredBy.METER),
            done_on,
            reading.operation_id,
        )
        for reading, done_on in rows
    ]


def _fitting(readings: Iterable[MeasuredValue]) -> tuple[MeasuredValue, ...]:
    kept: dict[ReadingKind, MeasuredValue] = {}
    for reading in readings:
        together = sum(value.value for value in kept.values()) + reading.value
        if reading.kind not in kept and together <= 1.0 + 1e-9:
            kept[reading.kind] = reading
    return tuple(kept[kind] for kind in ReadingKind if kind in kept)


def _as_ash(computed: Composition, values: Mapping[ReadingKind, float]) -> dict[str, float]:
    """Readings by the name of the fraction they are of."""
    fractions = {str(kind): value for kind, value in values.items() if kind != ReadingKind.SALT}
    salt = values.get(ReadingKind.SALT)
    if salt is None or with_measured(computed, fractions).ash >= salt:
        return fractions
    return {**fractions, "ash": salt}


def _water_range(
    lot: Lot, composition: Composition, values: Iterable[MeasuredValue]
) -> tuple[float | None, float | None]:
    """The range of the water: about the reading, or the computed one moved along with it."""
    for value in values:
        if value.kind is ReadingKind.WATER:
            spread = value.spread or 0.0
            return max(0.0, value.value - spread), min(1.0, value.value + spread)
    if lot.water_low is None or lot.water_high is None or lot.water <= 0:
        return lot.water_low, lot.water_high
    return scaled_range((lot.water_low, lot.water_high), lot.water, composition.water)


def scaled_range(span: tuple[float, float], water: float, now: float) -> tuple[float, float]:
    """A range of the water fraction moved to another water fraction, and as wide for its size.

    It holds that fraction whatever the last digits say: rounding must not put it outside.

    Example:
        >>> scaled_range((0.25, 0.75), 0.5, 0.25)
        (0.125, 0.375)
    """
    low, high = (end * now / water for end in span)
    return min(low, now), max(min(1.0, high), now)
