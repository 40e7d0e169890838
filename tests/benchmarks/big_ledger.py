"""A ledger far bigger than a household's: 100,000 lots and a million entries, as one data file.

    python -m tests.benchmarks.big_ledger FOLDER [SCALE]

Ten years of the same autumn, over and over: two meats and celery are taken in, ground together,
simmered, split, blended again, packed, carried about and eaten, with holds, looks and things that
went wrong on the way. Rows are written in bulk, but every trigger and CHECK of the file stands and
`stillroom check` passes on it. The same scale gives the same ledger.
"""

import random
import sqlite3
import sys
from collections import defaultdict
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from app.ledger import schema, windows
from app.ledger.book import Book
from app.ledger.household import (
    AbsorberIn,
    FirstRun,
    PackagingIn,
    PlaceIn,
    Settings,
    set_up,
)
from app.ledger.mass import share_out
from app.ledger.models import Stock
from app.ledger.models.base import Base
from app.ledger.words import PlaceKind, UnitSystem
from app.science.packaging import PackagingKind

TODAY = date(2026, 11, 20)
NOW = datetime(2026, 11, 20, 18, tzinfo=UTC)
MOTHER = 1  # the lot whose descendants are traced: a jar of seasoned fat that went into many pots
CHAINS = 10_000  # at scale 1; ten lots and about 102 entries each
MOTHER_CHAINS = 1_430  # with seven descendants each: 10,010
KEPT_CHAINS = 80  # the newest, of which every package is still there
FREEZER, FRIDGE, BENCH, PANTRY, CELLAR, DRYER, SECOND = 1, 2, 3, 4, 5, 6, 7
G = 1000
_DAYS = 3650
_DONE = {"grind": frozenset({"ground"}), "cook": frozenset({"cooked"})}
_ORDER = [
    "source",
    "operation",
    "lot",
    "lot_treatment",
    "lot_allergen",
    "lot_mark",
    "package",
    "entry",
    "addition",
    "loss",
    "flow",
    "checkpoint",
    "hold",
    "release",
    "incident",
    "incident_lot",
    "check_done",
    "climate",
    "place_reading",
    "stock",
    "balance",
]
_MEAT = (0.70, 0.20, 0.09, 0.0, 0.0, 0.01)
_GREEN = (0.95, 0.01, 0.0, 0.03, 0.01, 0.0)
_POT = (0.78, 0.14, 0.06, 0.01, 0.0, 0.01)


@dataclass(slots=True)
class Made:
    """What is known of a lot on the way: where it lies, how much is left, what it passes on."""

    id: int
    place: int
    left_mg: int
    harvest: date
    raw: bool
    allergens: frozenset[str]
    marks: frozenset[str]
    treatments: frozenset[str] = frozenset()
    packages: dict[int, int] = field(default_factory=dict)  # number to mass left


