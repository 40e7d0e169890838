"""What the science has to say beside a step, with the lot's own numbers."""

from collections.abc import Callable

from sqlalchemy.orm import Session

from app.language import _
from app.ledger.makeup import composition_of, makeup_of
from app.ledger.mass import to_kg, to_mg
from app.ledger.models import Lot
from app.ledger.queries.places import household
from app.ledger.queries.stock import StockLine
from app.ledger.safety import rule_set_of
from app.ledger.words import CompositionBasis, OperationKind
from app.science.cooking import boiling_point_c, cooked_mass_kg, fat_layer_kg
from app.science.errors import ScienceError
from app.science.ranges import Range
from app.science.safety.verdicts import cook_target
from app.science.yields import CookingMethod
from app.web.display import mass, percent, temperature
from app.web.said import said


def hints_for(kind: OperationKind, line: StockLine | None, session: Session) -> list[str]:
    """Sentences that help with a step; none where the science has nothing to say."""
    if line is None or kind not in _HINTS:
        return []
    try:
        return _HINTS[kind](line, session.get_one(Lot, line.lot_id), session)
    except ScienceError:
        return []


def span(masses_kg: Range) -> str:
    """A range of masses: "0.74 kg (0.69 to 0.82 kg)"."""
    low, central, high = (
        mass(to_mg(value)) for value in (masses_kg.low, masses_kg.central, masses_kg.high)
    )
    return _("{central} ({low} to {high})", central=central, low=low, high=high)


def _cook(line: StockLine, lot: Lot, session: Session) -> list[str]:
    known = household(session)
    boils_c = boiling_point_c(known.altitude_m if known else 0.0)
    boils = temperature(round(boils_c))
    words = [
        _(
            "Water boils at about {boils} at your altitude; the weather moves it by half a degree.",
            boils=boils,
        )
    ]
    if lot.is_raw:
        target = cook_target([line.food_class], line.form, rule_set_of(session))
        words.insert(
            0,
            _(
                "The centre must reach {words}. Source: {source}.",
                words=said(target.words),
                source=target.source,
            ),
        )
        method = CookingMethod.SIMMERED
        after = cooked_mass_kg(
            composition_of(session, lot), to_kg(line.mass_mg), method, line.food_class, line.form
        )
        words.append(
            _(
                "Simmered and drained it should weigh about {span}. Only your scale knows "
                "({evidence}).",
                span=span(after.mass_kg),
                evidence=said(after.evidence),
            )
        )
    return words


def _skim(line: StockLine, lot: Lot, session: Session) -> list[str]:
    layer = fat_layer_kg(composition_of(session, lot), to_kg(line.mass_mg))
    return [
        _(
            "About {span} of fat may set on it. Very lean meat shows none at all "
            "(common practice, no source).",
            span=span(layer),
        )
    ]


def _blend(line: StockLine, lot: Lot, session: Session) -> list[str]:
    makeup = makeup_of(session, lot)
    return [
        _(
            "This lot is {fat} fat by {basis}.",
            fat=percent(makeup.composition.fat),
            basis=_basis(makeup.basis),
        )
    ]


def _basis(basis: CompositionBasis) -> str:
    return {
        "table": _("the composition table (USDA SR28, 2015)"),
        "measured": _("what you measured"),
        "computed": _("what it was made of"),
    }[basis]


_HINTS: dict[OperationKind, Callable[[StockLine, Lot, Session], list[str]]] = {
    OperationKind.COOK: _cook,
    OperationKind.SKIM: _skim,
    OperationKind.BLEND: _blend,
}
