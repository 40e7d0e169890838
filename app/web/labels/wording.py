"""What a label says: its fields, their order and weight, and which may be left out."""

from dataclasses import dataclass

from app.language import _, figures
from app.units import System, format_mass
from app.web.labels.typeface import BOLD, REGULAR, SEPARATOR, printable

# Least important first. Name, ON HOLD, RAW or cooked, code, allergens, dates and net weight
# always stay.
DROP_ORDER = ("household", "rehydrate_words", "storage_words", "absorber_words", "marks_words")


class IncompleteLabel(ValueError):
    """Words that no label may lack are missing; raw food also needs its cook target.

    Attributes: fields, their names.
    """

    def __init__(self, fields: list[str]) -> None:
        self.fields = fields
        super().__init__(_("missing on the label: {join}", join=", ".join(fields)))


@dataclass(frozen=True, slots=True)
class LabelText:
    """The words of one label, ready in the reader's language; "" leaves a line out.

    Every *_words is printed as it stands with a capital first letter, so it must be understood
    alone: "contains celery", "best before end 2041". cook_target belongs to raw food ("cook to
    74 °C (165 °F)"), cooked_words to food that is not raw. hold_words say why food is on
    hold, which is then printed above all else. kept_frozen asks for a sturdier code.
    """

    name: str
    is_raw: bool
    cook_target: str | None
    cooked_words: str
    code: str
    package_number: int
    package_count: int
    harvest_words: str
    packed_on: str
    window_words: str
    net_mass_mg: int
    storage_words: str
    rehydrate_words: str
    absorber_words: str
    allergens_words: str
    may_contain_words: str
    url: str
    household: str
    kept_frozen: bool = False
    hold_words: str = ""
    marks_words: str = ""


@dataclass(frozen=True, slots=True)
class Paragraph:
    """One field's words, their largest size relative to the body, their weight."""

    field: str
    text: str
    ratio: float
    weight: str = REGULAR


def paragraphs(text: LabelText) -> list[Paragraph]:
    """The words of a label from top to bottom, without code and count; raises IncompleteLabel."""
    _refuse_incomplete(text)
    state = text.cook_target or "" if text.is_raw else text.cooked_words
    allergens = ". ".join(
        _capital(words) for words in (text.allergens_words, text.may_contain_words) if words
    )
    dates = SEPARATOR.join(
        _capital(words)
        for words in (_("packed {day}", day=text.packed_on), text.harvest_words)
        if words
    )
    systems: tuple[System, ...] = ("metric", "us")
    grams, ounces = (figures(format_mass(text.net_mass_mg, one, True)) for one in systems)
    found = [
        Paragraph("name", text.name, 2.2, BOLD),
        Paragraph("hold", text.hold_words, 1.35, BOLD),
        Paragraph("raw" if text.is_raw else "cooked_words", state, 1.35, BOLD),
        Paragraph("allergens_words", allergens, 1.0, BOLD),
        Paragraph("marks_words", text.marks_words, 1.0, BOLD),
        Paragraph("window_words", text.window_words, 1.35, BOLD),
        Paragraph("storage_words", text.storage_words, 1.0),
        Paragraph("dates", dates, 1.0),
        Paragraph("net_mass_mg", _("net {mass}", mass=f"{grams}{SEPARATOR}{ounces}"), 1.2, BOLD),
        Paragraph("rehydrate_words", text.rehydrate_words, 1.0),
        Paragraph("absorber_words", text.absorber_words, 1.0),
        Paragraph("household", text.household, 1.0),
    ]
    return [
        Paragraph(p.field, _capital(printable(p.text)), p.ratio, p.weight)
        for p in found
        if p.text.strip()
    ]


def _refuse_incomplete(text: LabelText) -> None:
    needed = ["name", "code", "packed_on", "window_words", "url"]
    needed += ["cook_target"] if text.is_raw else ["cooked_words"]
    if missing := [field for field in needed if not (getattr(text, field) or "").strip()]:
        raise IncompleteLabel(missing)


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]
