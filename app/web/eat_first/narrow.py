"""The list of what to eat first, narrowed: what may be chosen, what is, and that in words."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import TypeVar
from urllib.parse import urlencode

from flask import request

from app.language import N_, _, ngettext
from app.ledger.queries.eat_first import EatFirst, Readiness, Serves, Wanted
from app.science.classes import FoodClass
from app.science.safety.allergens import AllergenGroup

_KINDS: dict[str, tuple[str, frozenset[FoodClass]]] = {
    "meat": (N_("Beef, lamb, goat"), frozenset({FoodClass.RED_MEAT})),
    "pork": (N_("Pork"), frozenset({FoodClass.PORK})),
    "game": (N_("Game"), frozenset({FoodClass.GAME, FoodClass.WILD_MEAT_EATER})),
    "poultry": (N_("Poultry and game birds"), frozenset({FoodClass.POULTRY, FoodClass.GAME_BIRD})),
    "fish": (N_("Fish"), frozenset({FoodClass.FISH_LEAN, FoodClass.FISH_FATTY})),
    "shellfish": (N_("Shellfish"), frozenset({FoodClass.SHELLFISH})),
    "eggs": (N_("Eggs"), frozenset({FoodClass.EGG})),
    "dairy": (N_("Milk and cheese"), frozenset({FoodClass.DAIRY})),
    "fat": (N_("Fats"), frozenset({FoodClass.FAT})),
    "broth": (N_("Broth"), frozenset({FoodClass.BROTH})),
    "vegetables": (N_("Vegetables"), frozenset({FoodClass.VEGETABLE})),
    "fruit": (N_("Fruit"), frozenset({FoodClass.FRUIT})),
    "grain": (N_("Grain and pulses"), frozenset({FoodClass.GRAIN_LEGUME})),
    "dishes": (N_("Dishes"), frozenset({FoodClass.DISH})),
    "pantry": (N_("From the pantry"), frozenset({FoodClass.PANTRY})),
}
_READINESS = {
    Readiness.READY: (N_("Ready to eat"), N_("ready to eat")),
    Readiness.RAW: (N_("Raw, to be cooked"), N_("raw, to be cooked")),
}
_SERVES = {
    Serves.ONE: (N_("For one"), N_("packages for one")),
    Serves.TWO: (N_("For two"), N_("packages for two")),
    Serves.FOUR: (N_("For four or more"), N_("packages for four or more")),
}
WITHOUT = {
    AllergenGroup.GLUTEN: N_("without gluten"),
    AllergenGroup.CRUSTACEANS: N_("without crustaceans"),
    AllergenGroup.EGGS: N_("without eggs"),
    AllergenGroup.FISH: N_("without fish"),
    AllergenGroup.PEANUTS: N_("without peanuts"),
    AllergenGroup.SOYBEANS: N_("without soybeans"),
    AllergenGroup.MILK: N_("without milk"),
    AllergenGroup.NUTS: N_("without nuts"),
    AllergenGroup.CELERY: N_("without celery"),
    AllergenGroup.MUSTARD: N_("without mustard"),
    AllergenGroup.SESAME: N_("without sesame"),
    AllergenGroup.SULPHITES: N_("without sulphites"),
    AllergenGroup.LUPIN: N_("without lupin"),
    AllergenGroup.MOLLUSCS: N_("without molluscs"),
}


T = TypeVar("T", Readiness, Serves)


@dataclass(frozen=True, slots=True)
class Option:
    """One thing to choose: its value in the address, its words, and whether it is chosen."""

    value: str
    words: str
    is_chosen: bool


@dataclass(frozen=True, slots=True)
class Question:
    """One question of the form, with its answers; the first of a list means any."""

    name: str
    words: str
    options: tuple[Option, ...]


@dataclass(frozen=True, slots=True)
class Chosen:
    """One choice in words, and the address of the list without it."""

    words: str
    href: str


def asked() -> Wanted:
    """What the address asks for; what it cannot mean counts as not chosen."""
    args = request.args
    place = args.get("place", "")
    is_number = place.isascii() and place.isdigit() and len(place) <= 18
    _words, foods = _KINDS.get(args.get("food", ""), ("", frozenset[FoodClass]()))
    return Wanted(
        place_id=int(place) if is_number else None,
        foods=foods,
        readiness=_known(Readiness, args.get("state", "")),
        serves=_known(Serves, args.get("serves", "")),
        without=frozenset(a for a in AllergenGroup if a.value in args.getlist("without")),
    )


def _known(kind: type[T], text: str) -> T | None:
    return kind(text) if text in set(kind) else None


def questions(found: EatFirst, wanted: Wanted) -> list[Question]:
    """The questions that have one answer of several; only what is on hand can be chosen."""
    places = [(str(number), name) for number, name in found.places]
    foods = [(key, _(words)) for key, (words, classes) in _KINDS.items() if classes & found.foods]
    states = [(key.value, _(words)) for key, (words, _short) in _READINESS.items()]
    sizes = [(key.value, _(words)) for key, (words, _short) in _SERVES.items()]
    return [
        _question("place", _("Place"), _("Every place"), places, str(wanted.place_id or "")),
        _question("food", _("Food"), _("Every food"), foods, _kind_of(wanted)),
        _question("state", _("Raw or ready"), _("Either"), states, wanted.readiness or ""),
        _question("serves", _("Package"), _("Any size"), sizes, wanted.serves or ""),
    ]


def _question(
    name: str, words: str, either: str, answers: Iterable[tuple[str, str]], chosen: str
) -> Question:
    options = [("", either), *answers]
    return Question(name, words, tuple(Option(v, w, v == chosen) for v, w in options))


def _kind_of(wanted: Wanted) -> str:
    return next((key for key, (_w, foods) in _KINDS.items() if foods == wanted.foods), "")


def allergens(wanted: Wanted) -> list[Option]:
    """The allergens to avoid, every one of the fourteen."""
    return [Option(a.value, _(a.value.capitalize()), a in wanted.without) for a in AllergenGroup]


def chosen(found: EatFirst, wanted: Wanted) -> list[Chosen]:
    """What is chosen, each with a way out of it."""
    return list(_chosen(found, wanted))


def _chosen(found: EatFirst, wanted: Wanted) -> Iterator[Chosen]:
    if wanted.place_id is not None:
        name = dict(found.places).get(wanted.place_id, _("a place with nothing in it"))
        yield Chosen(name, address(replace(wanted, place_id=None)))
    if wanted.foods:
        words = _(_KINDS[_kind_of(wanted)][0])
        yield Chosen(words, address(replace(wanted, foods=frozenset())))
    if wanted.readiness is not None:
        words = _(_READINESS[wanted.readiness][1])
        yield Chosen(words, address(replace(wanted, readiness=None)))
    if wanted.serves is not None:
        words = _(_SERVES[wanted.serves][1])
        yield Chosen(words, address(replace(wanted, serves=None)))
    for allergen in AllergenGroup:
        if allergen in wanted.without:
            others = replace(wanted, without=wanted.without - {allergen})
            yield Chosen(_(WITHOUT[allergen]), address(others))


def address(wanted: Wanted) -> str:
    """The list narrowed so: an address that can be kept."""
    pairs = [
        ("place", str(wanted.place_id or "")),
        ("food", _kind_of(wanted)),
        ("state", wanted.readiness or ""),
        ("serves", wanted.serves or ""),
        *(("without", a.value) for a in AllergenGroup if a in wanted.without),
    ]
    told = urlencode([(name, value) for name, value in pairs if value])
    return f"/?{told}" if told else "/"


def left_out_words(found: EatFirst) -> list[str]:
    """What the allergens to avoid leave out, and why: nobody's silence counts as safe."""
    said = []
    if found.with_allergen:
        said.append(
            ngettext(
                "{number} lot is left out: it contains or may contain what is to be avoided.",
                "{number} lots are left out: they contain or may contain what is to be avoided.",
                found.with_allergen,
            )
        )
    untold = len({line.lot_id for line in found.untold})
    if untold:
        said.append(
            ngettext(
                "{number} lot of which nobody wrote down every allergen counts as not free of it; "
                "it stands by itself at the end.",
                "{number} lots of which nobody wrote down every allergen count as not free of it; "
                "they stand by themselves at the end.",
                untold,
            )
        )
    return said
