"""How full a freezer is, from what its contents weigh: a rule of thumb, so a range in words."""

from app.language import N_, _
from app.science.sources import NCSU_FREEZER_SPACE, Evidence, Sourced

CUBIC_FOOT_L = 28.316846592  # by definition: a foot is 0.3048 m
POUND_KG = 0.45359237  # by definition

#: What a litre of freezer holds: 35 lb to the cubic foot where blocks fit tightly together.
TIGHT = Sourced(
    35 * POUND_KG / CUBIC_FOOT_L, "kg/l", Evidence.COPY, NCSU_FREEZER_SPACE,
    note=N_("up to 35 lb of blocks that fit tightly to a cubic foot"),
)  # fmt: skip
#: The same where bags and tubs of all shapes lie as they fell.
LOOSE = Sourced(0.4, "kg/l", Evidence.JUDGEMENT, note=N_("25 lb to a cubic foot"))

_SHARES = (
    (0.0, N_("empty")), (0.1, N_("a tenth")), (0.25, N_("a quarter")), (1 / 3, N_("a third")),
    (0.5, N_("half")), (2 / 3, N_("two thirds")), (0.75, N_("three quarters")), (1.0, N_("all")),
)  # fmt: skip


def fullness_source() -> str:
    """Where the rule of thumb is from, and what of it is ours."""
    return _(
        "Rule of thumb: {source} ({evidence}), up to 35 lb to a cubic foot (0.56 kg to a litre) "
        "where blocks fit tightly; 25 lb (0.40 kg to a litre) where they do not ({ours}).",
        source=TIGHT.source,
        evidence=_(TIGHT.evidence.value),
        ours=_(LOOSE.evidence.value),
    )


def filled_shares(mass_kg: float, capacity_l: float) -> tuple[float, float]:
    """Between which shares of a freezer its contents take up; above 1 is more than it holds."""
    return mass_kg / TIGHT.value / capacity_l, mass_kg / LOOSE.value / capacity_l


def fullness_words(mass_kg: float, capacity_l: float) -> str:
    """How full, in words: "about half to two thirds full".

    Example:
        >>> fullness_words(56.0, 200.0)
        'about half to two thirds full'
    """
    if mass_kg <= 0.0:
        return _("empty")
    low, high = filled_shares(mass_kg, capacity_l)
    if low > 1.15:
        return _("more than it should hold: check its size, or what lies in it")
    first, last = _named(low), _named(high)
    if first == "all":
        return _("full")
    if last == "all":
        return _("about {first} to quite full", first=_(first))
    if last in ("empty", "a tenth"):
        return _("nearly empty")
    first = "a tenth" if first == "empty" else first
    return (
        _("about {first} full", first=_(first))
        if first == last
        else _("about {first} to {last} full", first=_(first), last=_(last))
    )


def _named(share: float) -> str:
    return min(_SHARES, key=lambda named: abs(named[0] - share))[1]
