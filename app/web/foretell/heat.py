"""Foretelling heat: cooling a pot or tub, freezing and thawing a packet."""

from typing import ClassVar

from wtforms import SelectField
from wtforms.validators import ValidationError

from app.language import N_, _
from app.ledger.climates import warmth_at
from app.ledger.queries import places as places_query
from app.ledger.words import PlaceKind
from app.science.conduction import HEAT_TRANSFER, Surroundings, slab_hours
from app.science.cooling import (
    END_C,
    MIDDLE_C,
    STAGE_ONE_HOURS,
    START_C,
    TOTAL_HOURS,
    CoolingVerdict,
    foretell_cooling,
)
from app.science.freezing import (
    SOURCES,
    THAW_FACTOR,
    WRAPPED,
    freezing_hours,
    thawing_hours,
)
from app.science.ranges import Range, spread_of
from app.web import scope
from app.web.fields import LengthField, TemperatureField, worded
from app.web.foretell.answers import Answer, Row, cited, degrees, hours, length, ranged
from app.web.foretell.form import FoodForm, ForetellForm

SHALLOWEST_M, DEEPEST_M = 0.005, 0.2
_NAMES = {
    Surroundings.STILL_AIR: N_("Still air, as in a refrigerator or freezer"),
    Surroundings.FAN: N_("Moving air, a fan"),
    Surroundings.COLD_WATER: N_("Cold water, changed every half hour"),
    Surroundings.ICE_BATH: N_("Ice and water, stirred"),
    Surroundings.PLATE: N_("Pressed on a cold plate"),
}
_VERDICTS = {
    CoolingVerdict.PASS: N_("It should keep the two-stage rule, even if the heat leaves slowly."),
    CoolingVerdict.FAIL: N_("It would not keep the two-stage rule, even if the heat leaves fast."),
    CoolingVerdict.CANNOT_TELL: N_("It may or may not keep the two-stage rule: make it shallower."),
}


def place_temperature(kind: PlaceKind, usual_c: float) -> str:
    """The temperature of the household's first place of a kind, as it is typed."""
    known = [p for p in places_query.places(scope.reading()) if p.kind == kind]
    if not known:
        return _typed(usual_c)
    return _typed(round(warmth_at(scope.reading(), known[0], scope.now()).temp_c, 1))


def _typed(temp_c: float) -> str:
    return f"{temp_c:g} C" if scope.units() == "metric" else f"{1.8 * temp_c + 32:.4g} F"


def _depth(metric: str, us: str) -> str:
    return metric if scope.units() == "metric" else us


