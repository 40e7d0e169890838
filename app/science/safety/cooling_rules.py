"""The rows of cooling, holding and time out."""

from dataclasses import dataclass

from app.science import sources as s
from app.science.safety.rule import Outcome, Rule, RuleSet, Severity, Topic
from app.science.sources import Evidence, Sourced

_COPY = Evidence.COPY
_NOT_AU = (RuleSet.US, RuleSet.CA, RuleSet.UK)
MAX_GAP_HOURS = Sourced(0.5, "hour", Evidence.JUDGEMENT, note="drop-out that is bridged")


@dataclass(frozen=True, slots=True)
class TwoStage:
    """Limits of two-stage cooling: temperatures in °C, hours from the start of the clock."""

    start_c: Sourced
    middle_c: Sourced
    end_c: Sourced
    first_hours: Sourced
    total_hours: Sourced | None
    second_hours: Sourced | None

    def latest_end(self, middle_at: float) -> float:
        """Hours by which the end must be reached, from the hour the middle was reached."""
        if self.total_hours is not None:
            return self.total_hours.value
        return middle_at + (self.second_hours.value if self.second_hours else 0.0)


def _food_code(value: float, unit: str) -> Sourced:
    return Sourced(value, unit, _COPY, s.STATE_FOOD_CODES_COOLING)


def _fsanz(value: float, unit: str) -> Sourced:
    return Sourced(value, unit, _COPY, s.FSANZ_322)


TOTAL_HOURS = _food_code(6, "hour")
US_COOLING = TwoStage(
    start_c=_food_code(57, "degC"),
    middle_c=_food_code(21, "degC"),
    end_c=_food_code(5, "degC"),
    first_hours=_food_code(2, "hour"),
    total_hours=TOTAL_HOURS,
    second_hours=None,
)
AU_COOLING = TwoStage(
    start_c=_fsanz(60, "degC"),
    middle_c=_fsanz(21, "degC"),
    end_c=_fsanz(5, "degC"),
    first_hours=_fsanz(2, "hour"),
    total_hours=None,
    second_hours=_fsanz(4, "hour"),
)
AMBIENT_HOURS = _food_code(4, "hour")

_TOO_SLOW = (
    "Cooling was too slow ({first} h to 21 °C, {total} h to 5 °C). Spores that live through "
    "cooking grow meanwhile, and reheating does not put it right."
)
_SO_FAR = "Not cold yet: {advice}"
_COOLED = "Cooled in time: {first} h to 21 °C, {total} h to 5 °C."

