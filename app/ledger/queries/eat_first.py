"""Eat first: what is on hand, grouped by the question asked and ranked by what is used up."""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from sqlalchemy.orm import Session

from app.ledger.queries.stock import StockLine, stock_lines
from app.ledger.words import PlaceKind

UNDATED = frozenset({"not_covered", "too_fat", "outside_model"})  # no model, no alarm
WEEK_DAYS = 7
FREEZER_NOTICE_DAYS = 60  # ahead of the early end; enough time to plan a dryer load


class Group(StrEnum):
    """The questions the home page answers, in its order."""

    THIS_WEEK = "this_week"
    PROCESS = "process"
    LATER = "later"
    UNDATED = "undated"
    ON_HOLD = "on_hold"


@dataclass(frozen=True, slots=True)
class EatFirst:
    """The home page: groups of ranked lines, and what is on hand in all."""

    groups: tuple[tuple[Group, tuple[StockLine, ...]], ...]
    lot_count: int
    mass_mg: int


def eat_first(session: Session, today: date) -> EatFirst:
    """Group and rank everything that can be eaten or processed.

    First the soonest early end of a window, then the larger share used; ties go by the day it
    was made, then by code. Food in a dryer is on the bench, not here; held food stands apart.
    """
    lines = [line for line in stock_lines(session) if not line.place_kind.is_dryer]
    lines.sort(key=lambda line: _rank(line, today))
    grouped: dict[Group, list[StockLine]] = {group: [] for group in Group}
    for line in lines:
        grouped[group_of(line, today)].append(line)
    return EatFirst(
        groups=tuple((group, tuple(found)) for group, found in grouped.items() if found),
        lot_count=len({line.lot_id for line in lines}),
        mass_mg=sum(line.mass_mg for line in lines),
    )


def group_of(line: StockLine, today: date) -> Group:
    """Which question a line answers."""
    window = line.window
    if line.holds:
        return Group.ON_HOLD
    if window is None and line.limit_word in UNDATED:
        return Group.UNDATED
    if window is None or line.opened_on is not None:
        return Group.THIS_WEEK
    if line.place_kind is PlaceKind.FREEZER:
        soon = (window.early - today).days <= FREEZER_NOTICE_DAYS
        return Group.PROCESS if soon else Group.LATER
    return Group.THIS_WEEK if (window.early - today).days <= WEEK_DAYS else Group.LATER


def _rank(line: StockLine, today: date) -> tuple[date, float, date, str]:
    window = line.window
    if window is None:
        return (date.min, 0.0, line.made_on, line.code)
    return (window.early, -window.share_used(today), line.made_on, line.code)
