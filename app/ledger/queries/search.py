"""Finding lots by code, name, tag or place."""

from sqlalchemy import Select, or_, select
from sqlalchemy.orm import Session

from app.ledger.codes import lot_id_of
from app.ledger.errors import NotFound
from app.ledger.models import Lot, Place, Source, Stock
from app.ledger.queries.stock import StockLine, stock_lines


def find_lots(session: Session, text: str) -> list[StockLine]:
    """Lines on hand whose code, name, tag, giver or place holds the text; all of them for "".

    Args:
        text: as typed; a whole code finds exactly its lot.
    """
    wanted = text.strip()
    if not wanted:
        return stock_lines(session)
    try:
        return stock_lines(session, lot_id=lot_id_of(wanted))
    except NotFound:
        ids = set(session.scalars(_by_words(wanted)))
    return [line for line in stock_lines(session) if line.lot_id in ids]


def _by_words(text: str) -> Select[int]:
    pattern = "%" + text.replace("\\", "\\\\").replace("%", "\\%").replace("_", "\\_") + "%"
    columns = (Lot.name, Source.tag, Source.name, Source.from_whom, Place.name)
    return (
        select(Lot.id)
        .outerjoin(Source, Source.id == Lot.source_id)
        .outerjoin(Stock, Stock.lot_id == Lot.id)
        .outerjoin(Place, Place.id == Stock.place_id)
        .where(or_(*(column.ilike(pattern, escape="\\") for column in columns)))
    )
