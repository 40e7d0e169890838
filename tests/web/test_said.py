"""What a rule said in English is said again in the reader's language, with the same numbers."""

from itertools import product

import pytest

from app.language import SOURCE, speak
from app.science.classes import FoodClass, Form
from app.science.safety.allergens import Allergen, AllergenGroup, label_text
from app.science.safety.catalogue import ALL_RULES
from app.science.safety.outage_lots import fate_in_freezer
from app.science.safety.readings import Reading
from app.science.safety.rule import DEFERENCE, Outcome, RuleSet, Verdict
from app.science.safety.verdicts import cook_target, cooked, left_out, unit_ask
from app.web.said import said, said_list
from tests.language.brackets import CODE, speak_in_brackets
from tests.language.unspoken import outside


@pytest.fixture(autouse=True)
def _in_brackets(monkeypatch: pytest.MonkeyPatch) -> None:
    speak_in_brackets(monkeypatch)
    speak(CODE)


def test_in_english_every_sentence_stays_as_it_was_said() -> None:
    speak(SOURCE)
    words = "The centre reached 62 °C; game needs 160 °F (71.1 °C)."
    assert said(words) is words


@pytest.mark.parametrize("rule", ALL_RULES, ids=lambda rule: rule.id)
def test_every_sentence_of_a_rule_is_known_again(rule: object) -> None:
    for outcome, number in product(Outcome, (2, 3.5)):
        numbers = dict.fromkeys(_blanks(rule.sentence_for(outcome)), number)  # type: ignore[attr-defined]
        sentence = Verdict(rule, outcome, numbers).sentence  # type: ignore[arg-type]
        if sentence not in ("2", "3.5"):  # a rule that only passes on its table's advice
            assert outside(said(sentence)) == "", sentence


def _blanks(words: str) -> list[str]:
    return [part.split("}")[0] for part in words.split("{")[1:]]


@pytest.mark.parametrize(
    ("verdicts", "words"),
    [
        (
            lambda: cooked([FoodClass.PORK], Form.WHOLE, 62.8, "C", 1.0),
            "⟦The centre reached ⟦62.8 °C, kept for 1 minutes⟧",
        ),
        (lambda: left_out([(3.0, 20.0)]), "⟦Out too long (3 h together). Discard.⟧"),
        (
            lambda: (unit_ask(Reading.COOK_CENTRE, 160.0, "C"),),
            "⟦160 °C is unusual for ⟦the centre of cooked food⟧. ⟦Did you mean 160 °F (71.1 °C)?⟧⟧",
        ),
        (
            lambda: (fate_in_freezer(FoodClass.POULTRY, Form.WHOLE, (), None, None).verdict,),
            "⟦⟦⟦Poultry⟧: discard it.⟧ Never taste to decide.⟧",
        ),
    ],
)
def test_a_verdict_is_said_with_its_numbers(verdicts: object, words: str) -> None:
    first = verdicts()[0]  # type: ignore[operator]
    assert _flat(words) in _flat(said(first.sentence))
    assert outside(said(first.sentence)) == ""


def _flat(words: str) -> str:
    return words.replace("⟦", "").replace("⟧", "")


def test_a_source_keeps_its_title_and_says_how_well_it_is_known() -> None:
    told = said("Jerky: storage, University of Wyoming Extension, undated (read in the source)")
    assert told == (
        "Jerky: storage, University of Wyoming Extension, undated (⟦read in the source⟧)"
    )
    assert said("Our judgement") == "⟦Our judgement⟧"
    assert said(DEFERENCE) == f"⟦{DEFERENCE}⟧"


def test_allergens_are_named_one_by_one() -> None:
    held = [Allergen(AllergenGroup.NUTS, "walnut"), Allergen(AllergenGroup.NUTS, "pecan")]
    words = label_text([*held, Allergen(AllergenGroup.MILK)], RuleSet.UK)
    assert said(words) == "⟦Contains ⟦milk⟧, ⟦tree nuts⟧ (⟦pecan⟧, ⟦walnut⟧).⟧"
    unsure = label_text([], RuleSet.UK, may_contain=held, is_fully_known=False)
    assert outside(said(unsure)) == ""
    assert said_list("fish, nuts:walnut") == "⟦fish⟧, ⟦nuts⟧:⟦walnut⟧"


@pytest.mark.parametrize("rule_set", RuleSet)
@pytest.mark.parametrize("food", [food for food in FoodClass if food.is_animal])
def test_every_cooking_target_can_be_said(food: FoodClass, rule_set: RuleSet) -> None:
    for form in Form:
        told = outside(said(cook_target([food], form, rule_set).words))
        assert not any(letter.isalpha() and letter not in "CF" for letter in told), told


def test_what_no_rule_says_any_more_stays_as_it_was_said() -> None:
    assert said("A rule of an earlier year said this.") == "A rule of an earlier year said this."
