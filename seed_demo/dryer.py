"""Runs of the two dryers: loading the trays, weighing them back, unloading.

The weights are invented: each tray falls exponentially to its solids with a little water left.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from math import exp

from app.ledger.operations._post import Posted
from app.ledger.operations.load import Load, TrayLoaded, load
from app.ledger.operations.unload import DryMade, Unload, unload
from app.ledger.operations.weigh_back import WeighBack, weigh_back
from app.ledger.runs import hours_between
from app.ledger.stock import StockRef
from seed_demo.at_work import GRAM
from seed_demo.household import BENCH, DEHYDRATOR, FREEZE_DRYER, TRAYS_G
from seed_demo.kitchen import Kitchen

_WATER_LEFT = {FREEZE_DRYER: 0.014, DEHYDRATOR: 0.038}
_TIME_CONSTANTS = 8.0  # of the falling weight, in the hours a run is planned for


@dataclass(frozen=True, slots=True)
class TrayOf:
    """One tray as loaded, and the weight it is heading for, in grams."""

    number: int
    handle: str
    tare_g: int
    net_g: int
    end_g: float


@dataclass(frozen=True, slots=True)
class Drying:
    """A run that was started in the demo."""

    run_id: int
    started_at: datetime
    planned_hours: float
    trays: tuple[TrayOf, ...]

    def net_g(self, tray: TrayOf, at: datetime) -> float:
        """What the food on a tray weighs at an instant."""
        hours = hours_between(self.started_at, at)
        left = exp(-_TIME_CONSTANTS * hours / self.planned_hours)
        return tray.end_g + (tray.net_g - tray.end_g) * left


def start(
    kitchen: Kitchen,
    dryer: str,
    handles: Sequence[str],
    *,
    planned_hours: float,
    hour: float,
    trays_g: int | None = None,
) -> Drying:
    """Load a dryer, a handle for each tray; what lies loose under a handle is shared out.

    Args:
        kitchen: at work. dryer: its name. handles: one for each tray, repeats allowed.
        planned_hours: in which it will be dry. hour: of the day when it starts.
        trays_g: food on each tray; by default all there is.
    """
    refs = {handle: kitchen.ref(handle) for handle in handles}
    trays = []
    for number, (handle, net_g) in enumerate(_shares(kitchen, handles, trays_g), start=1):
        water = kitchen.lot(handle).water
        end_g = net_g * (1 - water) / (1 - _WATER_LEFT[dryer])
        trays.append(TrayOf(number, handle, TRAYS_G[dryer][number - 1], net_g, end_g))
    started_at = kitchen.now(hour)
    request = Load(
        place_id=kitchen.places[dryer],
        trays=tuple(_loaded(tray, refs[tray.handle]) for tray in trays),
        done_on=kitchen.day,
    )
    _, run_id = load(kitchen.session, request, at=started_at, by=kitchen.by)
    return Drying(run_id, started_at, planned_hours, tuple(trays))


def weigh(kitchen: Kitchen, drying: Drying, hour: float) -> None:
    """Weigh every tray back."""
    at = kitchen.now(hour)
    for tray in drying.trays:
        gross_g = tray.tare_g + round(drying.net_g(tray, at) + kitchen.noise.uniform(-0.1, 0.1))
        request = WeighBack(drying.run_id, tray.number, gross_g * GRAM, f"{gross_g} g")
        weigh_back(kitchen.session, request, at=at)


def finish(
    kitchen: Kitchen, drying: Drying, hour: float, *, spilled_g: int = 0, place: str = BENCH
) -> Posted:
    """Empty the trays; every handle is on its dry lot from now on."""
    at = kitchen.now(hour)
    made_g: dict[str, int] = {}
    for tray in drying.trays:
        made_g[tray.handle] = made_g.get(tray.handle, 0) + round(drying.net_g(tray, at))
    first = drying.trays[0].handle
    made_g[first] -= spilled_g
    made = tuple(DryMade(kitchen.lots[h], grams * GRAM) for h, grams in made_g.items())
    request = Unload(
        run_id=drying.run_id,
        made=made,
        place_id=kitchen.places[place],
        done_on=kitchen.day,
        spilled_mg=spilled_g * GRAM,
    )
    posted = unload(kitchen.session, request, at=at, by=kitchen.by)
    handles = sorted(made_g, key=lambda handle: kitchen.lots[handle])  # as the ledger unloads
    kitchen.lots.update(zip(handles, posted.lot_ids, strict=True))
    return posted


def _loaded(tray: TrayOf, ref: StockRef) -> TrayLoaded:
    gross_g = tray.tare_g + tray.net_g
    return TrayLoaded(ref, gross_g * GRAM, f"{gross_g} g", tray.tare_g * GRAM, f"{tray.tare_g} g")


def _shares(kitchen: Kitchen, handles: Sequence[str], trays_g: int | None) -> list[tuple[str, int]]:
    shares = []
    left = {handle: (kitchen.grams(handle), handles.count(handle)) for handle in handles}
    for handle in handles:
        grams, count = left[handle]
        even = grams // count if trays_g is None else trays_g
        net_g = even if trays_g is None and count == 1 else even + kitchen.noise.randint(-6, 6)
        left[handle] = grams - net_g, count - 1
        shares.append((handle, net_g))
    return shares
