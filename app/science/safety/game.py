"""Wild game: what its species and its story ask for, at intake and until it is eaten."""

import re
from enum import StrEnum

from app.science import sources as s
from app.science.classes import FoodClass
from app.science.errors import require
from app.science.safety.cooking_rules import TRICH_WILD
from app.science.safety.readings import Reading, unit_ask
from app.science.safety.rule import Outcome, Rule, RuleSet, Severity, Topic, Verdict, known
from app.science.sources import Evidence, Source, Sourced

_COPY, _READ, _OURS = Evidence.COPY, Evidence.READ, Evidence.JUDGEMENT


class CwdStatus(StrEnum):
    """What is known of chronic wasting disease in one animal."""

    UNKNOWN = "unknown"
    PENDING = "test awaited"
    NOT_DETECTED = "not detected"
    POSITIVE = "positive"
    NOT_PLANNED = "no test planned"


class Step(StrEnum):
    """What is about to happen to the meat."""

    EAT = "eat"
    GIVE = "give"
    MIX = "mix with another animal"
    APART = "cut, freeze or dry it as a lot of its own"


_CERVIDS = frozenset({"deer", "elk", "moose", "caribou", "reindeer", "venison", "wapiti"})
_HARES = frozenset({"rabbit", "hare", "beaver", "muskrat"})
_BRUCELLA = _CERVIDS | {"hog", "boar", "pig", "swine", "bison"}
WILD_CLASSES = (FoodClass.GAME, FoodClass.GAME_BIRD, FoodClass.WILD_MEAT_EATER)

#: Countries where the disease is found, ISO 3166 codes.
CWD_COUNTRIES = frozenset({"US", "CA", "NO", "FI", "SE", "KR"})
_COUNTRY = {RuleSet.US: "US", RuleSet.CA: "CA", RuleSet.UK: "GB", RuleSet.AU: "AU"}
FIELD_HOURS = Sourced(24, "hour", Evidence.SECOND_HAND, s.FIELD_CARE_WEB)
FIELD_C = Sourced(4.4, "degC", _READ, s.PENN_STATE_VENISON, note="40 °F")
LEAD_CM = Sourced(45, "cm", _COPY, s.MINNESOTA_LEAD, note="18 inches")


def _rule(
    id: str,
    severity: Severity,
    applies_to: str,
    words: str,
    source: Source | None,
    evidence: Evidence,
    limits: tuple[Sourced, ...] = (),
    also: tuple[tuple[Outcome, str], ...] = (),
) -> Rule:
    return Rule(id, Topic.GAME, severity, applies_to, words, source, evidence, limits, also)


