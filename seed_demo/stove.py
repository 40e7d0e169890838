"""Thawing, cutting, mixing, heating and cooling."""

from collections.abc import Sequence

from app.ledger.operations._post import Posted
from app.ledger.operations.blanch import Blanch, blanch
from app.ledger.operations.blend import Blend, blend, fat_needed_mg
from app.ledger.operations.chill import Chill, CoolingReading, chill
from app.ledger.operations.cook import Centre, Cook, CookMethod, cook
from app.ledger.operations.drain import Drain, drain
from app.ledger.operations.grind import Grind, Part, grind
from app.ledger.operations.measure import Measure, Value, measure
from app.ledger.operations.portion import Portion, portion
from app.ledger.operations.skim import Skim, skim
from app.ledger.operations.thaw import Thaw, thaw
from app.ledger.operations.trim import Trim, trim
from app.ledger.words import MeasuredBy, ReadingKind
from app.science.classes import Form
from app.science.safety.thawing import ThawWay
from seed_demo.at_work import GRAM, AtWork
from seed_demo.household import BENCH, FRIDGE

COOLED_IN_ICE = ((0.0, 71.0), (0.5, 57.0), (1.4, 33.0), (2.2, 20.0), (5.4, 4.6))
"""Hours after cooking and °C: a pot in shallow pans in ice water, then in the fridge."""


