"""The page of one thing that went wrong, to look back at or to hand on."""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from sqlalchemy.orm import Session

from app.language import N_, _
from app.ledger.models import Checkpoint
from app.ledger.queries.about import FateTold, IncidentTold
from app.ledger.queries.at_place import discarded_by
from app.ledger.queries.history import OperationLine
from app.ledger.queries.stock import StockLine, stock_lines
from app.ledger.words import IncidentFate, IncidentKind, OperationKind, PlaceKind
from app.science.safety.catalogue import BY_ID
from app.science.sources import Evidence
from app.web import scope
from app.web.display import Action, package_words, step_href
from app.web.history.words import fate_words, incident_words
from app.web.papers.numbers import evidence_alone
from app.web.said import said
from app.web.went_wrong.words import KINDS, OUTCOMES

_NOW = {
    OperationKind.COOK: N_("Cook it now"),
    OperationKind.EAT: N_("Eat it now"),
    OperationKind.THAW: N_("Thaw it now"),
}


@dataclass(frozen=True, slots=True)
class RuleLine:
    """A rule that was asked: its verdict, and the reason for deciding otherwise."""

    word: str
    sentence: str
    rule: str
    version: str
    reason: str

    @property
    def source(self) -> str:
        """Where the rule stands."""
        known = BY_ID.get(self.rule)
        if known is None or known.source is None:
            return evidence_alone(Evidence.JUDGEMENT)
        named = "; ".join(map(str, (known.source, *known.others)))
        return f"{named} ({_(known.evidence.value)})"


@dataclass(frozen=True, slots=True)
class IncidentLine:
    """One lot, or packages of it that fared alike."""

    code: str
    name: str
    packages: str
    words: str
    mass_mg: int  # what was discarded of it, else 0
    rules: tuple[RuleLine, ...]
    step: Action | None


@dataclass(frozen=True, slots=True)
class IncidentView:
    """What went wrong, and what became of each food."""

    title: str
    words: str
    household: str
    lines: tuple[IncidentLine, ...]
    discarded_mg: int
    again: str  # the address that tells the same of another place, or ""

    @property
    def sources(self) -> list[tuple[str, str]]:
        """The rules that were asked, with version and source, each once."""
        rules = [rule for line in self.lines for rule in line.rules]
        return list(
            dict.fromkeys(
                (_("{rule}, version {version}", rule=r.rule, version=r.version), r.source)
                for r in rules
            )
        )


def incident_view(session: Session, op: OperationLine, told: IncidentTold) -> IncidentView:
    """Everything the page shows."""
    rules: dict[int | None, list[Checkpoint]] = defaultdict(list)
    for checkpoint in op.checkpoints:
        rules[checkpoint.lot_id].append(checkpoint)
    on_hand = _on_hand(session) if op.reversed_by is None else {}
    masses = discarded_by(session, op.id)
    known = scope.household()
    return IncidentView(
        title=_(KINDS[told.kind].title),
        words=incident_words(told),
        household=known.name if known else "",
        lines=tuple(
            _line(fates, rules[fates[0].lot_id], on_hand.get(fates[0].lot_id), masses)
            for fates in _alike(told)
        ),
        discarded_mg=sum(masses.values()),
        again=_again(told),
    )


def _alike(told: IncidentTold) -> list[list[FateTold]]:
    """Packages of one lot with the same fate and findings stand on one line."""
    found: dict[object, list[FateTold]] = defaultdict(list)
    for fate in told.fates:
        found[(fate.lot_id, fate_words(fate))].append(fate)
    return list(found.values())


def _line(
    fates: list[FateTold],
    rules: list[Checkpoint],
    on_hand: StockLine | None,
    masses: Mapping[int, int],
) -> IncidentLine:
    first = fates[0]
    numbers = ", ".join(package_words(fate.package) for fate in fates if fate.package)
    return IncidentLine(
        code=first.code,
        name=first.name,
        packages=_("no. {number}", number=numbers) if numbers else "",
        words=fate_words(first),
        mass_mg=masses.get(first.lot_id, 0) if first.fate is IncidentFate.DISCARD else 0,
        rules=tuple(dict.fromkeys(_rule(checkpoint) for checkpoint in rules)),
        step=_step(first.fate, on_hand) if on_hand else None,
    )


def _rule(checkpoint: Checkpoint) -> RuleLine:
    return RuleLine(
        _(OUTCOMES.get(checkpoint.outcome, "")),
        said(checkpoint.sentence),
        checkpoint.rule,
        checkpoint.rule_version,
        checkpoint.reason,
    )


def _step(fate: IncidentFate, line: StockLine) -> Action | None:
    """What comes next for food that cannot wait."""
    if fate is IncidentFate.LOOK:
        return Action(_("What is on hold"), "/holds")
    if fate is IncidentFate.OPENED:
        return Action(_("Repack or use it"), f"/lots/{line.code}")
    if fate is not IncidentFate.USE_NOW:
        return None
    step = OperationKind.COOK if line.is_raw else OperationKind.EAT
    if line.is_raw and line.place_kind is PlaceKind.FREEZER:
        step = OperationKind.THAW
    return Action(_(_NOW[step]), step_href(step, line))


def _on_hand(session: Session) -> dict[int, StockLine]:
    return {line.lot_id: line for line in stock_lines(session)}


def _again(told: IncidentTold) -> str:
    """A power cut seldom stops at one freezer: the same hours for another place."""
    if not IncidentKind(told.kind).is_of_place or told.from_at is None or told.to_at is None:
        return ""
    known = scope.household()
    clock = ZoneInfo(known.time_zone if known else "UTC")
    begins, ends = (
        at.astimezone(clock).strftime("%Y-%m-%dT%H:%M") for at in (told.from_at, told.to_at)
    )
    return f"/went-wrong/{told.kind}?from_at={begins}&to_at={ends}"
