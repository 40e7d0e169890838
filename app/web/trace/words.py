"""Where food came from and what became of it, in words."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from app.language import N_, _, figures, ngettext
from app.ledger.codes import spoken
from app.ledger.queries.whole_way import Beginning, End
from app.ledger.words import AdditionKind, LossKind, SourceKind
from app.web.display import addition_words, loss_words, mass, percent, told_words

SOURCE_KINDS = {
    SourceKind.ANIMAL: N_("Animals"),
    SourceKind.PLOT: N_("Plots and waters"),
    SourceKind.SHOP: N_("Shops"),
    SourceKind.GIFT: N_("Gifts"),
    SourceKind.UNKNOWN: N_("Not known"),
}
_FATES = {LossKind.EATEN: "eaten", LossKind.GIVEN: "given", LossKind.DISCARDED: "discarded"}


@dataclass(frozen=True, slots=True)
class Share:
    """One side's part of the mass: what it is, how much, and how it is drawn."""

    words: str
    mass_mg: int
    look: str


@dataclass(frozen=True, slots=True)
class Lying:
    """Food of one lot at one place; `numbers` are its packages."""

    code: str
    name: str
    place: str
    numbers: tuple[int, ...]
    mass_mg: int
    is_held: bool


def source_words(name: str, tag: str, from_whom: str) -> str:
    """A source: "moose, tag A-117, from the hunting team"."""
    tagged = _("tag {tag}", tag=tag) if tag else ""
    given = _("from {person}", person=from_whom) if from_whom else ""
    words = [name, tagged, given]
    return ", ".join(word for word in words if word)


def beginning_words(beginning: Beginning) -> str:
    """Where a part of the mass came from."""
    if beginning.kind is not AdditionKind.INTAKE:
        words = addition_words(beginning.kind)
        return f"{words}: {beginning.words}" if beginning.words else words
    words = source_words(beginning.source, beginning.tag, beginning.from_whom)
    return words or _("{name}, source not known", name=beginning.name)


def end_words(end: End) -> str:
    """What became of a part of the mass, in a few words; the place and the lot stand apart."""
    if end.kind is None:
        return _("on hand")
    words = told_words(end.words)
    if end.kind is LossKind.GIVEN:
        return _("given to {words}", words=words) if words else _("given away")
    return loss_words(end.kind)


def beginnings(found: Iterable[Beginning]) -> list[Share]:
    """The left side of the picture: one part for each source and for what was added."""
    looks = {AdditionKind.INTAKE: "source"}
    return _summed(
        (beginning_words(b), looks.get(AdditionKind(b.kind), "added"), b.mass_mg) for b in found
    )


def ends(found: Iterable[End]) -> list[Share]:
    """The right side: on hand by lot and place, then who ate it or got it, and what was lost."""
    return _summed(
        (
            _lying_words(end) if end.kind is None else end_words(end),
            "on-hand" if end.kind is None else _FATES.get(end.kind, "lost"),
            end.mass_mg,
        )
        for end in sorted(found, key=_rank)
    )


def _rank(end: End) -> int:
    """What is on hand stands first, then what was eaten, given and discarded, then losses."""
    return 0 if end.kind is None else [*_FATES, end.kind].index(end.kind) + 1


def _lying_words(end: End) -> str:
    held = _("on hold") if end.is_held else _("on hand")
    return f"{end.name}, {spoken(end.code)}, {held}, {end.words}"


def _summed(parts: Iterable[tuple[str, str, int]]) -> list[Share]:
    sums: dict[tuple[str, str], int] = {}
    for words, look, mass_mg in parts:
        sums[words, look] = sums.get((words, look), 0) + mass_mg
    return [Share(words, mass_mg, look) for (words, look), mass_mg in sums.items()]


def lying(found: Iterable[End]) -> list[Lying]:
    """What is on hand, each lot at each place in one line with the numbers of its packages."""
    groups: dict[tuple[str, str], list[End]] = {}
    for end in found:
        if end.kind is None:
            groups.setdefault((end.code, end.words), []).append(end)
    return [
        Lying(
            code,
            group[0].name,
            place,
            tuple(end.number for end in group if end.number),
            sum(end.mass_mg for end in group),
            group[0].is_held,
        )
        for (code, place), group in groups.items()
    ]


def balance_words(sums: Mapping[LossKind | None, int], mass_mg: int) -> str:
    """The sum before the reader's eyes, to the milligram."""
    if not sums:
        return ""
    here = _("on hand")
    parts = [f"{_grams(mg)} {loss_words(k) if k else here}" for k, mg in sums.items()]
    return f"{' + '.join(parts)} = {_grams(mass_mg)}"


def _grams(mass_mg: int) -> str:
    grams = f"{mass_mg // 1000}.{mass_mg % 1000:03d}".removesuffix(".000")
    return f"{figures(grams)} g"


def picture_words(
    name: str, mass_mg: int, left: Sequence[Share], right: Sequence[Share], most: int = 8
) -> str:
    """The picture said in words, for whoever does not see it."""
    if not mass_mg:
        return _(
            "{name}: no mass stands behind it; the entry that made it was taken back.", name=name
        )
    return _(
        "{mass} of {name}. It came from: {side}. What became of it: {side_2}.",
        mass=mass(mass_mg),
        name=name,
        side=_side(left, mass_mg, most),
        side_2=_side(right, mass_mg, most),
    )


def _side(parts: Sequence[Share], mass_mg: int, most: int) -> str:
    largest = sorted(parts, key=lambda part: -part.mass_mg)
    said = [
        f"{p.words}, {mass(p.mass_mg)} ({percent(p.mass_mg / mass_mg)})" for p in largest[:most]
    ]
    rest = largest[most:]
    if rest:
        said.append(
            _(
                "and {others}, {sum}",
                others=others(len(rest)),
                sum=mass(sum(part.mass_mg for part in rest)),
            )
        )
    return "; ".join(said)


def others(count: int) -> str:
    """What is gathered into one: "12 others"."""
    return ngettext("{number} other", "{number} others", count)