class Stove(AtWork):
    """What is done to food between the store and the table."""

    def thaw(
        self,
        handle: str,
        grams: int | None = None,
        *,
        number: int | None = None,
        into: str | None = None,
        drip_g: int = 0,
    ) -> Posted:
        """Thaw in the fridge."""
        request = Thaw(
            ref=self.ref(handle, number),
            mass_mg=self._taken(handle, grams, number),
            way=ThawWay.REFRIGERATOR,
            place_id=self.places[FRIDGE],
            done_on=self.day,
            drip_mg=drip_g * GRAM,
            pack_opened=True,  # the bag is slit as it goes into the fridge
        )
        posted = thaw(self.session, request, at=self.now(), by=self.by)
        return self._call(posted, into or handle)

    def meter(self, handle: str, water_percent: float) -> Posted:
        """Read the moisture meter."""
        typed = f"water {water_percent:g} %"
        value = Value(ReadingKind.WATER, water_percent / 100.0, MeasuredBy.METER, typed)
        ref = self.lines(handle)[0].ref
        return measure(self.session, Measure(ref, (value,), self.day), at=self.now(), by=self.by)

    def trim(
        self,
        handle: str,
        trimmed_g: int,
        *,
        grams: int | None = None,
        place: str = BENCH,
        form: Form | None = None,
        into: str | None = None,
    ) -> Posted:
        """Cut away what is not kept."""
        mass_mg = self._taken(handle, grams)
        request = Trim(
            ref=self.ref(handle),
            mass_mg=mass_mg,
            made_mg=mass_mg - trimmed_g * GRAM,
            trimmed_mg=trimmed_g * GRAM,
            place_id=self.places[place],
            done_on=self.day,
            form=form,
        )
        return self._call(trim(self.session, request, at=self.now(), by=self.by), into or handle)

    def grind(
        self,
        handles: Sequence[str],
        name: str,
        into: str,
        *,
        trimmed_g: int = 0,
        stuck_g: int = 0,
        unexplained_g: int = 0,
        place: str = FRIDGE,
    ) -> Posted:
        """Put whole lots through the grinder together."""
        parts = tuple(Part(self.ref(h), self.line(h).mass_mg) for h in handles)
        lost_g = trimmed_g + stuck_g + unexplained_g
        request = Grind(
            parts=parts,
            name=name,
            made_mg=sum(part.mass_mg for part in parts) - lost_g * GRAM,
            place_id=self.places[place],
            done_on=self.day,
            trimmed_mg=trimmed_g * GRAM,
            stuck_mg=stuck_g * GRAM,
            unexplained_mg=unexplained_g * GRAM,
        )
        return self._call(grind(self.session, request, at=self.now(), by=self.by), into)

    def portion(self, handle: str, grams: int, name: str, into: str, *, place: str) -> Posted:
        """Split some off."""
        request = Portion(self.ref(handle), grams * GRAM, name, self.places[place], self.day)
        return self._call(portion(self.session, request, at=self.now(), by=self.by), into)

    def fat_needed_g(self, handle: str, fat: str, target: float) -> int:
        """Grams of a fatty lot for a target fat fraction, to the step of the scale."""
        mass_mg = self.line(handle).mass_mg
        return round(
            fat_needed_mg(self.session, self.ref(handle), mass_mg, self.ref(fat), target) / GRAM
        )

    def blend(
        self,
        handle: str,
        other: str,
        name: str,
        into: str,
        *,
        other_g: int | None = None,
        stuck_g: int = 0,
        salt_g: int = 0,
        place: str = BENCH,
    ) -> Posted:
        """Work one lot into another, whole unless grams are given."""
        mass_mg, other_mg = self._taken(handle, None), self._taken(other, other_g)
        request = Blend(
            ref=self.ref(handle),
            mass_mg=mass_mg,
            other_ref=self.ref(other),
            other_mass_mg=other_mg,
            name=name,
            made_mg=mass_mg + other_mg + (salt_g - stuck_g) * GRAM,
            place_id=self.places[place],
            done_on=self.day,
            seasoning_mg=salt_g * GRAM,
            seasoning_words="salt" if salt_g else "",
            stuck_mg=stuck_g * GRAM,
        )
        return self._call(blend(self.session, request, at=self.now(), by=self.by), into)

    def cook(
        self,
        handle: str,
        method: CookMethod,
        evaporated_g: int,
        *,
        water_g: int = 0,
        centre_c: float | None = None,
        rest_minutes: float = 0.0,
        grams: int | None = None,
        into: str | None = None,
    ) -> Posted:
        """Cook on the stove."""
        mass_mg = self._taken(handle, grams)
        centre = None if centre_c is None else Centre(centre_c, "C", centre_c, f"{centre_c:g} °C")
        request = Cook(
            ref=self.ref(handle),
            mass_mg=mass_mg,
            method=method,
            made_mg=mass_mg + (water_g - evaporated_g) * GRAM,
            place_id=self.places[BENCH],
            done_on=self.day,
            water_mg=water_g * GRAM,
            centre=centre,
            rest_minutes=rest_minutes,
        )
        return self._call(cook(self.session, request, at=self.now(), by=self.by), into or handle)

    def chill(
        self,
        handle: str,
        evaporated_g: int = 0,
        *,
        readings: Sequence[tuple[float, float]] = COOLED_IN_ICE,
        reason: str = "",
    ) -> Posted:
        """Cool it down and put it into the fridge."""
        line = self.line(handle)
        request = Chill(
            ref=line.ref,
            mass_mg=line.mass_mg,
            made_mg=line.mass_mg - evaporated_g * GRAM,
            place_id=self.places[FRIDGE],
            done_on=self.day,
            readings=tuple(CoolingReading(h, t, f"{t:g} °C") for h, t in readings),
            reason=reason,
        )
        return self._call(chill(self.session, request, at=self.now(), by=self.by), handle)

    def skim(self, handle: str, fat_g: int = 0, *, keep_as: str = "") -> Posted:
        """Lift the set fat off; kept as a lot of its own when it has a name."""
        line = self.line(handle)
        request = Skim(
            ref=line.ref,
            mass_mg=line.mass_mg,
            fat_mg=fat_g * GRAM,
            place_id=line.place_id,
            done_on=self.day,
            keeps_fat=bool(keep_as),
            fat_name=keep_as,
        )
        posted = skim(self.session, request, at=self.now(), by=self.by)
        return self._call(posted, handle, f"{handle} fat")

    def drain(self, handle: str, broth_g: int, broth_name: str, *, spilled_g: int = 0) -> Posted:
        """Part the pot; the broth gets the handle with " broth" behind it."""
        line = self.line(handle)
        request = Drain(
            ref=line.ref,
            mass_mg=line.mass_mg,
            drained_mg=line.mass_mg - (broth_g + spilled_g) * GRAM,
            broth_mg=broth_g * GRAM,
            place_id=line.place_id,
            done_on=self.day,
            broth_name=broth_name,
            spilled_mg=spilled_g * GRAM,
        )
        posted = drain(self.session, request, at=self.now(), by=self.by)
        return self._call(posted, handle, f"{handle} broth")

    def blanch(self, handle: str, change_g: int) -> Posted:
        """Scald and drain."""
        line = self.line(handle)
        made_mg = line.mass_mg + change_g * GRAM
        request = Blanch(line.ref, line.mass_mg, made_mg, self.places[BENCH], self.day)
        return self._call(blanch(self.session, request, at=self.now(), by=self.by), handle)
