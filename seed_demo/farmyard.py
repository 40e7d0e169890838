"""Lamb, pork, hens, eggs, trout, rabbits and last year's moose: what the animals give."""

from datetime import date

from app.ledger.game import GameIn
from app.ledger.operations.cook import CookMethod
from app.ledger.words import Ammunition
from app.science.classes import Form
from app.science.safety.game import CwdStatus
from seed_demo import dryer
from seed_demo.household import (
    ABSORBER,
    BENCH,
    FREEZE_DRYER,
    FREEZER,
    FRIDGE,
    HALF_JAR,
    JONAS,
    LEFT_SHELF,
    MARIT,
    PINT_POUCH,
    QUART_POUCH,
    TOBI,
    TUB,
)
from seed_demo.kitchen import Kitchen
from seed_demo.larder import (
    BACK_FAT,
    EGGS,
    HEN,
    HENHOUSE,
    HUTCH,
    LAMB,
    LAMB_DICED,
    LAMB_MINCE,
    LIVER,
    MOOSE_ROAST,
    POND,
    PORK_LOIN,
    PORK_MINCE,
    PORK_SHOULDER,
    RABBIT,
    TROUT,
    animal,
    moose_share,
)
from seed_demo.plan import Plan


def plan_farmyard(plan: Plan, year: int) -> None:
    """One year of meat, fish and eggs, from autumn to the next."""
    _pig(plan, year)
    _lamb(plan, year)
    _hens(plan, year + 1)
    _eggs(plan, year + 1)
    _trout(plan, year + 1)
    _rabbits(plan, year + 1)


def _roast(k: Kitchen, handle: str, number: int, centre_c: float, *, drip_g: int = 20) -> None:
    """Thaw a bag, and eat it roasted; what is left over goes into the fridge."""
    dinner = f"{handle}, dinner {number}"
    k.thaw(handle, number=number, into=dinner, drip_g=drip_g)
    grams = k.grams(dinner)
    k.cook(dinner, CookMethod.ROAST, round(0.24 * grams), centre_c=centre_c, rest_minutes=5)
    k.eat(dinner)


def plan_moose_roasts(
    plan: Plan, year: int, *, with_lead: bool = False, awaits_test: bool = False
) -> None:
    """The better cuts of the share, of the same animal as the trim."""
    moose = f"moose roasts {year}"
    shot = date(year, 10, 3)

    def take_in(k: Kitchen) -> None:
        source = moose_share(year, with_lead=with_lead)
        story = GameIn(
            Ammunition.LEAD if with_lead else Ammunition.LEAD_FREE,
            cwd_status=CwdStatus.PENDING if awaits_test else CwdStatus.NOT_DETECTED,
            cwd_listed=True,
            hours_to_cold=14.0,
        )
        tested = f"{moose} in test"
        k.take_in(
            tested, "Moose roast", MOOSE_ROAST, 5480, source, harvest=(shot, shot), game=story
        )
        k.lots[moose] = k.lots[tested]
        k.bag_for_freezer(moose, 5)

    def result(k: Kitchen) -> None:
        k.result(f"{moose} in test", is_detected=False, note="Letter of the veterinary institute")

    plan.on(date(year, 10, 10), take_in, MARIT)
    if awaits_test:
        plan.on(date(year, 10, 21), result, MARIT)
    plan.on(date(year + 1, 1, 4), lambda k: _roast(k, moose, 1, 72.5), MARIT)
    plan.on(date(year + 1, 3, 22), lambda k: _roast(k, moose, 2, 73.0), MARIT)
    plan.on(date(year + 1, 6, 21), lambda k: k.give(moose, "Uncle Henning", number=3), JONAS)


def _pig(plan: Plan, year: int) -> None:
    shoulder, loin, mince = f"pork shoulder {year}", f"pork loin {year}", f"pork mince {year}"
    pig = animal("pig", f"P-{year % 100}")

    def cut_up(k: Kitchen) -> None:
        k.take_in(shoulder, "Pork shoulder", PORK_SHOULDER, 5960, pig)
        k.take_in(loin, "Pork loin", PORK_LOIN, 3380, pig)
        k.take_in(mince, "Pork mince", PORK_MINCE, 3740, pig)
        k.bag_for_freezer(shoulder, 5)
        k.bag_for_freezer(loin, 3)
        k.bag_for_freezer(mince, 5)

    spring = year + 1
    plan.on(date(year, 11, 8), cut_up, JONAS)
    plan.on(date(spring, 2, 15), lambda k: _roast(k, shoulder, 1, 78.0), MARIT)
    plan.on(date(spring, 4, 20), lambda k: _roast(k, loin, 1, 72.0), MARIT)
    plan.on(date(spring, 3, 1), lambda k: _roast(k, mince, 1, 75.0, drip_g=11), JONAS)
    plan.on(date(spring, 6, 14), lambda k: k.give(loin, "Jonas's sister", number=2), JONAS)
    plan.on(date(spring, 5, 10), lambda k: k.eat_rest(shoulder, keep=1), MARIT)
    plan.on(date(spring, 7, 12), lambda k: k.eat_rest(loin), MARIT)
    plan.on(date(spring, 6, 7), lambda k: k.eat_rest(mince, keep=2), JONAS)
    plan.on(
        date(spring, 9, 20),
        lambda k: k.discard(mince, "Freezer burn, smelled rancid", number=4),
        MARIT,
    )


