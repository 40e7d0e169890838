"""The whole kitchen: food comes in, is packed, moved, eaten, given away or thrown out."""

from collections.abc import Iterator, Sequence
from datetime import date
from itertools import cycle

from sqlalchemy.orm import Session

from app.ledger.game import GameIn
from app.ledger.holds import active_holds
from app.ledger.operations._post import BowlWeighed, Posted
from app.ledger.operations.correct import Correct, correct
from app.ledger.operations.hold import TestResult, test_result
from app.ledger.operations.intake import Intake, SourceIn, intake
from app.ledger.operations.leave import Leave, discard, eat, give
from app.ledger.operations.move import Move, move
from app.ledger.operations.open import Open, open_package
from app.ledger.operations.pack import Pack, pack
from app.ledger.operations.stocktake import Counted, Stocktake, stocktake
from app.ledger.queries.stock import stock_lines
from app.science.packaging import PackagingKind
from seed_demo.at_work import GRAM
from seed_demo.household import BENCH, BOWLS_G, FREEZER, LARGE_VACUUM_BAG, VACUUM_BAG
from seed_demo.larder import Fare
from seed_demo.stove import Stove

_FULL_BOWL_G = 2200  # what fits into a bowl and, with it, on a 3 kg scale
_FULL_QUART_G = 850  # moist food that a quart vacuum bag still closes over
_EDGE_SUCTION = 0.3  # of the air is left in a bag by the household's vacuum sealer