COOL_2STAGE = Rule(
    id="COOL-2STAGE",
    topic=Topic.COOLING,
    severity=Severity.STOP,
    applies_to="cooked food cooled with readings; the clock starts at 57 °C or when cooking ends",
    words=_TOO_SLOW,
    also=((Outcome.PASS, _COOLED), (Outcome.CONFIRM, _SO_FAR)),
    source=s.STATE_FOOD_CODES_COOLING,
    others=(s.FOOD_CODE_COOLING,),
    evidence=_COPY,
    limits=(
        US_COOLING.start_c,
        US_COOLING.middle_c,
        US_COOLING.end_c,
        US_COOLING.first_hours,
        TOTAL_HOURS,
    ),
    rule_sets=_NOT_AU,
)
COOL_AU = Rule(
    id="COOL-AU",
    topic=Topic.COOLING,
    severity=Severity.STOP,
    applies_to="cooked food cooled with readings, in Australia: from 60 °C",
    words=_TOO_SLOW,
    also=((Outcome.PASS, _COOLED), (Outcome.CONFIRM, _SO_FAR)),
    source=s.FSANZ_322,
    evidence=_COPY,
    limits=(
        AU_COOLING.start_c,
        AU_COOLING.middle_c,
        AU_COOLING.end_c,
        _fsanz(2, "hour"),
        _fsanz(4, "hour"),
    ),
    rule_sets=(RuleSet.AU,),
)
COOL_AMBIENT = Rule(
    id="COOL-AMBIENT",
    topic=Topic.COOLING,
    severity=Severity.STOP,
    applies_to="food made at room temperature, rehydrated food above all",
    words="Rehydrated food goes below 5 °C within 4 hours, or is eaten. This took {total} h.",
    also=(
        (Outcome.PASS, "Below 5 °C after {total} h, within the 4 hours."),
        (Outcome.CONFIRM, _SO_FAR),
    ),
    source=s.STATE_FOOD_CODES_COOLING,
    evidence=_COPY,
    limits=(AMBIENT_HOURS, _food_code(5, "degC")),
)
COOL_UNPROVEN = Rule(
    id="COOL-UNPROVEN",
    topic=Topic.COOLING,
    severity=Severity.CONFIRM,
    applies_to="cooling without readings, or with a gap over half an hour",
    words="{why}, so the two-hour rule applies: in the fridge within 2 hours, or discard.",
    source=None,
    evidence=Evidence.JUDGEMENT,
    limits=(MAX_GAP_HOURS,),
)
COOL_APPB = Rule(
    id="COOL-APPB",
    topic=Topic.COOLING,
    severity=Severity.NOTE,
    applies_to="cooling that also meets the first option of the plants' guideline; never instead",
    words="Also meets the guideline of meat plants (130 to 80 °F in {first} h, to 40 °F in "
    "{second} h more).",
    source=s.FSIS_APPENDIX_B,
    evidence=_COPY,
    limits=(
        Sourced(1.5, "hour", _COPY, s.FSIS_APPENDIX_B, note="130 to 80 °F"),
        Sourced(5, "hour", _COPY, s.FSIS_APPENDIX_B, note="80 to 40 °F; one copy prints 45 °F"),
    ),
)
HOLD_COLD = Rule(
    id="HOLD-COLD",
    topic=Topic.COOLING,
    severity=Severity.CONFIRM,
    applies_to="chilled food",
    words="{reading} in the fridge, above 5 °C (41 °F): the two-hour clock runs.",
    also=(
        (Outcome.PASS, "{reading} in the fridge."),
        (Outcome.NOTE, "{reading} in the fridge: households aim for 4.4 °C (40 °F) or colder."),
    ),
    source=s.FOOD_CODE_HOLDING,
    evidence=_COPY,
    limits=(
        Sourced(5, "degC", _COPY, s.FOOD_CODE_HOLDING),
        Sourced(4.4, "degC", _COPY, s.FDA_POWER_OUTAGE),
    ),
)
HOLD_HOT = Rule(
    id="HOLD-HOT",
    topic=Topic.COOLING,
    severity=Severity.STOP,
    applies_to="hot food kept waiting",
    words="{reading}: keep hot food above 57 °C (135 °F), or chill it now.",
    also=(
        (Outcome.PASS, "{reading}: hot enough to wait."),
        (Outcome.CONFIRM, "{reading}: below 57 °C (135 °F) the two-hour clock runs."),
    ),
    source=s.FOOD_CODE_HOLDING,
    others=(s.FSIS_TWO_HOURS,),
    evidence=_COPY,
    limits=(Sourced(57, "degC", _COPY, s.FOOD_CODE_HOLDING),),
)
OUT_2H = Rule(
    id="OUT-2H",
    topic=Topic.COOLING,
    severity=Severity.STOP,
    applies_to="perishable food between 4 and 60 °C (40 and 140 °F) without measured cooling, all "
    "outings together",
    words="Out too long ({hours} h together). Discard.",
    also=(
        (Outcome.PASS, "Out {hours} h together, within the limit."),
        (
            Outcome.CONFIRM,
            "Out {hours} h together. Was the air there above 32 °C (90 °F)? Then one hour is the "
            "limit.",
        ),
    ),
    source=s.FSIS_TWO_HOURS,
    others=(s.FOODSAFETY_LEFTOVERS,),
    evidence=_COPY,
    limits=(
        Sourced(2, "hour", _COPY, s.FSIS_TWO_HOURS),
        Sourced(1, "hour", _COPY, s.FSIS_TWO_HOURS, note="air above 32 °C (90 °F)"),
        Sourced(32, "degC", _COPY, s.FSIS_TWO_HOURS),
    ),
    rule_sets=_NOT_AU,
)
OUT_24 = Rule(
    id="OUT-24",
    topic=Topic.COOLING,
    severity=Severity.STOP,
    applies_to="food between 5 and 60 °C in Australia, all outings together",
    words="Out {hours} h together. Discard.",
    also=(
        (Outcome.PASS, "Out {hours} h together: back into the fridge now."),
        (Outcome.CONFIRM, "Out {hours} h together: eat it now, it cannot go back in the fridge."),
    ),
    source=s.FSANZ_2_4,
    evidence=Evidence.READ,
    limits=(
        Sourced(2, "hour", Evidence.READ, s.FSANZ_2_4),
        Sourced(4, "hour", Evidence.READ, s.FSANZ_2_4),
    ),
    rule_sets=(RuleSet.AU,),
)
OUT_TPHC = Rule(
    id="OUT-TPHC",
    topic=Topic.COOLING,
    severity=Severity.NOTE,
    applies_to="shown beside the two-hour rule, never applied",
    words="Kitchens with a written plan may use 4 hours. Households use 2.",
    source=s.FOOD_CODE_TIME,
    evidence=_COPY,
    limits=(
        Sourced(4, "hour", _COPY, s.FOOD_CODE_TIME),
        Sourced(6, "hour", _COPY, s.FOOD_CODE_TIME, note="started cold, never above 70 °F"),
    ),
)

RULES = (
    COOL_2STAGE, COOL_AU, COOL_AMBIENT, COOL_UNPROVEN, COOL_APPB, HOLD_COLD, HOLD_HOT, OUT_2H,
    OUT_24, OUT_TPHC,
)  # fmt: skip
