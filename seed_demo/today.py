"""The last days: what is thawing, what was cooked yesterday, and a dryer that is running."""

from datetime import date, timedelta

from app.ledger.game import GameIn
from app.ledger.operations.cook import CookMethod
from app.ledger.words import Ammunition
from app.science.safety.game import CwdStatus
from seed_demo import dryer
from seed_demo.household import (
    ELNA,
    FREEZE_DRYER,
    FRIDGE,
    JONAS,
    MARIT,
    TOBI,
)
from seed_demo.kitchen import Kitchen
from seed_demo.larder import EGGS, HENHOUSE, REINDEER, animal
from seed_demo.plan import Plan


def plan_last_days(plan: Plan, year: int, today: date) -> None:
    """The days up to yesterday, with the newest food of each kind; year is that of the story."""
    stew = f"lamb stew {year - 1}"
    ago = [today - timedelta(days=days) for days in range(12)]
    plan.on(ago[10], _reindeer_in_test, JONAS)
    plan.on(ago[9], _open_apple_rings, TOBI)
    plan.on(ago[7], lambda k: k.take_in("eggs", "Eggs", EGGS, 1420, HENHOUSE, place=FRIDGE), ELNA)
    plan.on(ago[4], lambda k: k.eat("eggs", 360), MARIT)
    plan.on(ago[4], lambda k: k.open(stew, 2), TOBI)
    plan.on(ago[3], _wrong_jar, TOBI)
    plan.on(ago[3], _thaw_for_stew, MARIT)
    plan.on(ago[1], _stew, MARIT)
    plan.on(ago[1], _thaw_trout, JONAS)
    _running_dryer(plan, ago)


def _reindeer_in_test(k: Kitchen) -> None:
    """Taken where wasting disease is looked for: bagged as a lot of its own until the result."""
    source = animal("reindeer", "R-311")
    shot = k.day - timedelta(days=2)
    story = GameIn(
        Ammunition.LEAD_FREE,
        cwd_status=CwdStatus.PENDING,
        cwd_listed=True,
        hours_to_cold=11.0,
        taken_at="North of the lake",
    )
    k.take_in(
        "reindeer", "Reindeer, diced", REINDEER, 3140, source, harvest=(shot, shot), game=story
    )
    k.bag_for_freezer("reindeer", 4)


def _open_apple_rings(k: Kitchen) -> None:
    rings = k.newest("apple rings {}")
    k.open(rings, 2)
    k.eat(rings, 45, number=2)


def _wrong_jar(k: Kitchen) -> None:
    mistaken = k.eat("corn", number=1)
    k.take_back(mistaken, "It was the jar of beans; the sweetcorn is still there")


def _thaw_for_stew(k: Kitchen) -> None:
    k.thaw(k.newest("lamb diced {}"), number=3, into="stew", drip_g=15)


def _stew(k: Kitchen) -> None:
    k.cook("stew", CookMethod.SIMMER, 140, water_g=450, centre_c=86.0)
    k.eat("stew", 620)
    k.chill("stew", readings=((0.0, 60.0), (0.3, 57.0), (1.8, 20.5), (4.5, 4.8)))


def _thaw_trout(k: Kitchen) -> None:
    k.thaw(k.newest("trout {}-8"), number=2, into="thawing trout")


def _running_dryer(plan: Plan, ago: list[date]) -> None:
    """Loaded the day before yesterday, weighed twice since, not dry yet."""
    runs: list[dryer.Drying] = []

    def fill(k: Kitchen) -> None:
        trays = [k.newest("strawberries {} frozen")] * 4
        runs.append(dryer.start(k, FREEZE_DRYER, trays, planned_hours=42.0, hour=18.0, trays_g=640))

    plan.on(ago[2], fill, ELNA)
    plan.on(ago[1], lambda k: dryer.weigh(k, runs[0], 17.0), ELNA)
    plan.on(ago[1], lambda k: dryer.weigh(k, runs[0], 20.0), ELNA)
