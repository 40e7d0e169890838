"""The base of every prediction's form: sent by GET, nothing written; what is left out is usual."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar

from werkzeug.datastructures import MultiDict
from wtforms import Form

from app.language import N_, _
from app.ledger.errors import NotFound
from app.ledger.queries.lot import lot_page
from app.science.classes import FoodClass
from app.science.classes import Form as Shape
from app.science.composition import Composition
from app.science.foods import all_foods
from app.web import scope
from app.web.fields import text_line
from app.web.foretell.answers import Answer
from app.web.table_of_foods import foods_by_words


@dataclass(frozen=True, slots=True)
class Subject:
    """The food that a prediction is about."""

    name: str
    composition: Composition
    food_class: FoodClass
    form: Shape
    fresh_water: float | None = None


class ForetellForm(Form):
    """A question of numbers; answer() is asked only when every field is sound."""

    title: ClassVar[str]
    words: ClassVar[str]
    note: ClassVar[str] = ""  # what the prediction must not be taken for

    @classmethod
    def usual(cls) -> dict[str, str]:
        """What stands in the boxes before anybody has typed, in the household's units."""
        return {}

    @classmethod
    def asked(cls, typed: Mapping[str, str]) -> "ForetellForm":
        """The form as it was sent, the usual values in what was left out."""
        known = {name: value for name, value in cls.usual().items() if name not in typed}
        return cls(MultiDict([*known.items(), *typed.items()]))

    def answer(self) -> Answer | None:
        """The prediction, or None with an error beside a field; may raise ScienceError."""
        raise NotImplementedError


class FoodForm(ForetellForm):
    """A question about a food: a lot by its code, or a food of the composition table."""

    lot = text_line(
        N_("Lot"), description=N_("Its code, if it is one of yours; else leave it empty.")
    )
    food = text_line(
        N_("Food"), description=N_("A name as in the composition table, such as: moose, raw")
    )

    @classmethod
    def usual(cls) -> dict[str, str]:
        """Moose, the household's usual case."""
        return {"lot": "", "food": _("Game meat, moose, raw")}

    def subject(self) -> Subject | None:
        """The food asked about; None, with an error beside its field, when there is none such."""
        if self.lot.data:
            return self._lot(self.lot.data)
        found = {_(food.name): food for food in all_foods()}.get(self.food.data)
        near = found or next(iter(foods_by_words(self.food.data, 1)), None)
        if near is None:
            self.food.errors = [_("No food of the table answers to that.")]
            return None
        self.food.data = _(near.name)
        return Subject(_(near.name), near.composition, near.food_class, near.form)

    def _lot(self, code: str) -> Subject | None:
        try:
            page = lot_page(scope.reading(), code)
        except NotFound:
            self.lot.errors = [_("There is no such lot. Check the code.")]
            return None
        self.food.data = page.name
        return Subject(page.name, page.composition, page.food_class, page.form, page.fresh_water)
