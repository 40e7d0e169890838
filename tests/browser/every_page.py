"""The addresses of every page there is, filled with what stands in a ledger.

The list is made from the routes of the application: a page that is added needs no line here unless
something stands in its address, and then it is not overlooked, but asked for.
"""

from collections.abc import Callable
from dataclasses import dataclass
from itertools import chain

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from app.ledger.models import Hold, Household, Operation, Run
from app.ledger.queries.due import due
from app.ledger.queries.stock import StockLine, stock_lines
from app.ledger.words import IncidentKind, OperationKind
from app.web.foretell.views import TOPICS
from app.web.household.add_forms import ADD_FORMS
from app.web.operations.forms import FORMS
from app.web.routes import ROUTES
from tests.browser.live import Live

NO_PAGES = {  # what is opened but is no page of ours to look at
    "/l/<code>": "leads to the lot",
    "/L/<code>": "leads to the lot",
    "/find.json": "data",
    "/scan.json": "data",
    "/calendar/<token>.ics": "a calendar",
    "/labels.pdf": "a print",
    "/household/secure/stillroom.crt": "a certificate",
    "/first-run": "only before there is a household",
    "/written/<key>": "says whether a form arrived",
    "/pair": "only for a device that is not paired",
}


NOWHERE = "/nowhere"  # the page that says there is none


@dataclass(frozen=True)
class Shown:
    """What of this ledger stands in the addresses."""

    raw: StockLine
    packed: StockLine
    runs: tuple[int, ...]
    operations: tuple[int, ...]
    incident: int
    stocktake: int
    hold: int
    due: str
    household: Household


def shown(session: Session, live: Live) -> Shown:
    """Look for something of every kind."""
    lines = stock_lines(session, one_by_one=True)

    def last(kind: OperationKind) -> int:
        found = session.scalar(select(func.max(Operation.id)).where(Operation.kind == kind))
        assert found, f"no {kind} in this ledger"
        return found

    first_run, last_run = session.execute(select(func.min(Run.id), func.max(Run.id))).one()
    return Shown(
        raw=next(x for x in lines if x.is_raw and not x.package_count),
        packed=next(x for x in lines if x.package_count and x.is_dried),
        runs=(first_run, last_run),
        operations=tuple(last(kind) for kind in (OperationKind.INTAKE, OperationKind.PACK)),
        incident=last(OperationKind.INCIDENT),
        stocktake=last(OperationKind.STOCKTAKE),
        hold=session.scalars(select(Hold.id).order_by(Hold.id.desc())).first() or 0,
        due=next(item.key for item in due(session, live.clock()) if item.key.startswith("therm")),
        household=session.scalars(select(Household)).one(),
    )


# What stands in an address, and what stands behind it, for each address that needs it.
_EXAMPLES: dict[str, Callable[[Shown], list[str]]] = {
    "/eat-first/<ref>": lambda s: [f"/eat-first/{s.packed.ref}"],
    "/lots": lambda s: ["/lots", "/lots?q=nothing+like+it"],
    "/lots/<code>": lambda s: [f"/lots/{s.raw.code}", f"/lots/{s.packed.code}"],
    "/lots/<code>/worked-out": lambda s: [f"/lots/{s.packed.code}/worked-out"],
    "/lots/<code>/evidence": lambda s: [f"/lots/{s.packed.code}/evidence"],
    "/lots/<code>/trace": lambda s: [f"/lots/{s.packed.code}/trace"],
    "/sources/<int:source_id>": lambda s: ["/sources/1"],
    "/find": lambda s: ["/find", "/find?q=moose"],
    "/write/pack": lambda s: ["/write/pack", f"/write/pack?from={s.raw.ref}"],
    "/write/mix": lambda s: ["/write/mix", f"/write/mix?from={s.raw.ref}"],
    "/write/trial": lambda s: ["/write/trial", f"/write/trial?from={s.packed.ref}"],
    "/write/load": lambda s: ["/write/load", f"/write/load?from={s.raw.ref}"],
    "/write/first-day/<span>": lambda s: ["/write/first-day/1-2"],
    "/write/<word>": lambda s: [
        f"/write/{word}?from={(s.packed if word in _LEAVING else s.raw).ref}" for word in FORMS
    ],
    "/went-wrong/<mishap>": lambda s: [
        f"/went-wrong/{kind}?place=1&lot={s.packed.code}" for kind in IncidentKind
    ],
    "/incidents/<int:incident_id>": lambda s: [f"/incidents/{s.incident}"],
    "/runs/<int:run_id>": lambda s: [f"/runs/{run}" for run in s.runs],
    "/due/<key>": lambda s: [f"/due/{s.due}"],
    "/places/<int:place_id>": lambda s: [f"/places/{place}" for place in (1, 3, 7)],
    "/places/<int:place_id>/edit": lambda s: ["/places/1/edit"],
    "/places/<int:place_id>/warm": lambda s: ["/places/1/warm"],
    "/places/<int:place_id>/readings": lambda s: ["/places/1/readings"],
    "/places/<int:place_id>/logger": lambda s: ["/places/1/logger"],
    "/places/<int:place_id>/stocktake": lambda s: ["/places/1/stocktake"],
    "/stocktakes/<int:operation_id>": lambda s: [f"/stocktakes/{s.stocktake}"],
    "/holds/new": lambda s: [f"/holds/new?lot={s.raw.code}"],
    "/holds/<int:hold_id>/result": lambda s: [f"/holds/{s.hold}/result"],
    "/holds/<int:hold_id>/release": lambda s: [f"/holds/{s.hold}/release"],
    "/labels": lambda s: ["/labels", f"/labels?lot={s.packed.code}"],
    "/papers/foretell/<question>": lambda s: [
        *(f"/papers/foretell/{topic}" for topic in TOPICS),
        f"/papers/foretell/freezing?lot={s.raw.code}",
    ],
    "/operations/<int:operation_id>": lambda s: [f"/operations/{one}" for one in s.operations],
    "/operations/<int:operation_id>/correct": lambda s: [f"/operations/{s.operations[0]}/correct"],
    "/household/<thing>/new": lambda s: [f"/household/{thing}/new" for thing in ADD_FORMS],
}
_LEAVING = ("move", "open", "eat", "give", "discard")


def rules_of_pages() -> list[str]:
    """Every address that is opened, as the routes have it."""
    return [rule for rule, _, methods in ROUTES if "GET" in methods and rule not in NO_PAGES]


def without_an_example() -> list[str]:
    """Pages that nobody would look at: something stands in their address, and nobody said what."""
    return [rule for rule in rules_of_pages() if "<" in rule and rule not in _EXAMPLES]


def no_longer_there() -> list[str]:
    """Addresses told here that the application does not have."""
    rules = {rule for rule, _, _ in ROUTES}
    return sorted({*_EXAMPLES, *NO_PAGES} - rules)


def every_page(live: Live) -> list[str]:
    """An address for every page of this ledger, several where their content differs much."""
    with live.book.reading() as session:
        what = shown(session, live)
    examples = (_EXAMPLES[rule](what) if rule in _EXAMPLES else [rule] for rule in rules_of_pages())
    return [*chain.from_iterable(examples), NOWHERE]
