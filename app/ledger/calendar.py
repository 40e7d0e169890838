"""The household's calendar: what day it is there at an instant."""

from datetime import date, datetime
from zoneinfo import ZoneInfo

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.ledger.models import Household


def zone_of(session: Session) -> ZoneInfo:
    """The household's time zone; UTC before one is set up."""
    return ZoneInfo(session.scalar(select(Household.time_zone)) or "UTC")


def today_of(session: Session, at: datetime) -> date:
    """The local date of the household at an instant; UTC before a household is set up."""
    return at.astimezone(zone_of(session)).date()