class CoolingForm(ForetellForm):
    """How long a pot or tub takes to cool."""

    title: ClassVar[str] = N_("Cooling a pot or tub")
    words: ClassVar[str] = N_("Hours to 21 and 5 °C, and which depth keeps the two-stage rule")
    note: ClassVar[str] = N_(
        "This foretells; it does not record. Only readings of the centre show that food was "
        "cooled in time."
    )

    depth = LengthField(N_("Depth of the food"), low_m=SHALLOWEST_M, high_m=DEEPEST_M)
    start = TemperatureField(N_("Temperature at the start"))
    surroundings = SelectField(
        N_("What takes the heat away"), choices=worded((s.value, _NAMES[s]) for s in Surroundings)
    )
    air = TemperatureField(N_("Temperature around it"))
    faces = SelectField(
        N_("The base"),
        choices=worded(
            [("2", N_("On a rack, or metal: cools from below too")), ("1", N_("Insulating"))]
        ),
    )

    @classmethod
    def usual(cls) -> dict[str, str]:
        """A stew of two inches in the household's refrigerator."""
        return {
            "depth": _depth(_("50 mm"), _("2 in")),
            "start": _typed(90.0),
            "surroundings": Surroundings.STILL_AIR.value,
            "air": place_temperature(PlaceKind.FRIDGE, 4.0),
            "faces": "2",
        }

    def validate_start(self, field: TemperatureField) -> None:
        """The rule counts from 57 °C."""
        if field.data is not None and not START_C.value <= field.data.temp_c <= 100.0:
            raise ValidationError(
                _(
                    "From {degrees} to {degrees_2}.",
                    degrees=degrees(START_C.value),
                    degrees_2=degrees(100.0),
                )
            )

    def validate_air(self, field: TemperatureField) -> None:
        """Nothing freezes in this model."""
        if field.data is not None and not -5.0 <= field.data.temp_c <= 30.0:
            raise ValidationError(
                _("From {degrees} to {degrees_2}.", degrees=degrees(-5.0), degrees_2=degrees(30.0))
            )

    def answer(self) -> Answer:
        """Both stages, the time before them, and the deepest that passes."""
        surroundings, air_c = Surroundings(self.surroundings.data), self.air.data.temp_c
        both, depth_m = self.faces.data == "2", self.depth.data.length_m
        found = foretell_cooling(depth_m, air_c, surroundings, both_faces=both)
        before = self._before(surroundings, air_c, both)
        deepest_m = deepest_that_passes(air_c, surroundings, both_faces=both)
        passes = _("up to {length}", length=length(deepest_m)) if deepest_m else "none"
        one, total = degrees(MIDDLE_C.value), degrees(END_C.value)
        return Answer(
            _(_VERDICTS[found.verdict]),
            (
                ranged(
                    _("down to {degrees}, before the rule counts", degrees=degrees(START_C.value)),
                    before,
                    hours,
                ),
                ranged(
                    _(
                        "from there to {one}; the rule: {value:g} h",
                        one=one,
                        value=STAGE_ONE_HOURS.value,
                    ),
                    found.stage_one,
                    hours,
                ),
                ranged(
                    _(
                        "from there to {total}; the rule: {value:g} h in all",
                        total=total,
                        value=TOTAL_HOURS.value,
                    ),
                    found.total,
                    hours,
                ),
                Row(_("depth that passes here, even if heat leaves slowly"), passes),
            ),
            (
                _(
                    "How well a household's air or water takes heat away is our judgement, and "
                    "spans a factor of two."
                ),
                _(
                    "The food lies still, wide and flat, with the heat properties of "
                    "a stew; a lid, "
                    "full shelves or a warm refrigerator make it slower, stirring makes it faster."
                ),
                _("All of it starts at one temperature."),
            ),
            cited(HEAT_TRANSFER[surroundings], START_C, STAGE_ONE_HOURS, TOTAL_HOURS),
        )

    def _before(self, surroundings: Surroundings, air_c: float, both: bool) -> Range:
        start_c, depth_m = self.start.data.temp_c, self.depth.data.length_m
        if start_c <= START_C.value:
            return Range(0.0, 0.0, 0.0)
        h = HEAT_TRANSFER[surroundings]
        low, central, high = (
            slab_hours(depth_m, start_c, START_C.value, air_c, case, both_faces=both)
            for case in (h.span[1], h.value, h.span[0])
        )
        return spread_of((low, central, high))


def deepest_that_passes(
    air_c: float, surroundings: Surroundings, *, both_faces: bool
) -> float | None:
    """The greatest depth, in whole millimetres, that keeps the rule even if heat leaves slowly."""

    def passes(depth_mm: int) -> bool:
        found = foretell_cooling(depth_mm / 1000, air_c, surroundings, both_faces=both_faces)
        return found.verdict is CoolingVerdict.PASS

    low, high = round(1000 * SHALLOWEST_M), round(1000 * DEEPEST_M)
    if air_c >= END_C.value or not passes(low):
        return None
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if passes(middle) else (low, middle)
    return low / 1000


