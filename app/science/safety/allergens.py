"""Allergens: fourteen groups, carried through every merge, printed by the region's own list."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum

from app.science import sources as s
from app.science.classes import FoodClass
from app.science.errors import require
from app.science.safety.rule import Outcome, Rule, RuleSet, Severity, Topic, Verdict, known
from app.science.sources import Evidence, Source, Sourced


class AllergenGroup(StrEnum):
    """The fourteen groups of the European list; the nine of the US list lie within them."""

    GLUTEN = "gluten"
    CRUSTACEANS = "crustaceans"
    EGGS = "eggs"
    FISH = "fish"
    PEANUTS = "peanuts"
    SOYBEANS = "soybeans"
    MILK = "milk"
    NUTS = "nuts"
    CELERY = "celery"
    MUSTARD = "mustard"
    SESAME = "sesame"
    SULPHITES = "sulphites"
    LUPIN = "lupin"
    MOLLUSCS = "molluscs"


@dataclass(frozen=True, slots=True, order=True)
class Allergen:
    """A group and its kind: fish of trout, nuts of walnut, gluten of wheat; kind may be empty."""

    group: AllergenGroup
    kind: str = ""

    def __str__(self) -> str:
        """As stored: "fish:trout", or the group alone."""
        return f"{self.group}:{self.kind}" if self.kind else self.group.value

    @classmethod
    def parse(cls, text: str) -> "Allergen":
        """Read what `str` wrote.

        Example:
            >>> Allergen.parse("nuts:walnut").kind
            'walnut'
        """
        group, _, kind = text.strip().casefold().partition(":")
        return cls(AllergenGroup(group), kind.strip())


EU_14: tuple[AllergenGroup, ...] = tuple(AllergenGroup)

#: The US list of nine; of the cereals with gluten only wheat.
US_9: tuple[AllergenGroup, ...] = (
    AllergenGroup.MILK,
    AllergenGroup.EGGS,
    AllergenGroup.FISH,
    AllergenGroup.CRUSTACEANS,
    AllergenGroup.NUTS,
    AllergenGroup.PEANUTS,
    AllergenGroup.GLUTEN,
    AllergenGroup.SOYBEANS,
    AllergenGroup.SESAME,
)

#: Kinds named by the lists. The European list counts spelt and khorasan among wheat.
KINDS: Mapping[AllergenGroup, tuple[str, ...]] = {
    AllergenGroup.GLUTEN: ("wheat", "spelt", "khorasan", "rye", "barley", "oats"),
    AllergenGroup.NUTS: (
        "almond",
        "hazelnut",
        "walnut",
        "cashew",
        "pecan",
        "Brazil nut",
        "pistachio",
        "macadamia",
    ),
}
_WHEAT = ("wheat", "spelt", "khorasan")

_WORDS = {
    AllergenGroup.GLUTEN: "cereals containing gluten",
    AllergenGroup.NUTS: "tree nuts",
    AllergenGroup.SOYBEANS: "soya",
    AllergenGroup.SULPHITES: "sulphites",
}

SULPHITE_LIMIT = Sourced(
    10, "mg/kg", Evidence.COPY, s.EU_1169, note="as sulphur dioxide, in the food as reconstituted"
)


def _rule(
    id: str,
    severity: Severity,
    applies_to: str,
    words: str,
    source: Source | None,
    evidence: Evidence,
    limits: tuple[Sourced, ...] = (),
    also: tuple[tuple[Outcome, str], ...] = (),
    others: tuple[Source, ...] = (),
) -> Rule:
    topic = Topic.ALLERGENS
    return Rule(id, topic, severity, applies_to, words, source, evidence, limits, also, others)


ALG_UNION = _rule(
    "ALG-UNION",
    Severity.NOTE,
    "whatever is made of several lots, however little of one went in",
    "Carries every allergen of what went in: {allergens}.",
    s.EU_1169,
    Evidence.COPY,
    others=(s.US_ALLERGENS,),
)
ALG_NEVER = _rule(
    "ALG-NEVER",
    Severity.STOP,
    "any operation that would drop an allergen",
    "{allergens} cannot be taken away by cooking, skimming, drying or thinning. If it was entered "
    "by mistake, correct the ingredient.",
    None,
    Evidence.JUDGEMENT,
)
ALG_UNKNOWN = _rule(
    "ALG-UNKNOWN",
    Severity.CONFIRM,
    "an ingredient without an allergen record, such as a spice mix or a sauce",
    "Nobody has recorded the allergens of {ingredient}. The label will say so.",
    None,
    Evidence.JUDGEMENT,
)
ALG_NONE = _rule(
    "ALG-NONE",
    Severity.NOTE,
    "food taken in of which somebody looked for the fourteen and found none",
    "None of the fourteen allergens, by its packet or by who made it.",
    None,
    Evidence.JUDGEMENT,
)
ALG_CROSS = _rule(
    "ALG-CROSS",
    Severity.NOTE,
    "the same tray, grinder or load without a clean-down",
    "May contain {allergens}, from what was in the machine before.",
    None,
    Evidence.JUDGEMENT,
)
ALG_SO2 = _rule(
    "ALG-SO2",
    Severity.NOTE,
    "sulphited fruit, reckoned on the food as it is eaten, rehydrated",
    "{dose} sulphur dioxide once rehydrated: declared as sulphites from 10 mg/kg.",
    s.EU_1169,
    Evidence.COPY,
    (SULPHITE_LIMIT,),
    ((Outcome.PASS, "{dose} sulphur dioxide once rehydrated: stored, not printed."),),
)

RULES = (ALG_UNION, ALG_NEVER, ALG_UNKNOWN, ALG_NONE, ALG_CROSS, ALG_SO2)


def union(*contents: Iterable[Allergen]) -> frozenset[Allergen]:
    """Every allergen of everything that went in, whatever the amounts.

    Example:
        >>> trout, celery = Allergen(AllergenGroup.FISH, "trout"), Allergen(AllergenGroup.CELERY)
        >>> sorted(map(str, union([trout], [celery])))
        ['celery', 'fish:trout']
    """
    return frozenset(allergen for content in contents for allergen in content)


def merged(*contents: Iterable[Allergen]) -> tuple[Verdict, ...]:
    """The note on what a mixture carries; empty when it carries none."""
    carried = union(*contents)
    numbers = {"allergens": ", ".join(sorted(map(str, carried)))}
    return (Verdict(ALG_UNION, Outcome.NOTE, numbers),) if carried else ()


def kept(before: Iterable[Allergen], after: Iterable[Allergen]) -> tuple[Verdict, ...]:
    """Stop an operation whose outputs lack an allergen of its inputs; empty when none is lost."""
    lost = frozenset(before) - frozenset(after)
    numbers = {"allergens": ", ".join(sorted(map(str, lost)))}
    return (Verdict(ALG_NEVER, Outcome.STOP, numbers),) if lost else ()


def unknown_ingredient(ingredient: str, *, is_recorded: bool | None) -> tuple[Verdict, ...]:
    """Ask for a reason where an ingredient has no allergen record; "none" is a record."""
    if is_recorded:
        return ()
    return (Verdict(ALG_UNKNOWN, Outcome.CONFIRM, {"ingredient": ingredient}),)


def looked_for(found: Iterable[Allergen] | None) -> tuple[Verdict, ...]:
    """The note that somebody looked and found none; empty where there is one, or nobody looked."""
    if found is None or any(True for _ in found):
        return ()
    return (Verdict(ALG_NONE, Outcome.NOTE, {}),)


def cross_contact(
    before: Iterable[Allergen], contains: Iterable[Allergen], *, clean_down: bool = False
) -> frozenset[Allergen]:
    """What a lot may contain from what was in the machine before it, beyond what it contains."""
    return frozenset() if clean_down else frozenset(before) - frozenset(contains)


def crossed(may_contain: Iterable[Allergen]) -> tuple[Verdict, ...]:
    """The note on cross-contact; empty when there is none."""
    numbers = {"allergens": ", ".join(sorted(map(str, may_contain)))}
    return (Verdict(ALG_CROSS, Outcome.NOTE, numbers),) if numbers["allergens"] else ()


def sulphite(so2_mg_per_kg_dry: float | None, mass_ratio: float = 1.0) -> tuple[Verdict, ...]:
    """Are sulphites declared? Reckoned on the rehydrated food, never on the dry.

    Args:
        so2_mg_per_kg_dry: sulphur dioxide in the dry food, mg/kg, ≥ 0; None or NaN is unknown.
        mass_ratio: rehydrated over dry mass, ≥ 1.
    Returns:
        A note when declared; a pass when stored but not printed. Unknown is declared.
    Raises:
        OutOfRange: an argument outside its range.
    Source: Regulation (EU) 1169/2011, Annex II: more than 10 mg/kg.
    Example:
        >>> sulphite(60.0, 3.0)[0].outcome.value, sulphite(24.0, 3.0)[0].outcome.value
        ('note', 'pass')
    """
    require("mass_ratio", mass_ratio, 1.0, None)
    dose = known(so2_mg_per_kg_dry)
    if dose is None:
        return (Verdict(ALG_SO2, Outcome.NOTE, {"dose": "An unknown dose of"}),)
    require("so2_mg_per_kg_dry", dose, 0.0, None, "mg/kg")
    eaten = dose / mass_ratio
    outcome = Outcome.NOTE if eaten > SULPHITE_LIMIT.value else Outcome.PASS
    return (Verdict(ALG_SO2, outcome, {"dose": f"{eaten:.3g} mg/kg of"}),)


def printed(allergens: Iterable[Allergen], region: RuleSet) -> tuple[Allergen, ...]:
    """Those of the region's list, in its order.

    The US prints its nine, with wheat alone of the cereals. All other rule sets print all
    fourteen: the British list is the European one, and we have not opened the Canadian and
    Australian ones (our judgement: print more).
    """
    groups = US_9 if region is RuleSet.US else EU_14
    shown = [a for a in allergens if a.group in groups and not _is_unlisted(a, region)]
    return tuple(sorted(shown, key=lambda a: (groups.index(a.group), a.kind)))


def label_text(
    contains: Iterable[Allergen],
    region: RuleSet,
    *,
    may_contain: Iterable[Allergen] = (),
    is_fully_known: bool = True,
) -> str:
    """The allergen line of a label; empty when there is nothing to say.

    Args:
        contains: what it carries. region: whose list. may_contain: from cross-contact.
        is_fully_known: False where an ingredient has no record.
    Example:
        >>> label_text([Allergen(AllergenGroup.FISH, "trout")], RuleSet.UK)
        'Contains fish (trout).'
    """
    held = frozenset(contains)
    parts = []
    if names := _names(printed(held, region)):
        parts.append(f"Contains {names}.")
    if names := _names(printed(frozenset(may_contain) - held, region)):
        parts.append(f"May contain {names}.")
    if not is_fully_known:
        parts.append("Allergens not fully known.")
    return " ".join(parts)


def _is_unlisted(allergen: Allergen, region: RuleSet) -> bool:
    """Of the cereals the US lists wheat alone; a cereal of unknown kind is printed."""
    is_cereal = region is RuleSet.US and allergen.group is AllergenGroup.GLUTEN
    return is_cereal and allergen.kind not in (*_WHEAT, "")


def _names(allergens: Iterable[Allergen]) -> str:
    kinds: dict[AllergenGroup, list[str]] = {}
    for allergen in allergens:
        kinds.setdefault(allergen.group, []).extend([allergen.kind] if allergen.kind else [])
    return ", ".join(
        _WORDS.get(group, group.value) + (f" ({', '.join(named)})" if named else "")
        for group, named in kinds.items()
    )


_BY_CLASS: dict[FoodClass, tuple[AllergenGroup, ...]] = {
    FoodClass.FISH_LEAN: (AllergenGroup.FISH,),
    FoodClass.FISH_FATTY: (AllergenGroup.FISH,),
    FoodClass.SHELLFISH: (AllergenGroup.CRUSTACEANS, AllergenGroup.MOLLUSCS),
    FoodClass.EGG: (AllergenGroup.EGGS,),
    FoodClass.DAIRY: (AllergenGroup.MILK,),
}
_BY_WORD: dict[str, AllergenGroup] = {
    "fish": AllergenGroup.FISH,
    "egg": AllergenGroup.EGGS,
    "celery": AllergenGroup.CELERY,
    "sulfured": AllergenGroup.SULPHITES,
    "oats": AllergenGroup.GLUTEN,
    "pasta": AllergenGroup.GLUTEN,
    "noodles": AllergenGroup.GLUTEN,
}


def own_allergens(food_class: FoodClass, description: str) -> frozenset[Allergen]:
    """The allergens that a food of the composition table is, by its class and the table's words.

    Args:
        food_class: its class. description: its description in the table.
    Returns:
        Allergens without kind; what a cook adds to it is told at intake. Shellfish counts as both
        groups, the stricter reading.
    Source: the groups of EU_14; which class belongs to which group is our judgement.
    Example:
        >>> sorted(str(a) for a in own_allergens(FoodClass.GRAIN_LEGUME, "Noodles, egg, dry"))
        ['eggs', 'gluten']
    """
    words = set(description.casefold().replace(",", " ").split())
    groups = {*_BY_CLASS.get(food_class, ()), *(g for w, g in _BY_WORD.items() if w in words)}
    return frozenset(Allergen(group) for group in groups)
