"""The kitchen garden: what is picked each summer, and what the winter makes of it."""

from datetime import date

from app.ledger.operations.cook import CookMethod
from seed_demo import dryer
from seed_demo.household import (
    BENCH,
    CELLAR,
    DEHYDRATOR,
    ELNA,
    FREEZER,
    HALF_JAR,
    JONAS,
    LEFT_SHELF,
    MARIT,
    RIGHT_SHELF,
    TOBI,
    TUB,
    ZIP_BAG,
)
from seed_demo.kitchen import Kitchen
from seed_demo.larder import (
    BEANS,
    GARDEN,
    ONIONS,
    PEAS,
    POLYTUNNEL,
    SQUASH,
    TOMATOES,
)
from seed_demo.plan import Plan


def plan_garden(plan: Plan, year: int) -> None:
    """One year of the garden and the winter after it."""
    _peas(plan, year)
    _beans(plan, year)
    _tomatoes(plan, year)
    _onions(plan, year)
    _squash(plan, year)


def _peas(plan: Plan, year: int) -> None:
    peas = f"peas {year}"

    def pick(k: Kitchen) -> None:
        k.take_in(peas, "Peas", PEAS, 4120, GARDEN)
        k.trim(peas, 2310)
        k.blanch(peas, 34)
        k.pack(peas, ZIP_BAG, k.equal_parts(peas, 4, 15), FREEZER)

    plan.on(date(year, 7, 12), pick, ELNA)
    plan.eat(peas, MARIT, date(year, 12, 24))
    plan.on(date(year + 1, 5, 2), lambda k: k.eat_rest(peas, keep=1), MARIT)


def _beans(plan: Plan, year: int) -> None:
    beans = f"beans {year}"

    def pick(k: Kitchen) -> None:
        k.take_in(beans, "Green beans", BEANS, 5260, GARDEN)
        k.trim(beans, 430)
        k.blanch(beans, 61)
        k.portion(beans, 2400, "Green beans, to dry", f"{beans} to dry", place=BENCH)
        k.pack(beans, ZIP_BAG, k.equal_parts(beans, 5, 20), FREEZER)
        run[year] = dryer.start(
            k, DEHYDRATOR, [f"{beans} to dry"] * 3, planned_hours=13.0, hour=18.0
        )

    def empty(k: Kitchen) -> None:
        for hour in (6.0, 9.0, 12.0, 15.0):
            dryer.weigh(k, run[year], hour)
        dryer.finish(k, run[year], 15.3, spilled_g=2)
        dry = f"{beans} to dry"
        k.pack(dry, HALF_JAR, k.equal_parts(dry, 2), RIGHT_SHELF)

    run: dict[int, dryer.Drying] = {}
    plan.job(ELNA, (date(year, 8, 14), pick), (date(year, 8, 15), empty))
    plan.eat(beans, JONAS, date(year, 11, 9), date(year + 1, 1, 18))
    plan.on(date(year + 1, 3, 8), lambda k: k.eat_rest(beans), JONAS)
    plan.on(date(year + 1, 3, 8), lambda k: k.eat_rest(f"{beans} to dry", keep=1), JONAS)


def _tomatoes(plan: Plan, year: int) -> None:
    sauce = f"tomato sauce {year}"

    def cook(k: Kitchen) -> None:
        k.take_in(sauce, "Tomato sauce", TOMATOES, 7880, POLYTUNNEL)
        k.trim(sauce, 640)
        k.cook(sauce, CookMethod.REDUCE, 3390)
        k.chill(sauce)
        k.pack(sauce, TUB, k.equal_parts(sauce, 5, 25), FREEZER)

    plan.on(date(year, 8, 27), cook, MARIT)
    plan.eat(sauce, MARIT, date(year, 10, 30))
    plan.on(date(year + 1, 4, 6), lambda k: k.eat_rest(sauce), MARIT)


def plan_dried_tomatoes(plan: Plan, year: int) -> None:
    """A good summer in the polytunnel."""
    slices = f"dried tomatoes {year}"
    run: dict[int, dryer.Drying] = {}

    def cut(k: Kitchen) -> None:
        k.take_in(slices, "Tomatoes, halved", TOMATOES, 5640, POLYTUNNEL)
        k.trim(slices, 380)
        run[year] = dryer.start(k, DEHYDRATOR, [slices] * 6, planned_hours=17.0, hour=13.0)

    def empty(k: Kitchen) -> None:
        for hour in (7.0, 10.0, 13.0, 16.0):
            dryer.weigh(k, run[year], hour)
        dryer.finish(k, run[year], 16.5)
        k.pack(slices, HALF_JAR, k.equal_parts(slices, 2), LEFT_SHELF)
        k.meter(slices, 12.0)

    plan.job(ELNA, (date(year, 9, 4), cut), (date(year, 9, 5), empty))
    plan.on(date(year, 12, 7), lambda k: k.give(slices, "Astrid at the mill", number=1), ELNA)


def _onions(plan: Plan, year: int) -> None:
    onions = f"onions {year}"

    def lift(k: Kitchen) -> None:
        k.take_in(onions, "Onions", ONIONS, 7430, GARDEN, place=RIGHT_SHELF)

    plan.on(date(year, 8, 30), lift, TOBI)
    plan.on(date(year, 10, 25), lambda k: k.eat(onions, 1850), MARIT)
    plan.on(date(year + 1, 1, 10), lambda k: k.eat(onions, 2600), MARIT)
    plan.on(date(year + 1, 4, 19), lambda k: k.eat(onions), MARIT)


def _squash(plan: Plan, year: int) -> None:
    squash = f"squash {year}"

    def cut(k: Kitchen) -> None:
        k.take_in(squash, "Winter squash", SQUASH, 12640, GARDEN, place=CELLAR)

    plan.on(date(year, 9, 27), cut, TOBI)
    plan.on(date(year, 11, 1), lambda k: k.eat(squash, 2310), MARIT)
    plan.on(date(year, 12, 13), lambda k: k.give(squash, "The school kitchen", 2750), TOBI)
    plan.on(date(year + 1, 1, 24), lambda k: k.eat(squash, 2480), MARIT)
    plan.on(date(year + 1, 2, 22), lambda k: k.discard(squash, "Mould at the stalk", 1940), JONAS)
    plan.on(date(year + 1, 3, 15), lambda k: k.eat(squash), MARIT)
