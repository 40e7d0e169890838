"""The pages of the app, by their names and by other words for what is done there."""

from collections.abc import Sequence
from typing import NamedTuple

from app.language import N_, _, cached_by_language
from app.ledger.spelling import folded, nearest, words_of


class PageLine(NamedTuple):
    """A page: where it is, what it is called, what is done there; and what else people call it."""

    href: str
    label: str
    words: str
    also: str


_PAGES = (
    PageLine("/", N_("Eat first"), N_("What ends first, and what to do with it"), N_("home today")),
    PageLine("/bench", N_("Bench"), N_("Work in progress and its next step"), N_("thawing drying")),
    PageLine("/lots", N_("Lots"), N_("Everything on hand"), N_("stock list inventory")),
    PageLine("/places", N_("Places"), N_("What lies where, and how warm it is"), N_("storage")),
    PageLine(
        "/season",
        N_("Season"),
        N_("The year in pictures, and what comes"),
        N_("year months stock forecast calendar rate harvest"),
    ),
    PageLine("/due", N_("Due"), N_("What is to be looked at, and when"), N_("checks reminders")),
    PageLine("/scan", N_("Scan a label"), N_("With the camera of this device"), N_("camera code")),
    PageLine("/write", N_("Write an entry"), N_("Every step that can be written"), N_("new log")),
    PageLine(
        "/write/intake",
        N_("Take in"),
        N_("A harvest, a purchase or a gift"),
        N_("intake harvest bought buy purchase gift add"),
    ),
    PageLine(
        "/write/first-day",
        N_("What is there already"),
        N_("Many packets at once, when the ledger is new"),
        N_("start first import freezer"),
    ),
    PageLine("/write/thaw", N_("Thaw"), N_("From the freezer, in the refrigerator"), N_("defrost")),
    PageLine("/write/trim", N_("Trim"), N_("Cut away what is not kept"), N_("cut bone")),
    PageLine("/write/grind", N_("Grind"), N_("One lot or several, together"), N_("mince")),
    PageLine("/write/blend", N_("Blend"), N_("Work in fat, to the content wanted"), N_("mix fat")),
    PageLine(
        "/write/mix",
        N_("Blend several"),
        N_("Three lots or more to a fat, water or protein wanted"),
        N_("mix recipe sausage seasoning"),
    ),
    PageLine("/write/portion", N_("Split off"), N_("Part of a lot goes another way"), N_("divide")),
    PageLine("/write/cook", N_("Cook"), N_("Simmer, roast, steam or boil down"), N_("boil fry")),
    PageLine("/write/chill", N_("Chill"), N_("Cooked food into the cold"), N_("cool")),
    PageLine("/write/skim", N_("Skim"), N_("Lift off the fat that has set"), N_("fat")),
    PageLine("/write/drain", N_("Drain"), N_("Food and broth become two lots"), N_("broth strain")),
    PageLine("/write/blanch", N_("Blanch"), N_("Scald garden produce"), N_("scald")),
    PageLine("/write/load", N_("Load the dryer"), N_("Tray by tray"), N_("dry dehydrate trays")),
    PageLine(
        "/write/pack",
        N_("Pack"),
        N_("Into pouches, bags or jars"),
        N_("seal bag jar pouch vacuum absorber"),
    ),
    PageLine("/write/move", N_("Move"), N_("To another place"), N_("put away carry")),
    PageLine("/write/open", N_("Open"), N_("Break a seal"), N_("seal")),
    PageLine("/write/measure", N_("Measure"), N_("Water, fat or a nutrition panel"), N_("test")),
    PageLine("/write/eat", N_("Eat"), N_("Off the shelf and onto the table"), N_("use dinner")),
    PageLine("/write/give", N_("Give"), N_("To a neighbour, with a name"), N_("gift")),
    PageLine("/write/discard", N_("Discard"), N_("Thrown away, with the reason"), N_("waste bin")),
    PageLine(
        "/places",
        N_("Take stock"),
        N_("Choose the place, then walk it and compare it with the ledger"),
        N_("stocktake count inventory"),
    ),
    PageLine("/write/trial", N_("Rehydration trial"), N_("Two soakings side by side"), N_("soak")),
    PageLine(
        "/went-wrong",
        N_("Something went wrong"),
        N_("Power out, thawed, left out, a seal failed"),
        N_("outage incident accident broken door"),
    ),
    PageLine("/holds", N_("On hold"), N_("What is not to be eaten for now"), N_("recall release")),
    PageLine("/labels", N_("Labels"), N_("Print them, one or many"), N_("print sticker code")),
    PageLine("/sources", N_("Sources"), N_("Each animal, plot and shop"), N_("animal plot shop")),
    PageLine("/history", N_("History"), N_("Every entry, and who wrote it"), N_("undo correct")),
    PageLine("/papers", N_("Papers"), N_("To read, to print, to check"), N_("documents")),
    PageLine(
        "/papers/foretell",
        N_("Foretell"),
        N_("Cooling, freezing, drying, oxygen and water, beforehand"),
        N_("calculate predict estimate"),
    ),
    PageLine("/papers/cautions", N_("Cautions"), N_("Every safety rule"), N_("safety rules")),
    PageLine("/papers/not-covered", N_("Not covered"), N_("Which guide to use"), N_("canning")),
    PageLine("/papers/numbers", N_("Numbers"), N_("Every number and its source"), N_("sources")),
    PageLine("/papers/trials", N_("Trials"), N_("Soakings compared"), N_("soak")),
    PageLine("/papers/guide", N_("Guide"), N_("One page to hang up"), N_("help")),
    PageLine(
        "/household",
        N_("Household"),
        N_("People, bowls, packages, units"),
        N_("settings person bowl tare package absorber units backup"),
    ),
    PageLine("/household/devices", N_("Devices"), N_("Tablets that may write"), N_("pair tablet")),
)  # fmt: skip


def pages_found(typed: Sequence[str], most: int, *, with_guesses: bool) -> list[PageLine]:
    """The pages in whose names each of the words begins one; in the reader's language.

    Args:
        typed: the words. with_guesses: where none fits, also by what is nearest to the words.
    """
    wanted = [word for text in typed for word in words_of(text)]
    known = _known()
    if with_guesses:
        every = [word for words, _page in known for word in words]
        wanted = [
            word if any(have.startswith(word) for have in every) else _nearest(word, every)
            for word in wanted
        ]
    found = [
        (words, page)
        for words, page in known
        if wanted and all(any(have.startswith(w) for have in words) for w in wanted)
    ]
    found.sort(key=lambda pair: not folded(pair[1].label).startswith(wanted[0]))
    return [page for _words, page in found[:most]]


def _nearest(word: str, every: Sequence[str]) -> str:
    return next(iter(nearest(word, every)), word)


@cached_by_language(maxsize=8)
def _known() -> tuple[tuple[frozenset[str], PageLine], ...]:
    """Each page with its words, in the reader's language."""
    told = (PageLine(p.href, _(p.label), _(p.words), _(p.also)) for p in _PAGES)
    return tuple((frozenset(words_of(f"{p.label} {p.also}")), p) for p in told)
