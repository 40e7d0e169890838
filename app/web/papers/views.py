"""The pages of papers."""

from flask import render_template
from flask.typing import ResponseReturnValue

from app.language import N_, _, figures
from app.ledger.safety import rule_set_of
from app.science.safety.catalogue import ALL_RULES, BY_ID
from app.science.safety.not_computed import NOT_COMPUTED
from app.science.safety.rule import DEFERENCE, RULES_VERSION, Outcome
from app.science.version import MODEL_VERSION
from app.web import scope
from app.web.papers.guide import example_window, household_name, place_sentences
from app.web.papers.numbers import bibliography, subjects
from app.web.papers.rules import rules_by_topic, sentence, sourced, targets
from app.web.papers.uncovered import authority, uncovered

_PAPERS = (
    (N_("Labels"), "/labels", N_("Print them again, one or many")),
    (N_("History"), "/history", N_("Every entry, what it took and made, and who wrote it")),
    (N_("On hold"), "/holds", N_("What is not to be eaten for now, and where it lies")),
    (
        N_("Sources"),
        "/sources",
        N_("Each animal, plot and shop: what holds its food, and who got some"),
    ),
    (
        N_("Foretell"),
        "/papers/foretell",
        N_("Cooling, freezing, drying, oxygen and water, beforehand"),
    ),
    (N_("Cautions"), "/papers/cautions", N_("Every safety rule with its limits and its source")),
    (
        N_("Not covered"),
        "/papers/not-covered",
        N_("Canning, curing, fermenting, smoking: which guide"),
    ),
    (
        N_("Numbers"),
        "/papers/numbers",
        N_("Every number the estimates rest on, and the publications"),
    ),
    (N_("Trials"), "/papers/trials", N_("Soakings of dried food compared, and which to repeat")),
    (N_("Guide"), "/papers/guide", N_("One page to print and hang up")),
    (N_("The first steps"), "/first-steps", N_("What a newcomer does in the first ten minutes")),
)
_GUIDE_RULES: tuple[tuple[str, Outcome | None], ...] = (
    ("COOK-COLOUR", None),
    ("FD-RAW", Outcome.NOTE),
    ("THAW-WAY", None),
    ("REHY-2H", Outcome.NOTE),
    ("VAC-NOT", None),
    ("JAR-VAC", None),
    ("ABS-NOEAT", None),
)


def page() -> ResponseReturnValue:
    """What there is to read and print."""
    items = [{"label": _(label), "href": href, "words": _(words)} for label, href, words in _PAPERS]
    return render_template("papers/papers.html", items=items)


def cautions() -> ResponseReturnValue:
    """Every rule, by topic, and what is never worked out."""
    return render_template(
        "papers/cautions.html",
        topics=rules_by_topic(),
        count=len(ALL_RULES),
        targets=targets(rule_set_of(scope.reading())),
        not_computed=NOT_COMPUTED,
        deference=DEFERENCE,
        version=RULES_VERSION,
    )


def numbers() -> ResponseReturnValue:
    """Every sourced number and every publication."""
    return render_template(
        "papers/numbers.html",
        subjects=subjects(),
        bibliography=bibliography(),
        version=MODEL_VERSION,
    )


def guide() -> ResponseReturnValue:
    """The guide, made to be printed on one sheet; its sources are numbered at the foot."""
    goals = targets(rule_set_of(scope.reading()), only_ours=True)
    rules = [_cooling(), _dryness(), *(sentence(rule, outcome) for rule, outcome in _GUIDE_RULES)]
    named = [f"{goal.source} ({goal.evidence})" for goal in goals] + [rule[1] for rule in rules]
    sources = list(dict.fromkeys(named))
    return render_template(
        "papers/guide.html",
        goals=[(g, sources.index(f"{g.source} ({g.evidence})") + 1) for g in goals],
        rules=[(words, sources.index(source) + 1) for words, source in rules],
        sources=sources,
        deference=DEFERENCE,
        household=household_name(),
        places=place_sentences(),
        example=example_window(),
    )


def not_covered() -> ResponseReturnValue:
    """What is never guided here, and where the official guides are."""
    here = rule_set_of(scope.reading())
    return render_template(
        "papers/not_covered.html",
        processes=uncovered(here),
        authority=authority(here),
        deference=DEFERENCE,
    )


def _cooling() -> tuple[str, str]:
    """The two steps of cooling in words, from the limits of the household's own rule."""
    here = rule_set_of(scope.reading())
    rule = next(BY_ID[i] for i in ("COOL-2STAGE", "COOL-AU") if here in BY_ID[i].rule_sets)
    start, middle, end, first, total = (limit.value for limit in rule.limits)
    words = _(
        "Cool cooked food from {both} to {both_2} within {first:g} hours, and to "
        "{both_3} within {total:g} hours in all. Shallow tubs or an ice bath do it.",
        both=_both(start),
        both_2=_both(middle),
        first=first,
        both_3=_both(end),
        total=total,
    )
    return words, sourced(rule)


def _dryness() -> tuple[str, str]:
    rule = BY_ID["ROP-WET"]
    activity, water = (limit.value for limit in rule.limits)
    words = _(
        "Seal without oxygen only what is dry: a water activity up to {activity:g} and at most "
        "{water:g} % water in the fat-free part. Weigh again until the weight stops falling.",
        activity=activity,
        water=100 * water,
    )
    return words, sourced(rule)


def _both(temp_c: float) -> str:
    return figures(f"{temp_c:g} °C ({temp_c * 1.8 + 32:.0f} °F)")