CWD_HOLD = _rule(
    "CWD-HOLD",
    Severity.STOP,
    "deer, elk, moose, caribou, in the countries with chronic wasting disease",
    "A test is awaited: keep this animal apart. Do not eat it, give it away or mix it until the "
    "result is in.",
    s.CDC_CWD,
    _COPY,
    also=(
        (Outcome.NOTE, "A test is awaited: cut, freeze or dry it as a lot of its own."),
        (
            Outcome.CONFIRM,
            "Taken where chronic wasting disease is found, and no test is planned. Testing is "
            "strongly advised; without it, say why.",
        ),
        (Outcome.ASK, "Where was it taken, and is it tested for chronic wasting disease?"),
    ),
)
CWD_POS = _rule(
    "CWD-POS",
    Severity.STOP,
    "an animal tested positive, and every lot it went into",
    "Chronic wasting disease was found: do not eat it, nor anything it was mixed with.",
    s.CDC_CWD,
    _COPY,
)
CWD_NEG = _rule(
    "CWD-NEG",
    Severity.NOTE,
    "an animal in which the disease was not detected",
    "Not detected: the hold is lifted. That makes it much less likely; it is no guarantee.",
    s.CDC_CWD,
    _READ,
)
GAME_SICK = _rule(
    "GAME-SICK",
    Severity.STOP,
    "an animal that looked sick, acted strangely or was found dead",
    "It looked sick, acted strangely or was found dead: do not eat it.",
    s.CDC_CWD,
    _COPY,
)
TULAR = _rule(
    "TULAR",
    Severity.NOTE,
    "rabbit, hare, beaver, muskrat",
    "Wear gloves when skinning, and cook it through: tularaemia lives through cold, not through "
    "heat.",
    s.UTAH_TULARAEMIA,
    _READ,
)
BRUC = _rule(
    "BRUC",
    Severity.NOTE,
    "feral hog, elk, bison, caribou, moose, deer",
    "Wear gloves and cover your eyes, keep off the organs of reproduction, and cook to 160 °F "
    "(71 °C) or more: freezing, smoking and drying do not kill brucella.",
    s.CDC_HUNTERS,
    _READ,
    (Sourced(160, "degF", _READ, s.CDC_HUNTERS),),
)
LEAD = _rule(
    "LEAD",
    Severity.CONFIRM,
    "game taken with lead, ground or cut near the wound; or nobody knows what it was taken with",
    "Lead bits spread up to 45 cm from the wound and are too small to see. No trim is known to be "
    "enough, and rinsing spreads them. Children under 6 and anyone pregnant should not have it.",
    s.MINNESOTA_LEAD,
    _COPY,
    (LEAD_CM,),
    (
        (
            Outcome.NOTE,
            "Lead bits spread up to 45 cm from the wound and are too small to see. No trim is "
            "known to be enough. Keep it from children under 6 and anyone pregnant.",
        ),
    ),
)
FIELD_COOL = _rule(
    "FIELD-COOL",
    Severity.CONFIRM,
    "a carcass on its way to 4.4 °C (40 °F)",
    "Not at 4.4 °C (40 °F) after {hours} h, or left in its skin in warm air. How was it kept?",
    s.PENN_STATE_VENISON,
    _READ,
    (FIELD_C, FIELD_HOURS),
    ((Outcome.NOTE, "Bring a carcass below 4.4 °C (40 °F) as soon as you can."),),
)
GAME_LAW = _rule(
    "GAME-LAW",
    Severity.NOTE,
    "wild game kept or given away",
    "Keep tag, licence, date and place with the lot; migratory birds given away need a signed tag, "
    "and wild game is not sold. Check your hunting rules.",
    s.CFR_MIGRATORY,
    _COPY,
)

RULES = (CWD_HOLD, CWD_POS, CWD_NEG, GAME_SICK, TULAR, BRUC, LEAD, FIELD_COOL, GAME_LAW, TRICH_WILD)


