"""The moose share of October: from five bowls on the scale to pouches on the pantry shelf."""

from datetime import date

from app.ledger.game import GameIn
from app.ledger.operations.cook import CookMethod
from app.ledger.operations.intake import SourceIn
from app.ledger.words import Ammunition, SourceKind
from app.science.packaging import PackagingKind
from app.science.safety.game import CwdStatus
from seed_demo import dryer
from seed_demo.household import (
    ABSORBER,
    BENCH,
    DEHYDRATOR,
    ELNA,
    FREEZE_DRYER,
    FREEZER,
    FRIDGE,
    HALF_JAR,
    JAR,
    JONAS,
    LEFT_SHELF,
    MARIT,
    PINT_POUCH,
    QUART_POUCH,
)
from seed_demo.kitchen import Kitchen
from seed_demo.larder import GARDEN, MOOSE_TRIM, SWEETCORN, moose_share
from seed_demo.plan import Plan

BOWLS = (
    ("blue enamel bowl", 1855),
    ("glass bowl", 1891),
    ("steel bowl", 1892),
    ("blue enamel bowl", 1786),
    ("steel bowl", 1776),
)
OLDER_PACKET_G = 1600
COLD_ALL_ALONG = "Thawed in the refrigerator the day before, and cold all along."
BURGERS_G = 2000
BURGER_FAT = 0.15
POUCH_G = 330


def plan_story(plan: Plan, year: int) -> None:
    """October of a year, and the month after."""
    Story(year).plan(plan)


