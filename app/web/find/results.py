"""What a search finds, in groups, each result a link with one line of words."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from urllib.parse import urlencode

from sqlalchemy.orm import Session

from app.language import N_, _, ngettext
from app.ledger.codes import code_of, spoken
from app.ledger.queries.next_steps import next_steps
from app.ledger.queries.places import PlaceLine
from app.ledger.queries.search import (
    MOST_GONE,
    LotFound,
    SourceFound,
    Term,
    Wanted,
    lines_found,
    lots_gone,
    lots_in_short,
    lots_of,
    meant_by,
    packages_found,
    places_found,
    sources_found,
)
from app.ledger.queries.stock import StockLine, stock_lines
from app.ledger.words import OperationKind, SourceKind
from app.science.foods import Food
from app.web.display import amount_words, mass, step_href
from app.web.find.asked import Asked
from app.web.find.pages import PageLine, pages_found
from app.web.messages import day
from app.web.table_of_foods import food_words, foods_by_words

MOST = 8  # links of a group on the page
MOST_AHEAD = 5  # of a group while somebody types: our judgement, a list that fits above a keyboard

_SOURCE_KINDS = {
    SourceKind.ANIMAL: N_("An animal"),
    SourceKind.PLOT: N_("A plot or a water"),
    SourceKind.SHOP: N_("A shop"),
    SourceKind.GIFT: N_("A gift"),
    SourceKind.UNKNOWN: N_("Where from is not known"),
}


@dataclass(frozen=True, slots=True)
class Link:
    """One result: where it leads, what it is, and one line about it."""

    href: str
    text: str
    words: str


@dataclass(frozen=True, slots=True)
class Group:
    """Results of one kind."""

    id: str
    title: str
    links: tuple[Link, ...]


@dataclass(frozen=True, slots=True)
class Found:
    """Everything a search found: lots on hand as lines, all else as links; and what is to say."""

    asked: Asked
    lines: list[StockLine]
    groups: list[Group]
    meant: list[LotFound]  # proposals for a code that is none
    said: list[str]
    opens: str = ""  # the address of the one lot that was meant without doubt

    @property
    def is_empty(self) -> bool:
        """Was nothing found?"""
        return not (self.lines or self.groups or self.meant)


def found(session: Session, asked: Asked) -> Found:
    """Everything that answers to what was asked, for the page."""
    wanted = asked.wanted
    lines: list[StockLine] = []
    groups: list[Group] = []
    if not wanted.is_empty:
        lines = lines_found(session, wanted) if wanted.number is None else []
        groups = [
            _group("packages", _packages(session, asked)),
            *_others(session, asked, MOST),
            _group("gone", map(_lot_link, _gone(session, wanted))),
        ]
    return _put_together(session, asked, lines, groups)


def ahead(session: Session, asked: Asked) -> Found:
    """The same in short, while somebody is still typing: lots as links too."""
    wanted = asked.wanted
    groups: list[Group] = []
    if not wanted.is_empty:
        lots = lots_in_short(session, wanted, MOST_AHEAD) if wanted.number is None else []
        groups = [
            _group("lots", (_ahead_link(session, lot, asked.step) for lot in lots)),
            _group("packages", _packages(session, asked)[:MOST_AHEAD]),
            *_others(session, asked, MOST_AHEAD),
        ]
    return _put_together(session, asked, [], groups)


def _put_together(
    session: Session, asked: Asked, lines: list[StockLine], groups: list[Group]
) -> Found:
    kept = [group for group in groups if group.links]
    meant = _meant(session, asked, is_found=bool(lines or kept))
    return Found(asked, lines, kept, meant, _said(asked), _opens(session, asked))


def meant_link(lot: LotFound) -> Link:
    """A lot proposed for a code that is none."""
    return _lot_link(lot)


def _others(session: Session, asked: Asked, most: int) -> list[Group]:
    """Places, sources, foods and pages; a code or a day is none of these, nor an entry's lot."""
    wanted = asked.wanted
    typed = [term.typed for term in wanted.terms]
    if not typed or asked.step is not None:
        return []
    places, sources = places_found(session, wanted), sources_found(session, wanted, most)
    foods = foods_by_words(" ".join(typed), most) if wanted.days is None else []
    pages = pages_found(typed, most, with_guesses=not (places or sources))
    return [
        _group("places", map(_place_link, places[:most])),
        _group("sources", map(_source_link, sources)),
        _group("foods", map(_food_link, foods)),
        _group("pages", map(_page_link, pages)),
    ]


_TITLES = {
    "lots": N_("Lots"),
    "packages": N_("Packages"),
    "places": N_("Places"),
    "sources": N_("Sources"),
    "foods": N_("Foods of the table, to take in"),
    "pages": N_("Pages"),
    "gone": N_("Lots of which nothing is left"),
}


def _group(word: str, links: Iterable[Link]) -> Group:
    return Group(word, _(_TITLES[word]), tuple(links))


def _meant(session: Session, asked: Asked, *, is_found: bool) -> list[LotFound]:
    """The lots a code may have meant that is none; a word that found something is no code."""
    if asked.also is not None:
        return lots_of(session, [asked.also])
    if not asked.code or asked.wanted.lot_id is not None or (is_found and asked.may_be_word):
        return []
    return meant_by(session, asked.code)


