"""How full a freezer is, from what its contents weigh: a rule of thumb, so a range in words."""

from app.science.sources import NCSU_FREEZER_SPACE, Evidence, Sourced

CUBIC_FOOT_L = 28.316846592  # by definition: a foot is 0.3048 m
POUND_KG = 0.45359237  # by definition

#: What a litre of freezer holds: 35 lb to the cubic foot where blocks fit tightly together.
TIGHT = Sourced(
    35 * POUND_KG / CUBIC_FOOT_L, "kg/l", Evidence.COPY, NCSU_FREEZER_SPACE,
    note="up to 35 lb of blocks that fit tightly to a cubic foot",
)  # fmt: skip
#: The same where bags and tubs of all shapes lie as they fell.
LOOSE = Sourced(0.4, "kg/l", Evidence.JUDGEMENT, note="25 lb to a cubic foot")

_SHARES = (
    (0.0, "empty"), (0.1, "a tenth"), (0.25, "a quarter"), (1 / 3, "a third"), (0.5, "half"),
    (2 / 3, "two thirds"), (0.75, "three quarters"), (1.0, "all"),
)  # fmt: skip
FULLNESS_SOURCE = (
    f"Rule of thumb: {TIGHT.source} ({TIGHT.evidence}), up to 35 lb to a cubic foot (0.56 kg to a "
    f"litre) where blocks fit tightly; 25 lb (0.40 kg to a litre) where they do not "
    f"({LOOSE.evidence})."
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
        return "empty"
    low, high = filled_shares(mass_kg, capacity_l)
    if low > 1.15:
        return "more than it should hold: check its size, or what lies in it"
    first, last = _named(low), _named(high)
    if first == "all":
        return "full"
    if last == "all":
        return f"about {first} to quite full"
    if last in ("empty", "a tenth"):
        return "nearly empty"
    first = "a tenth" if first == "empty" else first
    return f"about {first} full" if first == last else f"about {first} to {last} full"


def _named(share: float) -> str:
    return min(_SHARES, key=lambda named: abs(named[0] - share))[1]
