"""Foretelling oxygen in a package, and what a recorded heat is worth."""

from typing import Any, ClassVar

from wtforms import SelectField

from app.ledger.mass import to_kg
from app.science.classes import FoodClass, Form
from app.science.errors import ScienceError
from app.science.lethality import (
    MEAT_D_140_MINUTES,
    MEAT_Z_F,
    TABLES,
    judge_history,
)
from app.science.oxygen import (
    DRY_SHARE,
    HALF_LIFE_25_C,
    OXYGEN_IN_AIR,
    RATING,
    RESIDUE,
    TRUE_DENSITY,
    absorber_hours,
    absorber_needed_ml,
    headspace_m3,
    oxygen_ml,
)
from app.science.packaging import PACKAGINGS, PackagingKind
from app.science.ranges import Range
from app.units import format_volume
from app.web import scope
from app.web.fields import MassField, NumberField, VolumeField, choices, text_note
from app.web.foretell.answers import Answer, Row, cited, degrees, hours, ranged
from app.web.foretell.form import ForetellForm

FOOT_M = 0.3048
MOST_READINGS = 2000


class OxygenForm(ForetellForm):
    """The oxygen in a package and the absorber for it."""

    title: ClassVar[str] = "Oxygen in a package"
    words: ClassVar[str] = "Gas space, oxygen in it, and the size of the absorber"
    note: ClassVar[str] = (
        "Only food that is dry enough may be sealed without air; the pack page judges that first."
    )

    volume = VolumeField("Volume of the package")
    mass = MassField("Dry food in it")
    altitude = NumberField("Altitude", low=-400, high=25_000)
    pumped = SelectField("Pumped down", choices=choices(
        [("no", "No, filled with air"), ("jar", "A jar, by a household pump"),
         ("bag", "A vacuum bag")]))  # fmt: skip

    @classmethod
    def usual(cls) -> dict[str, str]:
        """A pouch of a quart at the household's altitude."""
        known = scope.household()
        altitude_m = known.altitude_m if known else 0.0
        metric = scope.units() == "metric"
        return {
            "volume": "950 ml" if metric else "1 qt",
            "mass": "170 g" if metric else "6 oz",
            "altitude": f"{altitude_m if metric else altitude_m / FOOT_M:.0f}",
            "pumped": "no",
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        """The altitude is asked in the household's unit."""
        super().__init__(*args, **kwargs)
        self.altitude.label.text = "Altitude, m" if scope.units() == "metric" else "Altitude, feet"

    def answer(self) -> Answer:
        """Gas space, oxygen, and absorbers of both kinds."""
        volume_m3, mass_kg = self.volume.data.volume_m3, to_kg(self.mass.mg)
        altitude_m = (self.altitude.data or 0.0) * (1.0 if scope.units() == "metric" else FOOT_M)
        kinds = {"jar": PackagingKind.GLASS_JAR, "bag": PackagingKind.VACUUM_BAG}
        kind = kinds.get(self.pumped.data)
        left = PACKAGINGS[kind].residual_pressure if kind else None
        fraction = left.value if left else 1.0
        space_m3 = headspace_m3(volume_m3, mass_kg)
        inside = oxygen_ml(space_m3, altitude_m, fraction)
        self_activated = absorber_needed_ml(volume_m3, mass_kg, altitude_m, fraction)
        moist = absorber_needed_ml(volume_m3, mass_kg, altitude_m, fraction, self_activated=False)
        share = OXYGEN_IN_AIR.value * fraction
        rows = (
            Row("gas space, the pores of the food included", _litres(space_m3)),
            Row("oxygen sealed in", f"{inside:.0f} cc"),
            ranged("absorber, self-activated, by its printed rating", self_activated, _cc),
            ranged("absorber that needs moist food, in dry food", moist, _cc),
            ranged("hours until it has taken the oxygen, at 21 °C (70 °F)",
                   _taking(share), hours),
        )  # fmt: skip
        numbers = [OXYGEN_IN_AIR, TRUE_DENSITY, RATING, DRY_SHARE, HALF_LIFE_25_C]
        return Answer(
            f"Seal in an absorber of at least {_cc(self_activated.central)}, or of "
            f"{_cc(self_activated.high)} to keep it many years.",
            rows,
            (
                "Single packets vary up to twofold, so the sizes have a margin of our judgement.",
                "What the seal and the film let in later is not counted here; the pack page does.",
            ),
            cited(*numbers, *([left] if left else [])),
        )


def _taking(share: float) -> Range:
    """Hours to a good absorber's residue; packets differ up to twofold."""
    central = absorber_hours(share, min(RESIDUE.value, share), 21.0)
    return Range(central / 2, central, 2 * central)


def _cc(value: float) -> str:
    return f"{max(10, round(value, -1)):.0f} cc"


def _litres(volume_m3: float) -> str:
    return f"{format_volume(volume_m3)} ({format_volume(volume_m3, 'us')})"


class HeatForm(ForetellForm):
    """What a recorded time and temperature is worth against the published table."""

    title: ClassVar[str] = "What a recorded heat is worth"
    words: ClassVar[str] = "Minutes and temperatures of the centre against the published table"
    note: ClassVar[str] = (
        "For information only. This never takes the mark RAW from a lot and stands behind no "
        "gate: the temperature that the cook page names, read in the centre, stays the rule."
    )
    _MEATS: ClassVar[dict[str, tuple[str, FoodClass, Form]]] = {
        "farmed": ("Beef, lamb or pork, not ground", FoodClass.RED_MEAT, Form.PIECES),
        "game": ("Moose or deer, not ground", FoodClass.GAME, Form.PIECES),
        "ground": ("Ground meat of these", FoodClass.RED_MEAT, Form.GROUND),
    }

    meat = SelectField(
        "Meat", choices=choices((word, words) for word, (words, _, _) in _MEATS.items())
    )
    unit = SelectField("Degrees", choices=choices([("C", "°C"), ("F", "°F")]))
    readings = text_note(
        "Readings of the centre",
        description="One a line: minutes, then degrees, such as: 12 63.5. Minutes increase.",
    )

    @classmethod
    def usual(cls) -> dict[str, str]:
        """A short hold, as an example."""
        unit = "C" if scope.units() == "metric" else "F"
        example = "0 50\n10 54\n20 57\n25 58" if unit == "C" else "0 122\n10 129\n20 134\n25 136"
        return {"meat": "game", "unit": unit, "readings": example}

    def answer(self) -> Answer | None:
        """Logs along the line and by the table, and the lower of both."""
        record = self._record()
        if record is None:
            return None
        _, food_class, form = self._MEATS[self.meat.data]
        try:
            found = judge_history(record, [food_class], form)
        except ScienceError:
            self.readings.errors = ["Minutes must increase, and degrees be such as food can have."]
            return None
        table = TABLES[found.table]
        met = "meets" if found.met else "does not meet"
        return Answer(
            f"As recorded, it {met} the table's {found.target_logs:g} decimal reductions. For "
            "information only.",
            (
                Row("hottest reading", degrees((found.highest_f - 32) / 1.8)),
                Row("decimal reductions, along the line of the table",
                    _at_most(found.logs_by_line, found.target_logs)),
                Row("share of the time that the table asks", f"{100 * found.share_of_table:.0f} %"),
                Row("credited: the lower of both",
                    _at_most(found.credited_logs, found.target_logs),
                    f"of {found.target_logs:g}"),
            ),
            (
                "It holds for moist heat and a true reading of the coldest spot, which in a "
                "household kitchen is seldom sure.",
                "Between readings that lie far apart only the colder one is counted.",
            ),
            (f"{table.source}; {table.evidence}", *cited(MEAT_Z_F, MEAT_D_140_MINUTES)),
        )  # fmt: skip

    def _record(self) -> list[tuple[float, float]] | None:
        """The lines as minutes and °C; None with an error beside the field."""
        lines = [line.split() for line in (self.readings.data or "").splitlines() if line.strip()]
        try:
            pairs = [(_number(minutes), _number(temp)) for minutes, temp in lines]
        except ValueError:
            self.readings.errors = ["Each line should hold two numbers, such as: 12 63.5"]
            return None
        if not 2 <= len(pairs) <= MOST_READINGS:
            self.readings.errors = [f"Give 2 to {MOST_READINGS} readings."]
            return None
        fahrenheit = self.unit.data == "F"
        return [(m, (t - 32.0) / 1.8 if fahrenheit else t) for m, t in pairs]


def _at_most(logs: float, target: float) -> str:
    """Decimal reductions; beyond what the table was made for no figure is claimed."""
    return f"{logs:.1f}" if logs < target else f"{target:g} or more"


def _number(text: str) -> float:
    return float(text.replace(",", "."))
