"""The rows of the cooking rules that stand beside the table of targets."""

from app.science import sources as s
from app.science.safety.rule import Outcome, Rule, Severity, Topic, Verdict
from app.science.sources import Evidence, Source, Sourced

_COPY, _READ, _OURS = Evidence.COPY, Evidence.READ, Evidence.JUDGEMENT


def _limit(value: float, unit: str, source: Source, evidence: Evidence = _COPY) -> Sourced:
    return Sourced(value, unit, evidence, source)


_UNMET = (
    "The centre reached {centre}. {food} needs {target}. It stays marked RAW until it gets there."
)
_MET = "The centre reached {centre}; {food} needs {target}."
_LOOK = "Look, as no temperature is published for {food}: {target}. Say what you saw."

COOK_FORM = Rule(
    id="COOK-FORM",
    topic=Topic.COOKING,
    severity=Severity.STOP,
    applies_to="a step that claims to have cooked animal food",
    words=_UNMET,
    also=((Outcome.PASS, _MET), (Outcome.CONFIRM, _LOOK)),
    source=s.FSIS_COOKING_CHART,
    others=(
        s.FOODSAFETY_COOKING_CHART,
        s.FSIS_GAME,
        s.MMWR_TRICHINELLA,
        s.HEALTH_CANADA_COOKING,
        s.FSA_COOKING,
    ),
    evidence=_COPY,
    limits=(
        _limit(145, "degF", s.FSIS_COOKING_CHART),
        _limit(160, "degF", s.FSIS_COOKING_CHART),
        _limit(165, "degF", s.FSIS_COOKING_CHART),
        _limit(3, "min", s.FSIS_COOKING_CHART),
    ),
)
COOK_MIXED = Rule(
    id="COOK-MIXED",
    topic=Topic.COOKING,
    severity=Severity.STOP,
    applies_to="food of several kinds cooked together",
    words="The centre reached {centre}. The strictest part, {food}, needs {target}. It stays "
    "marked RAW until it gets there.",
    also=((Outcome.PASS, _MET), (Outcome.CONFIRM, _LOOK)),
    source=None,
    evidence=_OURS,
)
COOK_GAME_STRICT = Rule(
    id="COOK-GAME-STRICT",
    topic=Topic.COOKING,
    severity=Severity.NOTE,
    applies_to="game cooked to its household target but below the one of commercial kitchens",
    words="Enough by the household chart for game. Commercial kitchens cook game to 165 °F "
    "(73.9 °C).",
    source=s.FOOD_CODE_COOKING,
    evidence=_COPY,
    limits=(
        _limit(165, "degF", s.FOOD_CODE_COOKING),
        Sourced(73.9, "degC", Evidence.DERIVED, s.FOOD_CODE_COOKING),
    ),
)
COOK_NOREAD = Rule(
    id="COOK-NOREAD",
    topic=Topic.COOKING,
    severity=Severity.STOP,
    applies_to="a cook step without a centre temperature, whatever the oven, time or colour",
    words="No reading, so it stays marked RAW. Read the centre: {target}.",
    source=None,
    evidence=_OURS,
)
COOK_PARTIAL = Rule(
    id="COOK-PARTIAL",
    topic=Topic.COOKING,
    severity=Severity.CONFIRM,
    applies_to="food warmed above 40 °F (4.4 °C) without reaching its target",
    words="Half-cooked food is finished at once, not chilled, frozen or dried.",
    source=None,
    evidence=_OURS,
    limits=(Sourced(4.4, "degC", _OURS, note="40 °F"),),
)
COOK_COLOUR = Rule(
    id="COOK-COLOUR",
    topic=Topic.COOKING,
    severity=Severity.NOTE,
    applies_to="cooking judged by colour or juices",
    words="Colour does not show that meat is cooked: some turns brown early, some stays pink. Read "
    "the centre.",
    source=s.LYON_2000,
    evidence=_READ,
    limits=(_limit(135, "degF", s.LYON_2000, _READ),),
)
THERMO = Rule(
    id="THERMO",
    topic=Topic.COOKING,
    severity=Severity.NOTE,
    applies_to="a thermometer not checked this season",
    words="Check the thermometer in slush ice: it should read 0 °C (32 °F).",
    source=s.MEAT_THERMOMETER,
    evidence=_COPY,
    limits=(_limit(0, "degC", s.MEAT_THERMOMETER),),
)
TRICH_WILD = Rule(
    id="TRICH-WILD",
    topic=Topic.GAME,
    severity=Severity.STOP,
    applies_to="bear, boar, walrus, cougar, fox, wolf, horse and any other meat-eater or scavenger",
    words="Some wild worms survive freezing, curing, drying, smoking and the microwave. Only a "
    "centre of 165 °F (74 °C) clears it, for jerky too.",
    also=(
        (
            Outcome.NOTE,
            "Wild meat-eaters may carry worms that survive freezing and drying. Cook to a centre "
            "of 165 °F (74 °C), jerky too.",
        ),
    ),
    source=s.MMWR_TRICHINELLA,
    others=(s.IDAHO_1995,),
    evidence=_READ,
    limits=(
        _limit(165, "degF", s.MMWR_TRICHINELLA, _READ),
        Sourced(110, "day", _READ, s.MMWR_TRICHINELLA, note="larvae alive after so long frozen"),
    ),
)

RULES = (
    COOK_FORM,
    COOK_MIXED,
    COOK_GAME_STRICT,
    COOK_NOREAD,
    COOK_PARTIAL,
    COOK_COLOUR,
    THERMO,
)

#: Words of a cook's note that judge by colour.
_COLOUR_WORDS = ("brown", "pink", "juice", "colour", "color", "clear", "grey", "gray")


def colour_note(text: str) -> tuple[Verdict, ...]:
    """The note on colour, when a cook's remark judges by it.

    Example:
        >>> colour_note("brown right through")[0].id
        'COOK-COLOUR'
    """
    judged = any(word in text.casefold() for word in _COLOUR_WORDS)
    return (Verdict(COOK_COLOUR, Outcome.NOTE),) if judged else ()


def thermometer(checked_this_season: bool | None) -> tuple[Verdict, ...]:
    """Remind of the ice check unless it is on record; unknown counts as not done."""
    return () if checked_this_season else (Verdict(THERMO, Outcome.NOTE),)