class Writer:
    """Rows of every table, numbered here and written in bulk, the balances last."""

    def __init__(self, connection: sqlite3.Connection) -> None:
        self.connection = connection
        self.rows: dict[str, list[tuple[object, ...]]] = defaultdict(list)
        self.last: dict[str, int] = defaultdict(int)
        self.total: dict[str, int] = defaultdict(int)
        self.sums: dict[int, list[int]] = {}
        self.stock: dict[tuple[int, int | None, int], int] = defaultdict(int)
        self.opened: dict[int, date] = {}
        self.columns = {t.name: t.columns.keys() for t in Base.metadata.sorted_tables}

    def add(self, table: str, *values: object) -> int:
        """A row with a number of its own."""
        self.last[table] += 1
        self.put(table, self.last[table], *values)
        return self.last[table]

    def put(self, table: str, *values: object) -> None:
        """A row as it stands."""
        self.rows[table].append(values)

    def operation(
        self, kind: str, on: date, reverses: int | None = None, *, note: str = "", method: str = ""
    ) -> int:
        """An operation, still without lines."""
        day = min(on, TODAY)
        at = f"{day.isoformat()}T17:00:00.000Z"
        person = 1 + self.last["operation"] % 2
        number = self.add("operation", kind, day.isoformat(), at, person, note, method, reverses)
        self.sums[number] = [0, 0, 0, 0]  # taken, added, made, lost
        return number

    def entry(self, op: int, lot: int, package: int | None, place: int, mass_mg: int) -> None:
        """One line, and what it does to the stock and the sums."""
        self.add("entry", op, lot, package, place, mass_mg)
        self.stock[lot, package, place] += mass_mg
        if not self.stock[lot, package, place]:
            del self.stock[lot, package, place]
        self.sums[op][2 if mass_mg > 0 else 0] += abs(mass_mg)

    def addition(self, op: int, kind: str, mass_mg: int) -> None:
        """Mass that came in."""
        self.add("addition", op, kind, mass_mg, "")
        self.sums[op][1] += mass_mg

    def loss(self, op: int, kind: str, mass_mg: int, words: str = "") -> None:
        """Mass that left."""
        self.add("loss", op, kind, mass_mg, words)
        self.sums[op][3] += mass_mg

    def flush(self) -> None:
        """Write what has been gathered; the database checks all of it."""
        self.rows["balance"] = [(op, *sums) for op, sums in self.sums.items()]
        self.sums = {}
        with self.connection:
            for table in _ORDER:
                rows, columns = self.rows[table], self.columns[table]
                marks = ", ".join("?" * len(columns))
                insert = f"INSERT INTO {table} ({', '.join(columns)}) VALUES ({marks})"
                self.connection.executemany(insert, rows)
                self.total[table] += len(rows)
        self.rows.clear()