class Story:
    """The moose, its broth and the sweetcorn that dries meanwhile."""

    def __init__(self, year: int) -> None:
        """Set the year."""
        self.year = year
        self.runs: dict[str, dryer.Drying] = {}

    def plan(self, plan: Plan) -> None:
        """Put every step on its day."""
        october = [date(self.year, 10, 1)] + [date(self.year, 10, d) for d in range(1, 32)]
        plan.on(october[8], self.find_older_packet, JONAS)
        plan.on(october[9], self.thaw_for_grinding, JONAS)
        plan.on(october[10], self.take_in, MARIT)
        plan.on(october[11], self.grind, JONAS)
        plan.on(october[11], self.make_burgers, JONAS)
        plan.on(october[11], self.simmer, MARIT)
        plan.on(october[12], self.part_the_pot, MARIT)
        plan.on(october[12], self.load_meat, MARIT)
        plan.on(october[12], self.pick_sweetcorn, ELNA)
        plan.on(october[13], self.weigh_sweetcorn, ELNA)
        plan.on(october[14], self.weigh_meat, MARIT)
        plan.on(october[14], self.pack_meat, MARIT)
        plan.on(october[15], self.reduce_broth, JONAS)
        plan.on(october[17], self.powder_broth, JONAS)
        november = date(self.year, 11, 14)
        plan.on(november, lambda k: k.eat("moose pouches", number=1, note="Sunday ragù"), MARIT)
        plan.on(november, lambda k: k.give("moose pouches", "Astrid at the mill", number=2), ELNA)

    def find_older_packet(self, k: Kitchen) -> None:
        """Found at the bottom of the freezer; nobody knows more than the autumn."""
        autumn = self.year - 2
        k.take_in(
            "older moose",
            "Moose trim, older packet",
            MOOSE_TRIM,
            OLDER_PACKET_G,
            SourceIn(SourceKind.GIFT, "moose", from_whom="Uncle Henning"),
            place=FREEZER,
            harvest=(date(autumn, 9, 1), date(autumn, 11, 30)),
            kept_since=date(autumn, 10, 15),
            wrap=PackagingKind.VACUUM_BAG,
            note="A gift, never labelled properly; found when making room.",
        )

    def thaw_for_grinding(self, k: Kitchen) -> None:
        k.thaw("older moose", drip_g=38)
        k.thaw("back-fat", 420, into="thawed back-fat")

    def take_in(self, k: Kitchen) -> None:
        shot = date(self.year, 10, 3)
        k.take_in(
            "moose",
            "Moose trim",
            MOOSE_TRIM,
            BOWLS,
            moose_share(self.year),
            place=FRIDGE,
            harvest=(shot, shot),
            game=GameIn(
                Ammunition.LEAD_FREE, cwd_status=CwdStatus.NOT_DETECTED, hours_to_cold=14.0
            ),
            note="Our share, lean trim",
        )

    def grind(self, k: Kitchen) -> None:
        k.grind(
            ["moose", "older moose"],
            "Moose mince",
            "mince",
            trimmed_g=214,
            stuck_g=46,
            unexplained_g=5,
        )
        k.portion("mince", BURGERS_G, "Moose for burgers", "burgers", place=BENCH)

    def make_burgers(self, k: Kitchen) -> None:
        fat_g = k.fat_needed_g("burgers", "thawed back-fat", BURGER_FAT)
        k.blend("burgers", "thawed back-fat", "Moose burgers", "burgers", other_g=fat_g, stuck_g=11)
        k.bag_for_freezer("burgers", 4, reason=COLD_ALL_ALONG)
        k.discard("thawed back-fat", "Left over, hung out for the tits")

    def simmer(self, k: Kitchen) -> None:
        k.cook("mince", CookMethod.SIMMER, 684, water_g=2000, centre_c=74.0, into="moose pot")
        k.chill("moose pot", 21)

    def part_the_pot(self, k: Kitchen) -> None:
        k.skim("moose pot")  # none had set, the meat is that lean
        broth_g = k.grams("moose pot") - 5950 - 14
        k.drain("moose pot", broth_g, "Moose broth", spilled_g=14)

    def load_meat(self, k: Kitchen) -> None:
        self.runs["meat"] = dryer.start(
            k, FREEZE_DRYER, ["moose pot"] * 4, planned_hours=38.0, hour=15.0
        )

    def pick_sweetcorn(self, k: Kitchen) -> None:
        k.take_in("corn", "Sweetcorn", SWEETCORN, 6840, GARDEN)
        k.trim("corn", 3395)
        k.blanch("corn", 52)
        self.runs["corn"] = dryer.start(k, DEHYDRATOR, ["corn"] * 5, planned_hours=14.0, hour=17.0)

    def weigh_sweetcorn(self, k: Kitchen) -> None:
        for hour in (6.0, 9.0, 12.0, 15.0):
            dryer.weigh(k, self.runs["corn"], hour)
        dryer.finish(k, self.runs["corn"], 15.2, spilled_g=3)
        nets_g = k.equal_parts("corn", 3)
        k.pack("corn", HALF_JAR, nets_g, LEFT_SHELF, absorber=ABSORBER, checked=True)

    def weigh_meat(self, k: Kitchen) -> None:
        for hour in (6.0, 9.0, 12.0):
            dryer.weigh(k, self.runs["meat"], hour)
        dryer.finish(k, self.runs["meat"], 12.3, spilled_g=4)

    def pack_meat(self, k: Kitchen) -> None:
        nets_g = [POUCH_G + k.noise.randint(-3, 3) for _ in range(5)]
        k.pack(
            "moose pot",
            QUART_POUCH,
            nets_g,
            BENCH,
            into="moose pouches",
            absorber=ABSORBER,
            checked=True,
        )
        rest = [k.grams("moose pot")]
        k.pack("moose pot", JAR, rest, BENCH, into="moose jar", absorber=ABSORBER)
        k.move("moose pouches", LEFT_SHELF)
        k.move("moose jar", LEFT_SHELF)

    def reduce_broth(self, k: Kitchen) -> None:
        k.cook("moose pot broth", CookMethod.REDUCE, k.grams("moose pot broth") - 1240)
        self.runs["broth"] = dryer.start(
            k, FREEZE_DRYER, ["moose pot broth"] * 2, planned_hours=30.0, hour=16.0
        )

    def powder_broth(self, k: Kitchen) -> None:
        for hour in (1.0, 4.0, 7.0, 10.0):
            dryer.weigh(k, self.runs["broth"], hour)
        dryer.finish(k, self.runs["broth"], 10.3)
        k.grind(["moose pot broth"], "Moose broth powder", "powder", stuck_g=2, place=BENCH)
        k.pack(
            "powder",
            PINT_POUCH,
            k.equal_parts("powder", 2),
            LEFT_SHELF,
            absorber=ABSORBER,
            checked=True,
        )
