"""Checks of what the tables themselves do not guard: kept windows, words of the science."""

from enum import StrEnum

from sqlalchemy import select
from sqlalchemy.orm import InstrumentedAttribute, Session

from app.ledger.checks.finding import Finding
from app.ledger.models import (
    Checkpoint,
    Estimate,
    GameStory,
    Lot,
    LotAllergen,
    LotTreatment,
    Packaging,
    Reading,
    Stock,
)
from app.ledger.words import ReadingKind
from app.science.classes import FoodClass, Form, Treatment
from app.science.packaging import PackagingKind
from app.science.safety.allergens import AllergenGroup
from app.science.safety.game import CwdStatus
from app.science.safety.rule import Outcome


def estimates_belong_to_stock(session: Session) -> list[Finding]:
    """Every kept window belongs to food on hand, and its dates are in order."""
    on_hand = set(session.scalars(select(Stock.id)))
    findings = []
    for estimate in session.scalars(select(Estimate)):
        dates = [d for d in (estimate.early, estimate.central, estimate.late) if d is not None]
        if estimate.stock_id not in on_hand:
            words = "belongs to nothing on hand"
        elif dates != sorted(dates) or len(dates) not in (0, 3):
            words = "its early, central and late dates are not in order"
        else:
            continue
        subject = f"estimate {estimate.stock_id}"
        findings.append(Finding("estimates_belong_to_stock", subject, words))
    return findings


_WORDS: tuple[tuple[InstrumentedAttribute[str], type[StrEnum]], ...] = (
    (Lot.food_class, FoodClass),
    (Lot.form, Form),
    (Lot.wrap, PackagingKind),
    (LotTreatment.treatment, Treatment),
    (LotAllergen.allergen, AllergenGroup),
    (Packaging.kind, PackagingKind),
    (Reading.kind, ReadingKind),
    (Checkpoint.outcome, Outcome),
    (GameStory.cwd_status, CwdStatus),
)


def words_are_known(session: Session) -> list[Finding]:
    """The words that no CHECK of the tables lists are words of the science."""
    return [
        Finding(
            "words_are_known",
            f"{column.class_.__tablename__}.{column.key}",
            "“{word}” is no {kind}",
            {"word": word, "kind": vocabulary.__name__},
        )
        for column, vocabulary in _WORDS
        for word in session.scalars(select(column).distinct().order_by(column))
        if _stem(column, word) not in set(vocabulary)
    ]


def _stem(column: InstrumentedAttribute[str], word: str) -> str:
    """An allergen may name its kind after a colon, as in "fish:trout"; the group is what counts."""
    return word.partition(":")[0] if column is LotAllergen.allergen else word
