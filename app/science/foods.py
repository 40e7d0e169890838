"""The packaged tables: 292 foods and how meat shrinks in cooking. The one module that reads them.

Nothing is filled in: a cell that is empty in the source is None here, or is named in
`Food.not_in_source` where a composition needs a number.
"""

import csv
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Final

from app.science.classes import FoodClass, Form
from app.science.composition import GENERAL_ATWATER, AtwaterFactors, Composition, energy_kcal
from app.science.errors import NotInTable, require
from app.science.foods_sorting import food_class_of, form_of


@dataclass(frozen=True, slots=True)
class Food:
    """One food of the composition table, per 100 g edible portion there, as fractions here."""

    ndb_no: str
    name: str
    group: str
    composition: Composition
    energy_kcal_per_100g: float
    refuse_fraction: float | None  # inedible share of the food as bought; None = not in source
    refuse_description: str
    factors: AtwaterFactors | None  # the food's own; None = not in source
    food_class: FoodClass
    form: Form
    not_in_source: frozenset[str] = frozenset()  # components that stand at 0 for want of a value

    def edible_kg(self, as_bought_kg: float) -> float:
        """Mass left after the refuse (bone, pod, husk, core) is taken off.

        Args:
            as_bought_kg: mass with the refuse, kg.
        Returns:
            Edible mass, kg: as bought times (1 - refuse).
        Raises:
            OutOfRange: a negative mass. NotInTable: the source gives no refuse for this food.
        Source: documentation of USDA SR28, which takes refuse from its own samples and from
            Agriculture Handbooks 102 (1975) and 456 (1975).
        """
        require("as_bought_kg", as_bought_kg, 0.0, None, "kg")
        if self.refuse_fraction is None:
            raise NotInTable("the column of refuse", self.ndb_no)
        return as_bought_kg * (1.0 - self.refuse_fraction)

    def energy_kcal(self, mass_kg: float) -> float:
        """Energy of an edible mass by the food's own factors, else by the general ones, kcal."""
        return energy_kcal(self.composition, mass_kg, self.factors or GENERAL_ATWATER)


@dataclass(frozen=True, slots=True)
class CookingYield:
    """One row of the USDA table of cooking yields: cooked mass over raw mass, fractions.

    moisture_change and fat_change are kg per kg RAW; None where the source gives none.
    """

    ndb_no: str  # without leading zero, as in the source; empty for a pooled row
    description: str
    method: str
    yield_fraction: float
    n: int | None
    low: float | None
    high: float | None
    moisture_change: float | None
    fat_change: float | None
    release_year: int

    @property
    def span(self) -> tuple[float, float]:
        """Lowest and highest of the samples, falling back on the yield itself."""
        low = self.yield_fraction if self.low is None else self.low
        return low, self.yield_fraction if self.high is None else self.high


# A household's word, and the words of the table that stand for it.
SYNONYMS: Final = {
    "venison": "deer",
    "mince": "ground",
    "minced": "ground",
    "courgette": "zucchini",
    "aubergine": "eggplant",
    "sweetcorn": "corn sweet",
    "beetroot": "beets",
    "swede": "rutabagas",
    "reindeer": "caribou",
    "wapiti": "elk",
    "hare": "rabbit wild",
    "fowl": "chicken stewing",
    "dripping": "tallow",
}


def food(ndb_no: str) -> Food:
    """The food with this number.

    Args:
        ndb_no: five digits as in USDA SR28, leading zero included.
    Returns:
        The food.
    Raises:
        NotInTable: no such number here (also a KeyError).
    Source: USDA SR28, 2015.
    Example:
        >>> food("17172").name
        'Game meat, moose, raw'
    """
    try:
        return _by_number()[ndb_no]
    except KeyError:
        raise NotInTable("the table of foods", ndb_no) from None


@cache
def all_foods() -> tuple[Food, ...]:
    """Every food of the table, in the order of their numbers."""
    factors = {row["ndb_no"]: row for row in _rows("composition_sr_factors.csv")}
    return tuple(_food(row, factors[row["ndb_no"]]) for row in _rows("composition_sr.csv"))


@cache
def cooking_yields() -> tuple[CookingYield, ...]:
    """Every row of the table of cooking yields, in the order of the source."""
    return tuple(_cooking_yield(row) for row in _rows("cooking_yields_usda.csv"))


