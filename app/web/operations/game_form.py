"""Questions that only some foods bring to the door: wild game, and fish that was warm."""

from dataclasses import dataclass
from functools import cache

from wtforms import BooleanField, Form, RadioField

from app.language import N_
from app.ledger.game import GameIn, is_wild
from app.ledger.words import Ammunition
from app.science.foods import Food, all_foods
from app.science.safety.game import CwdStatus
from app.science.safety.intake_questions import GameQuestion, questions_for
from app.science.safety.rule import RuleSet
from app.web.fields import NumberField, TemperatureField, text_line, worded
from app.web.operations.base import FISH, typed

AMMUNITION = {
    Ammunition.UNKNOWN: N_("Not known"),
    Ammunition.LEAD: N_("Lead"),
    Ammunition.LEAD_FREE: N_("Lead-free: copper, steel and the like"),
    Ammunition.NOT_SHOT: N_("Not shot"),
}
CWD = {
    CwdStatus.UNKNOWN: N_("Not known"),
    CwdStatus.PENDING: N_("Sample sent, result awaited"),
    CwdStatus.NOT_DETECTED: N_("Result: not detected"),
    CwdStatus.POSITIVE: N_("Result: found"),
    CwdStatus.NOT_PLANNED: N_("No test planned"),
}
LISTED = {"": N_("Not known"), "yes": N_("Yes"), "no": N_("No")}


class GameFields(Form):
    """Fields of wild game and of fish, for the form of intake."""

    cwd_status = RadioField(
        N_("Test for chronic wasting disease"),
        choices=worded((status.value, words) for status, words in CWD.items()),
        default=CwdStatus.UNKNOWN.value,
        description=N_(
            "While a result is awaited the lot is on hold: cut, freeze and dry it apart."
        ),
    )
    cwd_listed = RadioField(
        N_("Is that disease found where it was taken"), choices=worded(LISTED.items()), default=""
    )
    taken_at = text_line(
        N_("Where it was taken"), description=N_("Valley, county or hunting district.")
    )
    ammunition = RadioField(
        N_("Taken with"),
        choices=worded((kind.value, words) for kind, words in AMMUNITION.items()),
        default=Ammunition.UNKNOWN.value,
    )
    looked_sick = BooleanField(
        N_("It looked sick, acted strangely or was found dead"),
        description=N_("Then it is not for eating: it is kept only on hold."),
    )
    hours_to_cold = NumberField(
        N_("Hours until the carcass was cold"),
        is_optional=True,
        high=1000.0,
        description=N_("From death to 4.4 °C (40 °F) at the centre."),
    )
    centre = TemperatureField(N_("Centre of the carcass then, if read"), is_optional=True)
    warm_hours = NumberField(
        N_("Hours the fish was warm"),
        is_optional=True,
        high=1000.0,
        description=N_("Above 4.4 °C (40 °F), from the catch until it lay cold."),
    )

    def game_of(self, chosen: Food) -> GameIn | None:
        """What was told of a wild animal; None where nobody hunted it."""
        if not is_wild(chosen):
            return None
        return GameIn(
            ammunition=Ammunition(self.ammunition.data),
            looked_sick=self.looked_sick.data,
            cwd_status=CwdStatus(self.cwd_status.data),
            cwd_listed={"yes": True, "no": False}.get(self.cwd_listed.data),
            hours_to_cold=self.hours_to_cold.data,
            centre=typed(self.centre),
            taken_at=self.taken_at.data,
        )


@dataclass(frozen=True, slots=True)
class Asked:
    """Table numbers of the foods for which each group of questions is asked."""

    game: tuple[str, ...]
    test: tuple[str, ...]
    fish: tuple[str, ...]


@cache
def asked(rule_set: RuleSet) -> Asked:
    """Which foods of the table bring which questions, by asking the rules themselves."""
    wild = [food for food in all_foods() if is_wild(food)]
    return Asked(
        game=tuple(food.ndb_no for food in wild),
        test=tuple(food.ndb_no for food in wild if asks_for_test(food, food.name, rule_set)),
        fish=tuple(food.ndb_no for food in all_foods() if food.food_class in FISH),
    )


def asks_for_test(food: Food, name: str, rule_set: RuleSet) -> bool:
    """Is an animal of this name tested for the disease of deer?"""
    words = f"{name} {food.name}"
    return GameQuestion.CWD_TEST in questions_for(food.food_class, words, rule_set)