def plan_back_fat(plan: Plan, year: int) -> None:
    """The pig of September, for its fat: the burgers of October need it."""
    pig = animal("pig", f"P-{year % 100}A")

    def take_in(k: Kitchen) -> None:
        k.take_in("back-fat", "Pork back-fat", BACK_FAT, 2980, pig, place=FREEZER)
        k.take_in("liver", "Chicken liver", LIVER, 640, HENHOUSE, place=FRIDGE)
        k.cook("liver", CookMethod.FRY, 118, centre_c=76.0)
        k.eat("liver")

    plan.on(date(year, 9, 12), take_in, JONAS)


def _lamb(plan: Plan, year: int) -> None:
    whole, diced, mince = f"lamb shoulder {year}", f"lamb diced {year}", f"lamb mince {year}"
    lamb = animal("lamb", f"L-{year % 100}7")

    def cut_up(k: Kitchen) -> None:
        k.take_in(whole, "Lamb shoulder", LAMB, 3870, lamb)
        k.take_in(diced, "Lamb, diced", LAMB_DICED, 3640, lamb)
        k.take_in(mince, "Lamb mince", LAMB_MINCE, 2510, lamb)
        k.bag_for_freezer(whole, 2)
        k.bag_for_freezer(diced, 4)
        k.bag_for_freezer(mince, 3)

    plan.on(date(year, 9, 20), cut_up, JONAS)
    plan.on(date(year + 1, 4, 4), lambda k: _roast(k, whole, 1, 71.0), MARIT)
    plan.on(date(year + 1, 3, 29), lambda k: k.eat_rest(mince), JONAS)
    plan.on(date(year + 1, 9, 26), lambda k: k.eat_rest(diced), JONAS)
    plan.on(date(year + 1, 8, 1), lambda k: k.eat_rest(whole), MARIT)
    _lamb_stew(plan, year, diced)
    _raw_lamb(plan, year, diced)


def _lamb_stew(plan: Plan, year: int, diced: str) -> None:
    """Lamb with onions and squash, cooked, freeze-dried and sealed in pouches."""
    stew = f"lamb stew {year}"
    run: dict[int, dryer.Drying] = {}

    def thaw(k: Kitchen) -> None:
        k.thaw(diced, number=1, into=stew, drip_g=17)

    def cook(k: Kitchen) -> None:
        k.blend(stew, f"onions {year}", "Lamb stew", stew, other_g=380)
        k.blend(stew, f"squash {year}", "Lamb stew", stew, other_g=460, salt_g=14)
        k.cook(stew, CookMethod.SIMMER, 390, water_g=600, centre_c=92.0)
        k.chill(stew, 12)

    def fill(k: Kitchen) -> None:
        run[year] = dryer.start(k, FREEZE_DRYER, [stew] * 2, planned_hours=36.0, hour=8.0)

    def seal(k: Kitchen) -> None:
        for hour in (1.0, 15.0, 18.0, 21.0):
            dryer.weigh(k, run[year], hour)
        dryer.finish(k, run[year], 21.3)
        nets_g = k.equal_parts(stew, 3)
        k.pack(stew, PINT_POUCH, nets_g, LEFT_SHELF, absorber=ABSORBER, checked=True)

    spring = year + 1
    days = (date(spring, 1, 20), date(spring, 1, 22), date(spring, 1, 23), date(spring, 1, 24))
    plan.job(MARIT, *zip(days, (thaw, cook, fill, seal), strict=True))
    plan.eat(stew, TOBI, date(spring, 7, 19), note="On the hut tour")


def _raw_lamb(plan: Plan, year: int, diced: str) -> None:
    """Freeze-dried without cooking: it stays RAW, on its label too."""
    raw = f"raw lamb {year}"
    run: dict[int, dryer.Drying] = {}

    def fill(k: Kitchen) -> None:
        k.thaw(diced, number=2, into=raw, drip_g=14)
        run[year] = dryer.start(k, FREEZE_DRYER, [raw], planned_hours=34.0, hour=20.0)

    def seal(k: Kitchen) -> None:
        for hour in (3.0, 6.0, 9.0, 12.0):
            dryer.weigh(k, run[year], hour)
        dryer.finish(k, run[year], 12.2)
        grams = [k.grams(raw)]
        k.pack(raw, QUART_POUCH, grams, FREEZER, absorber=ABSORBER, checked=True)

    plan.job(JONAS, (date(year + 1, 3, 4), fill), (date(year + 1, 3, 6), seal))