def find_foods(text: str, limit: int = 20) -> list[Food]:
    """Foods whose name holds all the words, in any order; forgiving of case, plurals and slips.

    Args:
        text: what somebody typed. limit: how many to return at most, ≥ 1.
    Returns:
        Best first: whole words before beginnings of words, raw before cooked, short names first.
        Empty when nothing fits.
    Raises:
        OutOfRange: limit below 1.
    Example:
        >>> [f.name for f in find_foods("MINCED venison", 1)]
        ['Game meat, deer, ground, raw']
        >>> find_foods("brocoli")[0].name
        'Broccoli, raw'
    """
    require("limit", limit, 1, None)
    typed = text.casefold()
    for spelling in (typed.replace("-", ""), typed.replace("-", " ")):
        wanted = _words(" ".join(SYNONYMS.get(word, word) for word in _split(spelling)))
        for words in (wanted, tuple(_nearest_word(word) for word in wanted)):
            if words and (found := _ranked(words)):
                return found[:limit]
    return []


def _ranked(wanted: tuple[str, ...]) -> list[Food]:
    scored = []
    for item, name in _index():
        if all(any(have.startswith(word) for have in name) for word in wanted):
            whole = sum(word in name for word in wanted)
            first = name.index(wanted[0]) if wanted[0] in name else len(name)
            scored.append((-whole, first > 2, "raw" not in name, len(name), item.ndb_no, item))
    return [row[-1] for row in sorted(scored, key=lambda row: row[:-1])]


def _nearest_word(word: str) -> str:
    from difflib import get_close_matches

    return next(iter(get_close_matches(word, _vocabulary(), n=1, cutoff=0.75)), word)


@cache
def _vocabulary() -> tuple[str, ...]:
    return tuple(sorted({word for _, name in _index() for word in name}))


@cache
def _index() -> tuple[tuple[Food, tuple[str, ...]], ...]:
    return tuple((item, _name_words(item.name)) for item in all_foods())


def _name_words(name: str) -> tuple[str, ...]:
    """Words of a name; a hyphened one both whole and in its parts."""
    return tuple(dict.fromkeys((*_words(name.replace("-", " ")), *_words(name.replace("-", "")))))


def _words(text: str) -> tuple[str, ...]:
    return tuple(_stem(word) for word in _split(text))


def _split(text: str) -> list[str]:
    return "".join(c if c.isalnum() else " " for c in text.casefold()).split()


def _stem(word: str) -> str:
    """Singular and plural alike: berries and berry, tomatoes and tomato, beans and bean."""
    for ending, kept in (("ies", "y"), ("oes", "o"), ("ses", "s"), ("s", "")):
        if len(word) > 3 and word.endswith(ending) and not word.endswith("ss"):
            return word[: -len(ending)] + kept
    return word


@cache
def _by_number() -> dict[str, Food]:
    return {item.ndb_no: item for item in all_foods()}


def _rows(name: str) -> list[dict[str, str]]:
    text = files("app.science").joinpath("data", name).read_text(encoding="utf-8")
    return list(csv.DictReader(text.splitlines()))


def _number(cell: str) -> float | None:
    return float(cell) if cell else None


def _share(cell: str) -> float | None:
    """A percentage, or grams per 100 g, as a fraction."""
    return float(cell) / 100.0 if cell else None


def _food(row: dict[str, str], extra: dict[str, str]) -> Food:
    shares = {
        name: _share(row[f"{name}_g"])
        for name in ("water", "protein", "fat", "carbohydrate", "fibre", "ash")
    }
    composition = Composition(**{name: share or 0.0 for name, share in shares.items()})
    name, group = row["description"], extra["group"]
    return Food(
        ndb_no=row["ndb_no"],
        name=name,
        group=group,
        composition=composition,
        energy_kcal_per_100g=float(row["energy_kcal"]),
        refuse_fraction=_share(extra["refuse_pct"]),
        refuse_description=extra["refuse_description"].strip(),
        factors=_factors(extra),
        food_class=food_class_of(name, group, composition.fat),
        form=form_of(name, group),
        not_in_source=frozenset(name for name, share in shares.items() if share is None),
    )


def _factors(row: dict[str, str]) -> AtwaterFactors | None:
    """The food's own factors; one that is missing beside others takes the general value.

    The five such rows (lard, tallows, oil, sugar) hold none of the component in question.
    """
    names = ("protein", "fat", "carbohydrate")
    given = {name: _number(row[f"{name}_kcal_per_g"]) for name in names}
    if all(value is None for value in given.values()):
        return None
    known = {name: value for name, value in given.items() if value is not None}
    general = {name: getattr(GENERAL_ATWATER, name) for name in names}
    return AtwaterFactors(**(general | known))


def _cooking_yield(row: dict[str, str]) -> CookingYield:
    return CookingYield(
        ndb_no=row["ndb_no"],
        description=row["description"],
        method=row["method"],
        yield_fraction=float(row["cooking_yield_pct"]) / 100.0,
        n=int(row["n"]) if row["n"] else None,
        low=_share(row["yield_min_pct"]),
        high=_share(row["yield_max_pct"]),
        moisture_change=_share(row["moisture_change_pct"]),
        fat_change=_share(row["fat_change_pct"]),
        release_year=int(row["release_year"]),
    )