class Kitchen(Stove):
    """All verbs of the household; the session and the day are changed from outside."""

    def __init__(self, session: Session) -> None:
        """Learn where things are and line up the bowls."""
        super().__init__(session)
        self._bowls: Iterator[str] = cycle(BOWLS_G)

    def tally(self, nets_g: Sequence[tuple[str, int]]) -> tuple[BowlWeighed, ...]:
        """Bowls as they stand on the scale."""
        return tuple(
            BowlWeighed(
                bowl,
                (net_g + BOWLS_G[bowl]) * GRAM,
                f"{net_g + BOWLS_G[bowl]} g",
                BOWLS_G[bowl] * GRAM,
                f"{BOWLS_G[bowl]} g",
            )
            for bowl, net_g in nets_g
        )

    def _bowls_of(self, grams: int) -> tuple[BowlWeighed, ...]:
        count = -(-grams // _FULL_BOWL_G)
        nets = [grams // count + self.noise.randint(-40, 40) for _ in range(count - 1)]
        nets.append(grams - sum(nets))
        return self.tally([(next(self._bowls), net) for net in nets])

    def take_in(
        self,
        handle: str,
        name: str,
        fare: Fare,
        weight: int | Sequence[tuple[str, int]],
        source: SourceIn,
        *,
        place: str = BENCH,
        harvest: tuple[date, date] | None = None,
        kept_since: date | None = None,
        wrap: PackagingKind | None = None,
        game: GameIn | None = None,
        note: str = "",
    ) -> Posted:
        """Weigh something in: grams, or bowl by bowl. Harvested today unless said otherwise."""
        bowls = self._bowls_of(weight) if isinstance(weight, int) else self.tally(weight)
        request = Intake(
            name=name,
            food_ndb=fare.ndb,
            form=fare.form,
            source=source,
            bowls=bowls,
            place_id=self.places[place],
            done_on=self.day,
            harvest=harvest or (self.day, self.day),
            kept_since=kept_since,
            allergens=fare.allergens,
            wrap=wrap,
            game=game,
            note=note,
        )
        return self._call(intake(self.session, request, at=self.now(), by=self.by), handle)

    def pack(
        self,
        handle: str,
        packaging: str,
        nets_g: Sequence[int],
        place: str,
        *,
        into: str | None = None,
        absorber: str | None = None,
        pressure: float = 1.0,
        checked: bool = False,
        spilled_g: int = 0,
        note: str = "",
        reason: str = "",
    ) -> Posted:
        """Seal some or all of it into packages."""
        request = Pack(
            ref=self.ref(handle),
            packaging_id=self.packagings[packaging],
            net_mg=tuple(net_g * GRAM for net_g in nets_g),
            place_id=self.places[place],
            done_on=self.day,
            absorber_id=self.absorbers[absorber] if absorber else None,
            pressure_fraction=pressure,
            seal_checked=checked,
            spilled_mg=spilled_g * GRAM,
            note=note,
            reason=reason,
        )
        return self._call(pack(self.session, request, at=self.now(), by=self.by), into or handle)

    def equal_parts(self, handle: str, count: int, tolerance_g: int = 3) -> list[int]:
        """Net weights of about equal size, as they come out when filled by hand."""
        grams = self.grams(handle)
        nets = [
            grams // count + self.noise.randint(-tolerance_g, tolerance_g) for _ in range(count - 1)
        ]
        return [*nets, grams - sum(nets)]

    def bag_for_freezer(
        self, handle: str, count: int, *, into: str | None = None, reason: str = ""
    ) -> Posted:
        """All of it into vacuum bags and the freezer; a reason where it was thawed before."""
        nets_g = self.equal_parts(handle, count, tolerance_g=9)
        bag = VACUUM_BAG if max(nets_g) <= _FULL_QUART_G else LARGE_VACUUM_BAG
        return self.pack(
            handle,
            bag,
            nets_g,
            FREEZER,
            into=into,
            pressure=_EDGE_SUCTION,
            checked=True,
            reason=reason,
        )

    def move(
        self, handle: str, place: str, *, grams: int | None = None, note: str = "", reason: str = ""
    ) -> Posted:
        """Put it elsewhere: every package, or some grams of a loose lot."""
        request = Move(
            refs=tuple(line.ref for line in self.lines(handle)),
            place_id=self.places[place],
            done_on=self.day,
            mass_mg=None if grams is None else grams * GRAM,
            note=note,
            reason=reason,
        )
        return move(self.session, request, at=self.now(), by=self.by)

    def result(self, handle: str, *, is_detected: bool, note: str = "") -> Posted:
        """Write the result of the test that a lot waits for."""
        (hold,) = (h for h in active_holds(self.session) if h.lot_id == self.lots[handle])
        request = TestResult(hold.id, is_detected, self.day, note)
        return test_result(self.session, request, at=self.now(), by=self.by)

    def open(self, handle: str, number: int = 1) -> Posted:
        """Break a seal."""
        request = Open((self.ref(handle, number),), self.day)
        return open_package(self.session, request, at=self.now(), by=self.by)

    def _leave(
        self, handle: str, grams: int | None, number: int | None, words: str, note: str
    ) -> Leave:
        mass_mg = None if grams is None else grams * GRAM
        return Leave((self.ref(handle, number),), self.day, mass_mg, words, note)

    def eat(
        self, handle: str, grams: int | None = None, *, number: int | None = None, note: str = ""
    ) -> Posted:
        """Eat some, or a package, or all of a loose lot."""
        request = self._leave(handle, grams, number, "", note)
        return eat(self.session, request, at=self.now(), by=self.by)

    def eat_rest(self, handle: str, keep: int = 0) -> Posted:
        """Write down together what was eaten over some weeks, all but the last packages."""
        refs = tuple(line.ref for line in self.lines(handle))
        request = Leave(
            refs[: len(refs) - keep], self.day, note="Over some weeks, written down together"
        )
        return eat(self.session, request, at=self.now(), by=self.by)

    def give(
        self, handle: str, whom: str, grams: int | None = None, *, number: int | None = None
    ) -> Posted:
        """Give some away."""
        request = self._leave(handle, grams, number, whom, "")
        return give(self.session, request, at=self.now(), by=self.by)

    def discard(
        self, handle: str, why: str, grams: int | None = None, *, number: int | None = None
    ) -> Posted:
        """Throw some away."""
        request = self._leave(handle, grams, number, why, "")
        return discard(self.session, request, at=self.now(), by=self.by)

    def take_stock(self, place: str, missing: str, number: int, why: str) -> Posted:
        """Walk one place: all is there but one package."""
        gone = self.ref(missing, number)
        lines = stock_lines(self.session, place_id=self.places[place], one_by_one=True)
        counted = tuple(
            Counted(line.ref, 0 if line.ref == gone else line.mass_mg) for line in lines
        )
        request = Stocktake(self.places[place], counted, self.day, why)
        return stocktake(self.session, request, at=self.now(), by=self.by)

    def take_back(self, posted: Posted, why: str) -> Posted:
        """Undo what was written by mistake."""
        request = Correct(posted.operation_id, self.day, why)
        return correct(self.session, request, at=self.now(), by=self.by)
