"""Orchard and berry rows: frozen, dried, or kept whole in the cellar."""

from datetime import date

from app.ledger.operations.cook import CookMethod
from seed_demo import dryer
from seed_demo.household import (
    BENCH,
    CELLAR,
    DEHYDRATOR,
    ELNA,
    FREEZE_DRYER,
    FREEZER,
    HALF_JAR,
    JAR,
    JONAS,
    MARIT,
    RIGHT_SHELF,
    TOBI,
    TUB,
    ZIP_BAG,
)
from seed_demo.kitchen import Kitchen
from seed_demo.larder import APPLES, BERRIES, BLUEBERRIES, ORCHARD, PLUMS, RASPBERRIES, STRAWBERRIES
from seed_demo.plan import Plan


def plan_orchard(plan: Plan, year: int) -> None:
    """One year of fruit and the winter after it."""
    _strawberries(plan, year)
    _berries(plan, year)
    _plums(plan, year)
    _apples(plan, year)
    _apple_rings(plan, year)


def _strawberries(plan: Plan, year: int) -> None:
    berries, dry = f"strawberries {year}", f"dried strawberries {year}"
    run: dict[int, dryer.Drying] = {}

    def pick(k: Kitchen) -> None:
        k.take_in(berries, "Strawberries", STRAWBERRIES, 6480, BERRIES)
        k.trim(berries, 290)
        k.portion(berries, 3200, "Strawberries, whole, frozen", f"{berries} frozen", place=FREEZER)
        k.eat(berries, 410)
        k.portion(berries, k.grams(berries), "Strawberries, sliced", dry, place=BENCH)
        run[year] = dryer.start(k, FREEZE_DRYER, [dry] * 4, planned_hours=32.0, hour=20.0)

    def empty(k: Kitchen) -> None:
        for hour in (2.0, 5.0, 8.0, 11.0):
            dryer.weigh(k, run[year], hour)
        dryer.finish(k, run[year], 11.2)
        k.pack(dry, JAR, k.equal_parts(dry, 2), RIGHT_SHELF)

    plan.job(ELNA, (date(year, 6, 24), pick), (date(year, 6, 26), empty))
    plan.on(date(year, 10, 4), lambda k: k.open(dry, 1), TOBI)
    plan.on(date(year, 10, 4), lambda k: k.eat(dry, 34, number=1), TOBI)
    plan.on(date(year, 10, 18), lambda k: k.eat(dry, number=1), TOBI)
    plan.on(date(year + 1, 1, 17), lambda k: k.eat_rest(dry), TOBI)
    plan.on(date(year + 1, 7, 5), lambda k: k.eat(f"{berries} frozen"), ELNA)  # after the new ones


def _berries(plan: Plan, year: int) -> None:
    raspberries, blueberries = f"raspberries {year}", f"blueberries {year}"

    def pick_raspberries(k: Kitchen) -> None:
        k.take_in(raspberries, "Raspberries", RASPBERRIES, 1890, BERRIES)
        k.pack(raspberries, TUB, k.equal_parts(raspberries, 4, 12), FREEZER)

    def pick_blueberries(k: Kitchen) -> None:
        k.take_in(blueberries, "Blueberries", BLUEBERRIES, 2240, BERRIES)
        k.pack(blueberries, ZIP_BAG, k.equal_parts(blueberries, 4, 12), FREEZER)

    plan.on(date(year, 7, 21), pick_raspberries, ELNA)
    plan.on(date(year, 8, 6), pick_blueberries, TOBI)
    plan.eat(raspberries, ELNA, date(year, 12, 26))
    plan.on(date(year + 1, 4, 5), lambda k: k.eat_rest(raspberries), ELNA)
    plan.eat(blueberries, TOBI, date(year, 11, 3))
    plan.on(date(year + 1, 6, 1), lambda k: k.eat_rest(blueberries, keep=1), TOBI)


def _plums(plan: Plan, year: int) -> None:
    plums = f"plums {year}"
    run: dict[int, dryer.Drying] = {}

    def stone(k: Kitchen) -> None:
        k.take_in(plums, "Plums", PLUMS, 4720, ORCHARD)
        k.trim(plums, 350)
        run[year] = dryer.start(k, DEHYDRATOR, [plums] * 5, planned_hours=20.0, hour=9.0)

    def empty(k: Kitchen) -> None:
        for hour in (6.0, 9.0, 12.0, 15.0):
            dryer.weigh(k, run[year], hour)
        dryer.finish(k, run[year], 15.1)
        k.pack(plums, HALF_JAR, k.equal_parts(plums, 2), RIGHT_SHELF)

    plan.job(JONAS, (date(year, 9, 11), stone), (date(year, 9, 12), empty))
    plan.eat(plums, JONAS, date(year + 1, 1, 31))


def _apples(plan: Plan, year: int) -> None:
    apples, sauce = f"apples {year}", f"apple sauce {year}"

    def pick(k: Kitchen) -> None:
        k.take_in(apples, "Apples", APPLES, 14350, ORCHARD, place=CELLAR)

    def cook(k: Kitchen) -> None:
        k.portion(apples, 3900, "Apple sauce", sauce, place=BENCH)
        k.trim(sauce, 720)
        k.cook(sauce, CookMethod.SIMMER, 540, water_g=250)
        k.chill(sauce)
        k.pack(sauce, TUB, k.equal_parts(sauce, 3, 20), FREEZER)

    plan.on(date(year, 10, 5), pick, TOBI)
    plan.on(date(year, 10, 19), cook, MARIT)
    plan.on(date(year, 11, 2), lambda k: k.eat(apples, 1860), MARIT)
    plan.on(date(year, 12, 20), lambda k: k.eat(apples, 2420), MARIT)
    plan.on(date(year + 1, 2, 14), lambda k: k.discard(apples, "Shrivelled, for the pigs"), JONAS)
    plan.eat(sauce, MARIT, date(year + 1, 1, 1))
    plan.on(date(year + 1, 4, 12), lambda k: k.eat_rest(sauce), MARIT)


def _apple_rings(plan: Plan, year: int) -> None:
    rings = f"apple rings {year}"
    run: dict[int, dryer.Drying] = {}

    def cut(k: Kitchen) -> None:
        k.portion(f"apples {year}", 4600, "Apple rings", rings, place=BENCH)
        k.trim(rings, 890)
        run[year] = dryer.start(k, DEHYDRATOR, [rings] * 4, planned_hours=12.0, hour=18.0)

    def empty(k: Kitchen) -> None:
        for hour in (6.0, 9.0, 12.0, 15.0):
            dryer.weigh(k, run[year], hour)
        dryer.finish(k, run[year], 15.4, spilled_g=3)
        k.pack(rings, HALF_JAR, k.equal_parts(rings, 3), RIGHT_SHELF)

    plan.job(ELNA, (date(year, 10, 22), cut), (date(year, 10, 23), empty))
    plan.eat(rings, TOBI, date(year + 1, 1, 17))