def _opens(session: Session, asked: Asked) -> str:
    """A whole code leads to its lot, or to the entry it is looked for if there is only one way."""
    wanted = asked.wanted
    if wanted.lot_id is None or wanted.number is not None:
        return ""
    lines = _fitting(session, wanted.lot_id, asked.step)
    if len(lines) > 1:
        return ""
    return line_href(lines[0], asked.step) if lines else f"/lots/{code_of(wanted.lot_id)}"


def line_href(line: StockLine, step: OperationKind | None) -> str:
    """The page of the lot, or the entry for it where that makes sense."""
    fits = step is not None and step in next_steps(line)
    return step_href(step, line) if step and fits else f"/lots/{line.code}"


def _fitting(session: Session, lot_id: int, step: OperationKind | None) -> list[StockLine]:
    """What is on hand of a lot that the entry can be written for."""
    if step is None:
        return []
    return [line for line in stock_lines(session, lot_id=lot_id) if step in next_steps(line)]


def _gone(session: Session, wanted: Wanted) -> list[LotFound]:
    if wanted.number is not None:
        return []
    return lots_gone(session, wanted, MOST_GONE)


def _said(asked: Asked) -> list[str]:
    """What there is to say about how the text was taken."""
    said = [_instead(term) for term in asked.wanted.terms if term.is_guess]
    if asked.wanted.days is not None:
        said.append(_dated(*asked.wanted.days))
    if asked.is_foreign:
        said.append(_("This is an address, and not that of a label. It is not opened."))
    return said


def _instead(term: Term) -> str:
    if len(term.either) == 1:
        return _(
            "Nothing here is called “{typed}”. This is what “{meant}” finds.",
            typed=term.typed,
            meant=term.either[0],
        )
    return _(
        "Nothing here is called “{typed}”. This is what any of these finds: {meant}.",
        typed=term.typed,
        meant=", ".join(term.either),
    )


def _dated(first: date, last: date) -> str:
    if first == last:
        return _("Harvested, made or packed on {day}.", day=day(first))
    return _("Harvested, made or packed from {first} to {last}.", first=day(first), last=day(last))


def _packages(session: Session, asked: Asked) -> list[Link]:
    lines = packages_found(session, asked.wanted)[:MOST_GONE]
    return [_package_link(line, asked.step) for line in lines]


def _package_link(line: StockLine, step: OperationKind | None) -> Link:
    text = _("{name}, {code}", name=line.name, code=spoken(line.code))
    return Link(line_href(line, step), text, _amount_and_place(line))


def _amount_and_place(line: StockLine) -> str:
    return _("{amount}. {place}.", amount=amount_words(line), place=line.place)


def _ahead_link(session: Session, lot: LotFound, step: OperationKind | None) -> Link:
    lines = stock_lines(session, lot_id=lot.id) if lot.is_on_hand else []
    if not lines:
        return _lot_link(lot)
    fitting = _fitting(session, lot.id, step)
    href = line_href(fitting[0] if fitting else lines[0], step)
    if len(fitting) > 1:  # here and there, or opened and sealed: the page asks which
        href = f"/find?{urlencode({'q': code_of(lot.id), 'for': step})}"
    return Link(href, _lot_name(lot), _amount_and_place(lines[0]))


def _lot_name(lot: LotFound) -> str:
    return _("{name}, {code}", name=lot.name, code=spoken(code_of(lot.id)))


def _lot_link(lot: LotFound) -> Link:
    if lot.is_on_hand:
        words = _("Made or taken in on {day}; on hand.", day=day(lot.made_on))
    else:
        words = _("Made or taken in on {day}; nothing is left.", day=day(lot.made_on))
    return Link(f"/lots/{code_of(lot.id)}", _lot_name(lot), words)


def _place_link(line: PlaceLine) -> Link:
    words = _("Nothing lies there.")
    if line.lot_count:
        lots = ngettext("{number} lot", "{number} lots", line.lot_count)
        words = _("{lots}, {mass}.", lots=lots, mass=mass(line.mass_mg))
    return Link(f"/places/{line.place.id}", line.place.name, words)


def _source_link(source: SourceFound) -> Link:
    name = source.name or source.from_whom or _("not known")
    kind = _(_SOURCE_KINDS[source.kind])
    words = _("{kind}.", kind=kind)
    if source.tag and source.from_whom:
        words = _(
            "{kind}, tag {tag}, from {whom}.", kind=kind, tag=source.tag, whom=source.from_whom
        )
    elif source.tag:
        words = _("{kind}, tag {tag}.", kind=kind, tag=source.tag)
    elif source.from_whom:
        words = _("{kind}, from {whom}.", kind=kind, whom=source.from_whom)
    return Link(f"/sources/{source.id}", name, words)


def _food_link(food: Food) -> Link:
    return Link(
        f"/write/intake?{urlencode({'food': food_words(food)})}",
        _(food.name),
        _("Number {number} of the table of foods.", number=food.ndb_no),
    )


def _page_link(page: PageLine) -> Link:
    return Link(page.href, page.label, page.words)