def game_notes(
    food_class: FoodClass,
    species: str,
    *,
    lead_ammunition: bool | None = None,
    is_ground_or_near_wound: bool = False,
    for_child_or_pregnant: bool = False,
    cwd_status: CwdStatus = CwdStatus.UNKNOWN,
    cwd_listed: bool | None = None,
    country: str | None = None,
    step: Step = Step.EAT,
    was_sick: bool = False,
    hours_since_death: float | None = None,
    centre_c: float | None = None,
    air_c: float | None = None,
    is_skinned: bool | None = None,
    rule_set: RuleSet = RuleSet.US,
    insisted: bool = False,
) -> tuple[Verdict, ...]:
    """What a piece of wild game asks for.

    Args:
        food_class: only the wild classes are looked at. species: as typed, "moose", "roe deer".
        lead_ammunition: None is unknown. is_ground_or_near_wound, for_child_or_pregnant: for lead.
        cwd_status, cwd_listed: result, and whether the place is listed; None is unknown.
        country: where it was taken, ISO 3166 code; the rule set's own by default.
        step: what is about to happen; a test awaited stops eating, giving and mixing.
        was_sick: looked sick, acted strangely or was found dead.
        hours_since_death, centre_c, air_c, is_skinned: field cooling; None is unknown. Whoever
        knows the unit in which the centre was typed asks about it. rule_set: whose advice counts.
        insisted: the person confirmed an unusual air temperature.
    Returns:
        Verdicts, the hardest first.
    Raises:
        OutOfRange: hours negative.
    Source: CDC; Utah; Minnesota; Pennsylvania State University; see each rule.
    Example:
        >>> [v.id for v in game_notes(FoodClass.GAME, "hare", lead_ammunition=False)]
        ['TULAR', 'FIELD-COOL', 'GAME-LAW']
    """
    if food_class not in WILD_CLASSES:
        return ()
    ask = None if insisted else unit_ask(Reading.ROOM, air_c, "C")
    if ask:
        return (ask,)
    words = _words(species)
    found = [Verdict(GAME_SICK, Outcome.STOP)] if was_sick else []
    if words & _CERVIDS:
        found += _wasting_disease(cwd_status, cwd_listed, country or _COUNTRY[rule_set], step)
    if food_class is FoodClass.WILD_MEAT_EATER:
        found.append(Verdict(TRICH_WILD, Outcome.NOTE))
    found += [Verdict(TULAR, Outcome.NOTE)] if words & _HARES else []
    found += [Verdict(BRUC, Outcome.NOTE)] if words & _BRUCELLA else []
    if lead_ammunition is not False and (is_ground_or_near_wound or for_child_or_pregnant):
        found.append(Verdict(LEAD, Outcome.CONFIRM if for_child_or_pregnant else Outcome.NOTE))
    found.append(_field(known(hours_since_death), known(centre_c), known(air_c), is_skinned))
    found.append(Verdict(GAME_LAW, Outcome.NOTE))
    return tuple(found)


def asks_for_wasting(species: str, rule_set: RuleSet, country: str | None = None) -> bool:
    """Is an animal asked about chronic wasting disease?

    Args:
        species: as typed. rule_set: gives the country where none is told. country: ISO 3166 code.
    Example:
        >>> asks_for_wasting("moose", RuleSet.US), asks_for_wasting("red deer", RuleSet.UK)
        (True, False)
    """
    return bool(_words(species) & _CERVIDS) and (country or _COUNTRY[rule_set]) in CWD_COUNTRIES


def _words(species: str) -> frozenset[str]:
    """Single words of a species as typed, each also without its plural s."""
    words = re.findall(r"[a-z]+", species.casefold())
    return frozenset(words) | {word.removesuffix("s") for word in words}


def _wasting_disease(
    status: CwdStatus, is_listed: bool | None, country: str, step: Step
) -> list[Verdict]:
    if status is CwdStatus.POSITIVE:
        return [Verdict(CWD_POS, Outcome.STOP)]
    if status is CwdStatus.NOT_DETECTED:
        return [Verdict(CWD_NEG, Outcome.NOTE)]
    if status is CwdStatus.PENDING:
        return [Verdict(CWD_HOLD, Outcome.NOTE if step is Step.APART else Outcome.STOP)]
    if country not in CWD_COUNTRIES or is_listed is False:
        return []
    asked = is_listed is None or status is CwdStatus.UNKNOWN
    return [Verdict(CWD_HOLD, Outcome.ASK if asked else Outcome.CONFIRM)]


def _field(
    hours: float | None, centre_c: float | None, air_c: float | None, is_skinned: bool | None
) -> Verdict:
    if hours is None:
        return Verdict(FIELD_COOL, Outcome.NOTE)
    require("hours_since_death", hours, 0.0, None, "h")
    is_cold = centre_c is not None and centre_c <= FIELD_C.value
    warm_air = air_c is not None and air_c > FIELD_C.value and not is_skinned
    slow = not is_cold and (hours > FIELD_HOURS.value or warm_air)
    return Verdict(FIELD_COOL, Outcome.CONFIRM if slow else Outcome.NOTE, {"hours": hours})
