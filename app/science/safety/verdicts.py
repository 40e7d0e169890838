"""The door to the safety rules: every evaluator under one name, for the ledger to call."""

from app.science.safety.absorbers import absorber, checked_next_day, raw_label, sealed_jar
from app.science.safety.allergens import (
    cross_contact,
    crossed,
    kept,
    label_text,
    looked_for,
    merged,
    sulphite,
    union,
    unknown_ingredient,
)
from app.science.safety.catalogue import ALL_RULES, BY_ID, rules_of
from app.science.safety.cooking import CookTarget, clears_raw, cook_target, cooked
from app.science.safety.cooking_history import cooked_from_history
from app.science.safety.cooking_rules import colour_note, thermometer
from app.science.safety.cooking_time import cooked_by_time
from app.science.safety.cooling import cooled
from app.science.safety.drying import (
    claims_cooked_by_drying,
    dried_meat,
    dried_produce,
    dryer_load,
    trichina_in_pork,
)
from app.science.safety.fish import fish_notes
from app.science.safety.game import game_notes
from app.science.safety.holding import held_cold, held_hot, left_out
from app.science.safety.intake_questions import GameQuestion, questions_for
from app.science.safety.low_oxygen import not_covered, oxygen_free_pack, under_oil
from app.science.safety.not_computed import NOT_COMPUTED
from app.science.safety.outage import freezer_outage, outage_freezer, outage_fridge
from app.science.safety.outage_lots import fate_in_freezer, fate_in_fridge
from app.science.safety.readings import unit_ask
from app.science.safety.refrigerated import worked_late
from app.science.safety.rehydration import rehydrate
from app.science.safety.rule import (
    DEFERENCE,
    Outcome,
    Rule,
    RuleSet,
    Severity,
    Verdict,
    allows,
    worst,
)
from app.science.safety.thawing import may_refreeze, thawed
from app.science.safety.time_out import TimeOut, time_out

__all__ = [
    "ALL_RULES",
    "BY_ID",
    "DEFERENCE",
    "NOT_COMPUTED",
    "CookTarget",
    "GameQuestion",
    "Outcome",
    "Rule",
    "RuleSet",
    "Severity",
    "TimeOut",
    "Verdict",
    "absorber",
    "allows",
    "checked_next_day",
    "claims_cooked_by_drying",
    "clears_raw",
    "colour_note",
    "cook_target",
    "cooked",
    "cooked_by_time",
    "cooked_from_history",
    "cooled",
    "cross_contact",
    "crossed",
    "dried_meat",
    "dried_produce",
    "dryer_load",
    "fate_in_freezer",
    "fate_in_fridge",
    "fish_notes",
    "freezer_outage",
    "game_notes",
    "held_cold",
    "held_hot",
    "kept",
    "label_text",
    "left_out",
    "looked_for",
    "may_refreeze",
    "merged",
    "not_covered",
    "outage_freezer",
    "outage_fridge",
    "oxygen_free_pack",
    "questions_for",
    "raw_label",
    "rehydrate",
    "rules_of",
    "sealed_jar",
    "sulphite",
    "thawed",
    "thermometer",
    "time_out",
    "trichina_in_pork",
    "under_oil",
    "union",
    "unit_ask",
    "unknown_ingredient",
    "worked_late",
    "worst",
]