class FreezingForm(FoodForm):
    """How long a packet takes to freeze, and to thaw."""

    title: ClassVar[str] = N_("Freezing and thawing a packet")
    words: ClassVar[str] = N_("Hours by the packet's thickness, in air, water or between plates")
    note: ClassVar[str] = N_(
        "Thaw in the refrigerator, or in cold water in a tight bag; the cautions say how. A time "
        "is no proof that the middle is thawed: feel it."
    )

    thickness = LengthField(N_("Thickness of the packet"), low_m=0.005, high_m=0.2)
    start = TemperatureField(N_("Its temperature before freezing"))
    freezer = TemperatureField(N_("Temperature of the freezer"))
    freezing_by = SelectField(
        N_("It freezes in"),
        choices=worded(
            (s.value, _NAMES[s])
            for s in (Surroundings.STILL_AIR, Surroundings.FAN, Surroundings.PLATE)
        ),
    )
    thaw = TemperatureField(N_("Temperature where it thaws"))
    thawing_by = SelectField(
        N_("It thaws in"),
        choices=worded(
            (s.value, _NAMES[s])
            for s in (Surroundings.STILL_AIR, Surroundings.FAN, Surroundings.COLD_WATER)
        ),
    )
    wrap = SelectField(
        N_("Wrapped"),
        choices=worded([("yes", N_("In a bag or paper")), ("no", N_("Bare, or a tight film"))]),
    )

    @classmethod
    def usual(cls) -> dict[str, str]:
        """A flat packet in the household's freezer and refrigerator."""
        still = Surroundings.STILL_AIR.value
        return super().usual() | {
            "thickness": _depth(_("40 mm"), _("1.5 in")),
            "start": _typed(10.0),
            "freezer": place_temperature(PlaceKind.FREEZER, -18.0),
            "freezing_by": still,
            "thaw": place_temperature(PlaceKind.FRIDGE, 4.0),
            "thawing_by": still,
            "wrap": "yes",
        }

    def validate_freezer(self, field: TemperatureField) -> None:
        """Colder than the end the equation is good for."""
        if field.data is not None and not -45.0 <= field.data.temp_c <= -12.0:
            raise ValidationError(
                _(
                    "From {degrees} to {degrees_2}.",
                    degrees=degrees(-45.0),
                    degrees_2=degrees(-12.0),
                )
            )

    def validate_start(self, field: TemperatureField) -> None:
        """Food that is not yet frozen."""
        if field.data is not None and not 0.0 <= field.data.temp_c <= 60.0:
            raise ValidationError(
                _("From {degrees} to {degrees_2}.", degrees=degrees(0.0), degrees_2=degrees(60.0))
            )

    def validate_thaw(self, field: TemperatureField) -> None:
        """Warmer than ice, and not above 30 °C."""
        if field.data is not None and not 1.0 <= field.data.temp_c <= 30.0:
            raise ValidationError(
                _("From {degrees} to {degrees_2}.", degrees=degrees(1.0), degrees_2=degrees(30.0))
            )

    def answer(self) -> Answer | None:
        """Both times."""
        subject = self.subject()
        if subject is None:
            return None
        thickness_m, wrapped = self.thickness.data.length_m, self.wrap.data == "yes"
        freezing_by, thawing_by = self.freezing_by.data, self.thawing_by.data
        freezing = freezing_hours(
            thickness_m,
            subject.composition,
            self.start.data.temp_c,
            self.freezer.data.temp_c,
            Surroundings(freezing_by),
            wrapped=wrapped,
        )
        thawing = thawing_hours(
            thickness_m,
            subject.composition,
            self.thaw.data.temp_c,
            Surroundings(thawing_by),
            wrapped,
        )
        return Answer(
            _("{name}, {length} thick.", name=subject.name, length=length(thickness_m)),
            (
                ranged(
                    _("frozen through, to {degrees} in the middle", degrees=degrees(-10.0)),
                    freezing,
                    hours,
                ),
                ranged(_("thawed through, from hard frozen"), thawing, hours),
            ),
            (
                _(
                    "A flat packet with both faces free. Packets that touch or are stacked take "
                    "as long as one of their whole thickness; a compact piece thaws 2.5 to 3 "
                    "times faster (our judgement)."
                ),
                _("The thawing factor was fitted to lean meat; for very fat food it is a guess."),
                _(
                    "The first ice is taken at -1.7 °C, as in lean meat; salted or sugared food "
                    "freezes lower."
                ),
            ),
            cited(
                *SOURCES,
                HEAT_TRANSFER[Surroundings(freezing_by)],
                HEAT_TRANSFER[Surroundings(thawing_by)],
                WRAPPED,
                THAW_FACTOR,
            ),
        )
