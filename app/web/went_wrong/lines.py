"""The lines of the second step: each food with what the rules say, grouped by what is proposed."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from app.language import _
from app.ledger.queries.what_it_means import Meaning
from app.ledger.words import IncidentFate
from app.web.display import state_words, temperature
from app.web.messages import day
from app.web.said import said
from app.web.went_wrong.forms import ToldForm
from app.web.went_wrong.words import GROUPS, OUTCOMES, hours_words


@dataclass(frozen=True, slots=True)
class Said:
    """One rule's verdict in words."""

    word: str
    sentence: str
    rule: str
    source: str


@dataclass(frozen=True, slots=True)
class FateLine:
    """One food: what it is, what was seen, what the rules say, and the form of the decision."""

    name: str
    code: str
    is_raw: bool
    state: str
    known: str
    said: tuple[Said, ...]
    row: Any
    is_stopped: bool


@dataclass(frozen=True, slots=True)
class Group:
    """The foods for which the same is proposed."""

    fate: IncidentFate
    heading: str
    lines: tuple[FateLine, ...]


def groups_of(form: ToldForm, found: Sequence[Meaning]) -> list[Group]:
    """What cannot wait stands first."""
    groups = []
    for fate, heading in GROUPS.items():
        lines = tuple(_line(form, m) for m in found if m.fate is fate)
        if lines:
            groups.append(Group(fate, f"{_(heading)}: {len(lines)}", lines))
    return groups


def sources_of(groups: Sequence[Group]) -> list[tuple[str, str]]:
    """The rules that spoke and where they stand, each once: a page may list 200 foods."""
    said = [said for group in groups for line in group.lines for said in line.said]
    return list(dict.fromkeys((one.rule, one.source) for one in said))


def _line(form: ToldForm, meaning: Meaning) -> FateLine:
    line = meaning.line
    return FateLine(
        name=line.name,
        code=line.code,
        is_raw=line.is_raw,
        state=f"{state_words(line)}, {line.place}",
        known=_known(meaning),
        said=_said(meaning),
        row=form.row(str(line.ref)),
        is_stopped=meaning.is_stopped,
    )


def _said(meaning: Meaning) -> tuple[Said, ...]:
    """Every verdict; a row of a published table names the table, not the rule that reads it."""
    sources = [verdict.source_text for verdict in meaning.verdicts]
    if meaning.table:
        sources[0] = meaning.table
    return tuple(
        Said(_(OUTCOMES[verdict.outcome]), said(verdict.sentence), verdict.id, said(source))
        for verdict, source in zip(meaning.verdicts, sources, strict=True)
    )


def _known(meaning: Meaning) -> str:
    """What the rules had to go by, in a few words."""
    parts = []
    if meaning.is_icy is not None:
        parts.append(_("ice in it, and cold") if meaning.is_icy else _("thawed"))
    if meaning.warm_hours is not None:
        parts.append(_("{hours_words} in the warm", hours_words=hours_words(meaning.warm_hours)))
    if meaning.temp_c is not None:
        parts.append(
            _(
                "at most {temperature}",
                temperature=temperature(meaning.temp_c),
            )
        )
    if meaning.since is not None:
        parts.append(_("since {day}", day=day(meaning.since)))
    words = ", ".join(parts)
    return f"{words[:1].upper()}{words[1:]}." if words else ""
