"""Foretelling oxygen in a package, and what a recorded heat is worth."""

from typing import Any, ClassVar

from wtforms import SelectField

from app.language import N_, _, figures
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
from app.web.fields import MassField, NumberField, VolumeField, text_note, worded
from app.web.foretell.answers import Answer, Row, cited, degrees, hours, ranged
from app.web.foretell.form import ForetellForm

FOOT_M = 0.3048
MOST_READINGS = 2000

_MET = N_(
    "As recorded, it meets the table's {target_logs:g} decimal reductions. For information only."
)
_NOT_MET = N_(
    "As recorded, it does not meet the table's {target_logs:g} decimal reductions. "
    "For information only."
)


class OxygenForm(ForetellForm):
    """The oxygen in a package and the absorber for it."""

    title: ClassVar[str] = N_("Oxygen in a package")
    words: ClassVar[str] = N_("Gas space, oxygen in it, and the size of the absorber")
    note: ClassVar[str] = N_(
        "Only food that is dry enough may be sealed without air; the pack page judges that first."
    )

    volume = VolumeField(N_("Volume of the package"))
    mass = MassField(N_("Dry food in it"))
    altitude = NumberField(N_("Altitude"), low=-400, high=25_000)
    pumped = SelectField(
        N_("Pumped down"),
        choices=worded(
            [
                ("no", N_("No, filled with air")),
                ("jar", N_("A jar, by a household pump")),
                ("bag", N_("A vacuum bag")),
            ]
        ),
    )

    @classmethod
    def usual(cls) -> dict[str, str]:
        """A pouch of a quart at the household's altitude."""
        known = scope.household()
        altitude_m = known.altitude_m if known else 0.0
        metric = scope.units() == "metric"
        return {
            "volume": _("950 ml") if metric else _("1 qt"),
            "mass": "170 g" if metric else _("6 oz"),
            "altitude": f"{altitude_m if metric else altitude_m / FOOT_M:.0f}",
            "pumped": "no",
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        """The altitude is asked in the household's unit."""
        super().__init__(*args, **kwargs)
        self.altitude.label.text = (
            _("Altitude, m") if scope.units() == "metric" else _("Altitude, feet")
        )

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
            Row(_("gas space, the pores of the food included"), _litres(space_m3)),
            Row(_("oxygen sealed in"), f"{inside:.0f} cc"),
            ranged(_("absorber, self-activated, by its printed rating"), self_activated, _cc),
            ranged(_("absorber that needs moist food, in dry food"), moist, _cc),
            ranged(
                _("hours until it has taken the oxygen, at 21 °C (70 °F)"), _taking(share), hours
            ),
        )
        numbers = [OXYGEN_IN_AIR, TRUE_DENSITY, RATING, DRY_SHARE, HALF_LIFE_25_C]
        return Answer(
            _(
                "Seal in an absorber of at least {cc}, or of {cc_2} to keep it many years.",
                cc=_cc(self_activated.central),
                cc_2=_cc(self_activated.high),
            ),
            rows,
            (
                _(
                    "Single packets vary up to twofold, so the sizes have a margin "
                    "of our judgement."
                ),
                _(
                    "What the seal and the film let in later is not counted here; "
                    "the pack page does."
                ),
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
    return figures(f"{format_volume(volume_m3)} ({format_volume(volume_m3, 'us')})")


class HeatForm(ForetellForm):
    """What a recorded time and temperature is worth against the published table."""

    title: ClassVar[str] = N_("What a recorded heat is worth")
    words: ClassVar[str] = N_("Minutes and temperatures of the centre against the published table")
    note: ClassVar[str] = N_(
        "For information only. This never takes the mark RAW from a lot and stands behind no "
        "gate: the temperature that the cook page names, read in the centre, stays the rule."
    )
    _MEATS: ClassVar[dict[str, tuple[str, FoodClass, Form]]] = {
        "farmed": (N_("Beef, lamb or pork, not ground"), FoodClass.RED_MEAT, Form.PIECES),
        "game": (N_("Moose or deer, not ground"), FoodClass.GAME, Form.PIECES),
        "ground": (N_("Ground meat of these"), FoodClass.RED_MEAT, Form.GROUND),
    }

    meat = SelectField(
        N_("Meat"), choices=worded((word, words) for word, (words, _, _) in _MEATS.items())
    )
    unit = SelectField(N_("Degrees"), choices=worded([("C", "°C"), ("F", "°F")]))
    readings = text_note(
        N_("Readings of the centre"),
        description=N_("One a line: minutes, then degrees, such as: 12 63.5. Minutes increase."),
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
        _words, food_class, form = self._MEATS[self.meat.data]
        try:
            found = judge_history(record, [food_class], form)
        except ScienceError:
            self.readings.errors = [
                _("Minutes must increase, and degrees be such as food can have.")
            ]
            return None
        table = TABLES[found.table]

        return Answer(
            _(_MET if found.met else _NOT_MET, target_logs=found.target_logs),
            (
                Row(_("hottest reading"), degrees((found.highest_f - 32) / 1.8)),
                Row(
                    _("decimal reductions, along the line of the table"),
                    _at_most(found.logs_by_line, found.target_logs),
                ),
                Row(
                    _("share of the time that the table asks"),
                    f"{100 * found.share_of_table:.0f} %",
                ),
                Row(
                    _("credited: the lower of both"),
                    _at_most(found.credited_logs, found.target_logs),
                    _("of {target_logs:g}", target_logs=found.target_logs),
                ),
            ),
            (
                _(
                    "It holds for moist heat and a true reading of the coldest spot, which in a "
                    "household kitchen is seldom sure."
                ),
                _("Between readings that lie far apart only the colder one is counted."),
            ),
            (f"{table.source}; {_(table.evidence.value)}", *cited(MEAT_Z_F, MEAT_D_140_MINUTES)),
        )

    def _record(self) -> list[tuple[float, float]] | None:
        """The lines as minutes and °C; None with an error beside the field."""
        lines = [line.split() for line in (self.readings.data or "").splitlines() if line.strip()]
        try:
            pairs = [(_number(minutes), _number(temp)) for minutes, temp in lines]
        except ValueError:
            self.readings.errors = [_("Each line should hold two numbers, such as: 12 63.5")]
            return None
        if not 2 <= len(pairs) <= MOST_READINGS:
            self.readings.errors = [_("Give 2 to {most} readings.", most=MOST_READINGS)]
            return None
        fahrenheit = self.unit.data == "F"
        return [(m, (t - 32.0) / 1.8 if fahrenheit else t) for m, t in pairs]


def _at_most(logs: float, target: float) -> str:
    """Decimal reductions; beyond what the table was made for no figure is claimed."""
    return figures(f"{logs:.1f}") if logs < target else _("{target:g} or more", target=target)


def _number(text: str) -> float:
    return float(text.replace(",", "."))
