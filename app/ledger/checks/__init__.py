"""Does the whole ledger balance? Each check reads one promise of the ledger against its rows."""

from collections.abc import Callable

from sqlalchemy.exc import DatabaseError
from sqlalchemy.orm import Session

from app.ledger.checks.cautions import (
    climates_are_whole,
    incidents_are_whole,
    opened_days_are_the_earliest,
)
from app.ledger.checks.file import file_is_whole, guards_are_in_place, references_lead_somewhere
from app.ledger.checks.finding import Finding
from app.ledger.checks.flows import flows_fill_new_lots, flows_follow_entries, reversals_mirror
from app.ledger.checks.holds import held_food_stayed, releases_lift_holds_that_stood
from app.ledger.checks.marks import (
    allergens_are_inherited,
    harvest_is_the_earliest,
    marks_are_inherited,
    raw_stays_raw,
)
from app.ledger.checks.masses import (
    nothing_below_zero,
    operations_balance,
    packages_hold_their_own,
    stock_is_the_entries,
)
from app.ledger.checks.packages import packages_are_counted
from app.ledger.checks.words import estimates_belong_to_stock, words_are_known

__all__ = ["CHECKS", "Finding", "check_all"]


Progress = Callable[[int, int, str], None]


def check_all(session: Session, progress: Progress | None = None) -> list[Finding]:
    """Run every check; an unreadable table becomes a finding, so that the others still speak.

    Args:
        session: an open reading transaction. progress: is told, before each check, its number, how
            many there are, and what it looks at.
    Returns:
        Everything found, in the order of CHECKS; empty when the ledger is sound.
    """
    findings: list[Finding] = []
    for number, check in enumerate(CHECKS, start=1):
        if progress is not None:
            progress(number, len(CHECKS), (check.__doc__ or "").partition("\n")[0])
        try:
            with session.begin_nested():  # else PostgreSQL answers nothing after the first fault
                findings += check(session)
        except (DatabaseError, ValueError) as error:  # ValueError: a date that is none
            why = {"why": str(getattr(error, "orig", error))}
            findings.append(Finding(check.__name__, "data file", "cannot be read: {why}", why))
    return findings


CHECKS: tuple[Callable[[Session], list[Finding]], ...] = (
    file_is_whole,
    references_lead_somewhere,
    guards_are_in_place,
    operations_balance,
    stock_is_the_entries,
    nothing_below_zero,
    packages_hold_their_own,
    packages_are_counted,
    flows_fill_new_lots,
    flows_follow_entries,
    raw_stays_raw,
    allergens_are_inherited,
    marks_are_inherited,
    harvest_is_the_earliest,
    held_food_stayed,
    releases_lift_holds_that_stood,
    climates_are_whole,
    incidents_are_whole,
    opened_days_are_the_earliest,
    reversals_mirror,
    estimates_belong_to_stock,
    words_are_known,
)
