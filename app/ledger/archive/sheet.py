"""One table of the export, as a name, a sentence and a query."""

from dataclasses import dataclass
from typing import Any

from sqlalchemy import Select


@dataclass(frozen=True, slots=True)
class Sheet:
    """One file: its name, what a row of it is, and the query that fills it.

    Labels ending in `_g` hold milligrams in the query, those ending in `_code` row numbers of lots.
    """

    name: str
    words: str
    query: Select[*tuple[Any, ...]]
