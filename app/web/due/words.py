"""What is due, in words, and the way to have it done."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from app.language import N_, _, ngettext
from app.ledger.codes import spoken
from app.ledger.queries.due import Due, DueKind
from app.web.display import moment, temperature
from app.web.messages import day, told

TITLES = {
    DueKind.SEAL: N_("Look at the seals"),
    DueKind.LOOK: N_("Yearly look"),
    DueKind.THERMOMETER: N_("Read the thermometer"),
    DueKind.TRAY: N_("Weigh again"),
    DueKind.RESULT: N_("Test result"),
    DueKind.HOLD: N_("Look at it first"),
}
DONE_BY = {DueKind.SEAL: N_("All tight"), DueKind.LOOK: N_("Looks fine")}


@dataclass(frozen=True, slots=True)
class DueLine:
    """One line of what is due: a sentence, and the button or the page that has it done."""

    key: str
    title: str
    subject: str
    href: str
    sentence: str
    when: str
    is_overdue: bool
    done_by: str | None  # the button that writes it in one tap
    is_read: bool  # asks for a temperature
    last: str  # the temperature read before
    wrong: str | None  # where something that is wrong is told
    step: tuple[str, str] | None  # words and address of the page where it is done


def due_line(item: Due, today: date) -> DueLine:
    """A look as a line of a list."""
    return DueLine(
        key=item.key,
        title=_(TITLES[item.kind]),
        subject=subject_of(item),
        href=_href(item),
        sentence=sentence_of(item),
        when=_when(item, today),
        is_overdue=item.is_overdue,
        done_by=_(DONE_BY[item.kind]) if item.kind in DONE_BY else None,
        is_read=item.kind is DueKind.THERMOMETER,
        last="" if item.last_c is None else temperature(item.last_c),
        wrong=_wrong(item),
        step=step_of(item),
    )


def subject_of(item: Due) -> str:
    """What it is about: the lot with its code, or the place."""
    return item.subject if item.code is None else f"{item.subject}, {spoken(item.code)}"


def sentence_of(item: Due) -> str:
    """What is to be looked at, in a sentence or two."""
    return _SENTENCES[item.kind](item)


def trays_words(numbers: Sequence[int]) -> str:
    """Trays by their numbers: "tray 2", "trays 1, 2 and 4"."""
    *others, last = map(str, numbers)
    return (
        _("trays {join} and {last}", join=", ".join(others), last=last)
        if others
        else _("tray {number}", number=last)
    )


def step_of(item: Due) -> tuple[str, str] | None:
    """The page where it is done, for what needs more than a tap."""
    if item.kind is DueKind.TRAY:
        return _("Weigh"), f"/runs/{item.number}?tray={item.trays[0] if item.trays else 1}"
    if item.kind is DueKind.RESULT:
        return _("Write the result"), f"/holds/{item.number}/result"
    if item.kind is DueKind.HOLD:
        return _("See what is held"), "/holds"
    return None


def _seal(item: Due) -> str:
    if item.pack_count == 1:
        return _("1 pack{where}: is it drawn tight, or its lid down?", where=_where(item))
    return _(
        "{pack_count} packs{where}: is each drawn tight, or its lid down?",
        pack_count=item.pack_count,
        where=_where(item),
    )


def _look(item: Due) -> str:
    packs = ngettext("{number} pack", "{number} packs", item.pack_count)
    return _(
        "{packs}{where}: not looked at since {since}. Still tight and dry, of good "
        "colour, no sign of pests?",
        packs=packs,
        where=_where(item),
        since=day(item.since),
    )


def _thermometer(item: Due) -> str:
    if item.last_c is None:
        return _("Not read yet; food has lain there since {since}.", since=day(item.since))
    return _(
        "Last read {since}: {temperature}.",
        since=day(item.since),
        temperature=temperature(item.last_c),
    )


def _tray(item: Due) -> str:
    at = (
        ""
        if item.due_at is None
        else _(" From {moment} on that tells something new.", moment=moment(item.due_at))
    )
    return _("Weigh {trays_words} again.{at}", trays_words=trays_words(item.trays), at=at)


def _result(item: Due) -> str:
    words = told(item.words)
    about = f" ({words})" if words else ""
    return _(
        "On hold since {since} for a test{about}. Is the result there? If not, ask "
        "for it; until then it stays on hold.",
        since=day(item.since),
        about=about,
    )


def _hold(item: Due) -> str:
    words = told(item.words)
    about = f" ({words})" if words else ""
    return _(
        "On hold since {since} until somebody has looked at it{about}.",
        since=day(item.since),
        about=about,
    )


_SENTENCES = {
    DueKind.SEAL: _seal,
    DueKind.LOOK: _look,
    DueKind.THERMOMETER: _thermometer,
    DueKind.TRAY: _tray,
    DueKind.RESULT: _result,
    DueKind.HOLD: _hold,
}


def _where(item: Due) -> str:
    return f", {item.place}" if item.place else _(" at several places")


def _when(item: Due, today: date) -> str:
    if item.is_overdue:
        return _("Overdue since {due_on}", due_on=day(item.due_on))
    if item.is_due:
        return _("Due today")
    days = (item.due_on - today).days
    if days == 0:
        return _("Due later today")
    return _("Due tomorrow") if days == 1 else _("Due {due_on}", due_on=day(item.due_on))


def _href(item: Due) -> str:
    if item.kind is DueKind.THERMOMETER:
        return f"/places/{item.number}"
    if item.kind is DueKind.TRAY:
        return f"/runs/{item.number}"
    return f"/lots/{item.code}"


def _wrong(item: Due) -> str | None:
    if item.kind is DueKind.SEAL:
        return f"/went-wrong/seal_failed?lot={item.code}"
    if item.kind is DueKind.LOOK:
        return f"/went-wrong/worn?lot={item.code}"
    if item.kind is DueKind.THERMOMETER:
        return f"/went-wrong/power_out?place={item.number}"
    return None