def _hens(plan: Plan, year: int) -> None:
    """Old hens in the pot: meat to the freeze-dryer, broth to the freezer, fat kept."""
    hens = f"hens {year}"
    run: dict[int, dryer.Drying] = {}

    def simmer(k: Kitchen) -> None:
        k.take_in(hens, "Hens", HEN, 5140, HENHOUSE)
        k.trim(hens, 1230, form=Form.PIECES)
        k.cook(hens, CookMethod.SIMMER, 520, water_g=2600, centre_c=88.0)
        k.chill(hens, 15)

    def part(k: Kitchen) -> None:
        k.skim(hens, 96, keep_as="Hen fat")
        k.drain(hens, 3060, "Hen broth", spilled_g=25)
        k.pack(f"{hens} fat", TUB, [96], FRIDGE)
        k.pack(f"{hens} broth", TUB, k.equal_parts(f"{hens} broth", 4, 15), FREEZER)
        run[year] = dryer.start(k, FREEZE_DRYER, [hens] * 2, planned_hours=38.0, hour=18.0)

    def seal(k: Kitchen) -> None:
        for hour in (5.0, 8.0, 11.0, 14.0):
            dryer.weigh(k, run[year], hour)
        dryer.finish(k, run[year], 14.2, spilled_g=3)
        nets_g = k.equal_parts(hens, 4)
        k.pack(hens, PINT_POUCH, nets_g, LEFT_SHELF, absorber=ABSORBER, checked=True)

    days = (date(year, 2, 7), date(year, 2, 8), date(year, 2, 10))
    plan.job(MARIT, *zip(days, (simmer, part, seal), strict=True))
    plan.eat(f"{hens} broth", MARIT, date(year, 3, 3))
    plan.on(date(year, 4, 14), lambda k: k.eat_rest(f"{hens} broth", keep=1), MARIT)
    plan.eat(hens, JONAS, date(year, 8, 9))
    plan.on(date(year, 4, 10), lambda k: k.eat(f"{hens} fat", number=1), MARIT)


def _eggs(plan: Plan, year: int) -> None:
    """The glut of April: scrambled, freeze-dried, ground to powder."""
    eggs = f"eggs {year}"
    run: dict[int, dryer.Drying] = {}

    def scramble(k: Kitchen) -> None:
        k.take_in(eggs, "Eggs", EGGS, 3590, HENHOUSE)
        k.trim(eggs, 420, form=Form.LIQUID)
        k.cook(eggs, CookMethod.FRY, 210, centre_c=76.0)
        k.chill(eggs, readings=((0.0, 58.0), (0.6, 20.0), (1.5, 4.4)))
        run[year] = dryer.start(k, FREEZE_DRYER, [eggs] * 3, planned_hours=32.0, hour=18.0)

    def powder(k: Kitchen) -> None:
        for hour in (2.0, 5.0, 8.0, 11.0):
            dryer.weigh(k, run[year], hour)
        dryer.finish(k, run[year], 11.3)
        k.grind([eggs], "Egg powder, cooked", eggs, stuck_g=3, place=BENCH)
        nets_g = k.equal_parts(eggs, 3)
        k.pack(
            eggs,
            HALF_JAR,
            nets_g,
            LEFT_SHELF,
            absorber=ABSORBER,
            reason="For this winter's baking: fat will not have turned by then.",
        )

    plan.job(MARIT, (date(year, 4, 11), scramble), (date(year, 4, 13), powder))
    plan.eat(eggs, MARIT, date(year, 6, 30))


def _trout(plan: Plan, year: int) -> None:
    for day, grams in ((date(year, 5, 16), 3480), (date(year, 8, 29), 3820)):
        trout = f"trout {day.year}-{day.month}"

        def catch(k: Kitchen, trout: str = trout, grams: int = grams) -> None:
            k.take_in(trout, "Trout", TROUT, grams, POND)
            k.trim(trout, round(0.19 * grams))
            k.bag_for_freezer(trout, 5)

        plan.on(day, catch, TOBI)
    plan.on(date(year, 6, 20), lambda k: _roast(k, f"trout {year}-5", 1, 66.0), TOBI)
    plan.on(date(year, 7, 25), lambda k: _roast(k, f"trout {year}-5", 2, 67.0), TOBI)
    plan.on(date(year, 8, 8), lambda k: k.eat_rest(f"trout {year}-5", keep=1), TOBI)
    plan.on(date(year, 10, 2), lambda k: _roast(k, f"trout {year}-8", 1, 65.0), TOBI)


def _rabbits(plan: Plan, year: int) -> None:
    rabbits = f"rabbits {year}"

    def cut_up(k: Kitchen) -> None:
        k.take_in(rabbits, "Rabbit", RABBIT, 3920, HUTCH)
        k.trim(rabbits, 610, form=Form.PIECES)
        k.bag_for_freezer(rabbits, 4)

    plan.on(date(year, 8, 22), cut_up, TOBI)
    plan.on(date(year, 9, 27), lambda k: _roast(k, rabbits, 1, 78.0), JONAS)
