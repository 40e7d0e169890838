"""What to do next with food, in the order that is proposed."""

from collections.abc import Hashable
from datetime import date

from sqlalchemy.orm import Session

from app.ledger.queries.last_time import habit
from app.ledger.queries.next_steps import next_steps, proposed
from app.ledger.queries.stock import StockLine
from app.ledger.words import OperationKind
from app.web.display import first_step


class Proposals:
    """The steps of several lines; what people usually do is asked once for each kind of food."""

    def __init__(self, session: Session, today: date) -> None:
        """Ask nothing yet."""
        self._session, self._today = session, today
        self._habits: dict[Hashable, list[OperationKind]] = {}

    def steps(self, line: StockLine) -> tuple[OperationKind, ...]:
        """Every step a line can take, the proposed one first."""
        usual = proposed(line, self._habit(line))
        first = first_step(line, self._today)
        if first is next_steps(line)[0]:  # nothing of its window or place stands before a habit
            return usual
        return (first, *(step for step in usual if step is not first))

    def is_habit(self, line: StockLine) -> bool:
        """Does the proposed step come from what people did, not from the state of the food?"""
        return self.steps(line)[0] is not first_step(line, self._today)

    def _habit(self, line: StockLine) -> list[OperationKind]:
        key = (line.food_class, line.form, line.is_raw, line.made_by, bool(line.package_count))
        if key not in self._habits:
            self._habits[key] = habit(self._session, line)
        return self._habits[key]
