"""The demo household: some seasons, the moose of October, and the days before today."""

from datetime import date, timedelta

from app.ledger.book import Book
from app.ledger.household import set_up
from seed_demo.clock import instant, story_year
from seed_demo.farmyard import plan_back_fat, plan_farmyard, plan_moose_roasts
from seed_demo.garden import plan_dried_tomatoes, plan_garden
from seed_demo.household import FIRST_RUN
from seed_demo.kitchen import Kitchen
from seed_demo.orchard import plan_orchard
from seed_demo.plan import Plan
from seed_demo.story import plan_story
from seed_demo.today import plan_last_days
from seed_demo.watch import plan_rounds, plan_watch

_LAST_DAYS = 4  # the seasons end this many days before today, so that no dryer is still full


def build(book: Book, today: date) -> None:
    """Write the whole demo into an empty ledger, through the use-cases the web uses.

    Args:
        book: brought up and empty. today: the last day there is; nothing is later.
    """
    year = story_year(today)
    with book.writing() as session:
        set_up(session, FIRST_RUN, at=instant(date(year - 1, 6, 1), 9.0))
        kitchen = Kitchen(session)
    plan = _seasons(year)
    plan_rounds(plan, today)
    plan.drop_what_ends_after(today - timedelta(days=_LAST_DAYS))
    plan_last_days(plan, year, today)
    plan.carry_out(book, kitchen)


def _seasons(year: int) -> Plan:
    """Two summers up to the story, and whatever of the next year there will have been."""
    plan = Plan()
    for season in (year - 1, year, year + 1):
        plan_garden(plan, season)
        plan_orchard(plan, season)
        plan_farmyard(plan, season)
    plan_moose_roasts(plan, year - 1, with_lead=True, awaits_test=True)
    plan_moose_roasts(plan, year)
    plan_dried_tomatoes(plan, year)
    plan_back_fat(plan, year)
    plan_story(plan, year)
    plan_watch(plan, year)
    return plan