class Household:
    """The same work again and again, with what goes on beside it."""

    def __init__(self, writer: Writer, chains: int, chance: random.Random) -> None:
        self.w, self.chains, self.chance = writer, chains, chance
        self.mother = self._mother()
        self.carried: Made | None = None
        self.kept: list[Made] = []
        self.newest_meat = 0
        self.reached = round(MOTHER_CHAINS * chains / CHAINS)
        self.newest = max(1, round(KEPT_CHAINS * chains / CHAINS))

    # -- lots --------------------------------------------------------------------------------

    def _lot(
        self,
        op: int,
        name: str,
        on: date,
        made: Made,
        what: tuple[str, str],
        source: int | None = None,
    ) -> Made:
        made.id = self.w.add("lot", op, source, *self._columns(name, on, made, what))
        for allergen in sorted(made.allergens):
            self.w.put("lot_allergen", made.id, allergen, "contains")
        for mark in sorted(made.marks):
            self.w.put("lot_mark", made.id, mark)
        for treatment in sorted(made.treatments):
            self.w.put("lot_treatment", made.id, treatment)
        return made

    @staticmethod
    def _columns(name: str, on: date, made: Made, what: tuple[str, str]) -> tuple[object, ...]:
        food_class, form = what
        parts = {"vegetable": _GREEN, "dish": _POT}.get(food_class, _MEAT)
        harvest = made.harvest.isoformat()
        return (
            *(name, None, food_class, form, int(made.raw), harvest, harvest),
            *(min(on, TODAY).isoformat(), *parts, "computed", None, None, 0, None, 0.0),
            PackagingKind.TUB,
        )

    def intake(
        self, name: str, mass_mg: int, on: date, what: tuple[str, str], **passes: object
    ) -> Made:
        """Something new, from a source of its own."""
        op = self.w.operation("intake", on)
        kind = "plot" if what[0] == "vegetable" else "animal"
        source = self.w.add("source", kind, name.split()[0], f"T-{op}", "", 0)
        made = Made(
            0,
            FRIDGE,
            mass_mg,
            on - timedelta(days=3),
            what[0] != "vegetable",
            frozenset(),
            frozenset(),
        )
        made.allergens = passes.get("allergens", made.allergens)  # type: ignore[assignment]
        made.marks = passes.get("marks", made.marks)  # type: ignore[assignment]
        self._lot(op, name, on, made, what, source)
        self.w.addition(op, "intake", mass_mg)
        self.w.entry(op, made.id, None, FRIDGE, mass_mg)
        return made

    def work(
        self, kind: str, name: str, parts: list[tuple[Made, int]], on: date, *,
        what: tuple[str, str], place: int, added_mg: int = 0, lost: str = "", lost_mg: int = 0,
        packs: int = 0, raw: bool | None = None,
    ) -> Made:  # fmt: skip
        """One lot made of parts of others; with packs it is packed."""
        op = self.w.operation(kind, on, method="simmer" if kind == "cook" else "")
        taken = sum(mass for _, mass in parts)
        made_mg = taken + added_mg - lost_mg
        sources = [part for part, _ in parts]
        made = Made(
            0, place, made_mg, min(s.harvest for s in sources),
            any(s.raw for s in sources) if raw is None else raw,
            frozenset().union(*(s.allergens for s in sources)),
            frozenset().union(*(s.marks for s in sources)),
            _DONE.get(kind, frozenset()).union(*(s.treatments for s in sources)),
        )  # fmt: skip
        self._lot(op, name, on, made, what)
        if packs:
            self._packages(op, made, packs, on)
        else:
            self.w.entry(op, made.id, None, place, made_mg)
        for (part, mass), flowed in zip(
            parts, share_out(made_mg, [*(m for _, m in parts), added_mg]), strict=False
        ):
            part.left_mg -= mass
            self.w.entry(op, part.id, None, part.place, -mass)
            self.w.put("flow", op, part.id, made.id, flowed)
        if added_mg:
            self.w.addition(op, "water", added_mg)
        if lost_mg:
            self.w.loss(op, lost, lost_mg)
        if kind == "cook":
            words = "75 °C in the middle, 74 °C asked for."
            self.w.add("checkpoint", op, "cook.centre", "1", "pass", words, "", None)
        return made

    def _packages(self, op: int, made: Made, packs: int, on: date) -> None:
        day = min(on, TODAY).isoformat()
        for number, mass in enumerate(share_out(made.left_mg, [1] * packs), start=1):
            package = self.w.add(
                "package", made.id, number, packs, mass, 1 + made.id % 2, None, 0.2, 1, day
            )
            made.packages[package] = mass
            self.w.entry(op, made.id, package, made.place, mass)

    def move(self, made: Made, place: int, on: date) -> None:
        """Every package of a lot to another place."""
        op = self.w.operation("move", on)
        for package, mass in made.packages.items():
            self.w.entry(op, made.id, package, made.place, -mass)
            self.w.entry(op, made.id, package, place, mass)
        made.place = place

    def leave(self, made: Made, package: int | None, mass: int, on: date) -> int:
        """Eaten, or now and then given or thrown away."""
        kind, loss, words = self.chance.choices(
            (("eat", "eaten", ""), ("give", "given", "Morag"), ("discard", "discarded", "burst")),
            (90, 7, 3),
        )[0]
        op = self.w.operation(kind, on)
        self.w.entry(op, made.id, package, made.place, -mass)
        self.w.loss(op, loss, mass, words)
        return op

    def take_back(self, op: int, made: Made, package: int | None, mass: int, on: date) -> None:
        """A correction of food that left."""
        back = self.w.operation("correct", on, op, note="wrong pack")
        self.w.entry(back, made.id, package, made.place, mass)
        self.w.addition(back, "reversed", mass)

    # -- a chain -----------------------------------------------------------------------------

    def chain(self, i: int) -> None:
        """From three intakes to twelve or more packages, and what became of them."""
        on = TODAY - timedelta(days=_DAYS - 20 - i * (_DAYS - 40) // self.chains)
        lead = frozenset({"lead"}) if i % 3 == 0 else frozenset()
        moose = self.intake("Moose trim", 3000 * G, on, ("game", "pieces"), marks=lead)
        pork = self.intake("Pork trim", 1500 * G + i, on, ("pork", "pieces"))
        self.newest_meat = moose.id
        celery = self.intake(
            "Celery", 400 * G, on, ("vegetable", "pieces"), allergens=frozenset({"celery"})
        )
        if i % 10 == 0:
            self._held_for_a_while(moose, on)
        parts = [(moose, 3000 * G), (pork, 1500 * G + i), (celery, 400 * G)]
        if i < self.reached:
            parts.append((self.mother, 10 * G))
        if self.carried is not None:
            parts.append((self.carried, self.carried.left_mg))
        mince = self.work("grind", "Mince", parts, on, what=("dish", "ground"), place=FRIDGE)
        pot = self.work(
            "cook", "Moose pot", [(mince, mince.left_mg)], on + timedelta(days=1),
            what=("dish", "pieces"), place=FRIDGE, added_mg=1000 * G, lost="evaporated",
            lost_mg=300 * G, raw=False,
        )  # fmt: skip
        self._split_and_packed(i, pot, on + timedelta(days=2))
        self.carried = pot if i % 8 != 7 and i != self.chains - 1 else None
        if self.carried is None and i < self.chains - self.newest:
            self.leave(pot, None, pot.left_mg, on + timedelta(days=2))

    def _split_and_packed(self, i: int, pot: Made, on: date) -> None:
        dish = ("dish", "pieces")
        first = self.work(
            "portion", "Pot, first part", [(pot, 2500 * G)], on, what=dish, place=FRIDGE
        )
        second = self.work("portion", "Pot, rest", [(pot, 2500 * G)], on, what=dish, place=FRIDGE)
        both = self.work(
            "blend", "Pot, blended", [(first, 900 * G), (second, 2000 * G)], on,
            what=dish, place=FRIDGE,
        )  # fmt: skip
        packs = [
            self.work(
                "pack", f"{part.id % 7 + 2} portions", [(part, part.left_mg)], on, what=dish,
                place=FRIDGE, packs=7,
            )
            for part in (first, both)
        ]  # fmt: skip
        for lot in packs:
            self.move(lot, SECOND if i % 2 else FREEZER, on)
            self.move(lot, FREEZER if i % 2 else SECOND, on + timedelta(days=1))  # one was full
        if i % 20 == 0:
            self._looks(packs[0], on)
        if i >= self.chains - self.newest:
            self.kept += packs
            return
        self.leave(second, None, second.left_mg, on + timedelta(days=1))
        self._eaten(i, packs, on)

    def _eaten(self, i: int, packs: list[Made], on: date) -> None:
        spared = i % 14 == 0
        for lot in packs:
            for package, mass in list(lot.packages.items())[spared and lot is packs[0] :]:
                day = on + timedelta(days=self.chance.randrange(1, 18))
                op = self.leave(lot, package, mass, day)
                if self.chance.random() < 0.02:
                    self.take_back(op, lot, package, mass, day)
                    self.leave(lot, package, mass, day)

    # -- beside the work -----------------------------------------------------------------------

    def _mother(self) -> Made:
        fat = ("fat", "pieces")
        return self.intake("Seasoned fat", 20_000 * G, TODAY - timedelta(days=_DAYS), fat)

    def _held_for_a_while(self, lot: Made, on: date) -> None:
        put = self.w.operation("hold", on)
        hold = self.w.add("hold", put, lot.id, "test_awaited", "")
        self.w.put("release", self.w.operation("release", on), hold, "not_detected")

    def _looks(self, lot: Made, on: date) -> None:
        seal = self.w.operation("check", on + timedelta(days=1))
        self.w.put("check_done", seal, "seal", "fine", lot.id, None)
        out = self.w.operation("incident", on + timedelta(days=1))
        day = min(on + timedelta(days=1), TODAY).isoformat()
        self.w.put(
            "incident", out, "power_out", FREEZER, f"{day}T08:00:00.000Z", f"{day}T11:00:00.000Z",
            2.0, 0.0, None, None,
        )  # fmt: skip
        for package in list(lot.packages)[:3]:
            self.w.add("incident_lot", out, lot.id, package, 1, 0.0, 2.0, "keep", None)

    def thermometers(self) -> None:
        """A reading of the freezer and the refrigerator every week, and what was said of places."""
        for week in range(_DAYS // 7):
            day = TODAY - timedelta(days=_DAYS - 7 * week)
            for place, temp_c in ((FREEZER, -18.5), (FRIDGE, 4.0)):
                op = self.w.operation("check", day)
                at = f"{day.isoformat()}T09:00:00.000Z"
                self.w.put("check_done", op, "thermometer", "fine", None, place)
                self.w.add("place_reading", op, place, at, temp_c, None, f"{temp_c}")
        for year in range(10):
            op = self.w.operation("climate", TODAY - timedelta(days=_DAYS - 365 * year))
            for month in range(1, 13):
                low = 6.0 + abs(month - 6.5) % 4
                since = f"{2016 + year}-12-01T00:00:00.000Z"
                self.w.add(
                    "climate", op, PANTRY, since, month, low, low + 2, low + 4, 0.6, "stated"
                )

    def holds_that_stand(self) -> None:
        """Three lots of packages, and the meat of one of the newest pots with all made of it."""
        for lot_id in (*(lot.id for lot in self.kept[:3]), self.newest_meat):
            op = self.w.operation("hold", TODAY)
            self.w.add("hold", op, lot_id, "recall", "the jars")

    def opened(self) -> None:
        """A few packages whose seal is broken."""
        for lot in self.kept[4:24]:
            package, mass = next(iter(lot.packages.items()))
            op = self.w.operation("open", TODAY - timedelta(days=1))
            self.w.entry(op, lot.id, package, lot.place, -mass)
            self.w.entry(op, lot.id, package, lot.place, mass)
            self.w.opened[package] = TODAY - timedelta(days=1)


def build(path: Path, scale: float = 1.0) -> dict[str, int]:
    """Write the ledger to a new file.

    Args:
        path: the file. scale: 1 gives 100,000 lots and a million entries.
    Returns:
        How many rows each table has.
    """
    schema.bring_up(path)
    book = Book(path)
    with book.writing() as session:
        set_up(session, _household(), at=NOW - timedelta(days=_DAYS))
    connection = sqlite3.connect(path)
    connection.execute("PRAGMA foreign_keys=ON")
    connection.execute("PRAGMA synchronous=OFF")  # nobody minds if this file has to be made again
    writer = Writer(connection)
    chains = max(30, round(CHAINS * scale))
    work = Household(writer, chains, random.Random(20261120))  # noqa: S311 (no secret)
    work.thermometers()
    for i in range(chains):
        work.chain(i)
        if i % 500 == 499:
            writer.flush()
    work.opened()
    work.holds_that_stand()
    _stock(writer)
    writer.flush()
    connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    connection.close()
    with book.writing() as session:
        windows.refresh(session, session.query(Stock).all())
    book.close()
    return dict(writer.total)


def _stock(writer: Writer) -> None:
    for (lot, package, place), mass in sorted(writer.stock.items(), key=str):
        opened = writer.opened.get(package or 0)
        day = opened.isoformat() if opened else None
        writer.add("stock", lot, package, place, mass, day)


def _household() -> FirstRun:
    kinds = PlaceKind
    return FirstRun(
        Settings("Birkbrae", UnitSystem.METRIC, 310.0, "Europe/London"),
        ("Ailsa", "Ewan"),
        (
            PlaceIn("Chest freezer", kinds.FREEZER, (-20.0, -18.0, -16.0)),
            PlaceIn("Fridge", kinds.FRIDGE, (2.0, 4.0, 6.0)),
            PlaceIn("Kitchen", kinds.BENCH, (16.0, 18.0, 22.0)),
            PlaceIn("Pantry", kinds.ROOM, (10.0, 14.0, 18.0)),
            PlaceIn("Cold cellar", kinds.ROOM, (6.0, 8.0, 12.0)),
            PlaceIn("Freeze-dryer", kinds.FREEZE_DRYER, (15.0, 20.0, 25.0), tray_count=4),
            PlaceIn("Second freezer", kinds.FREEZER, (-20.0, -18.0, -16.0)),
        ),
        (
            PackagingIn("Jar, 1 l", PackagingKind.GLASS_JAR, 1000.0),
            PackagingIn("Vacuum bag", PackagingKind.VACUUM_BAG, 1500.0, 900.0),
        ),
        (AbsorberIn("300", 300.0),),
    )


def main() -> None:
    """Make one and say how big it is."""
    folder, scale = Path(sys.argv[1]), float(sys.argv[2]) if len(sys.argv) > 2 else 1.0
    folder.mkdir(parents=True, exist_ok=True)
    for table, count in build(folder / "stillroom.db", scale).items():
        print(f"{table:15} {count:9,}")


if __name__ == "__main__":
    main()
