"""The household's own settings, asked on the first run and changed later."""

from typing import Any

from wtforms import RadioField, SelectField, StringField
from wtforms.validators import DataRequired, Length, ValidationError

from app.language import N_, _
from app.ledger import household
from app.ledger.models import Household
from app.ledger.words import UnitSystem
from app.science.safety.rule import RuleSet
from app.units import parse_length
from app.web.fields import EntryForm, MassField, NumberField, worded
from app.web.household.zones import zones
from app.web.sizes import LengthField

NAME = [DataRequired(N_("Give it a name.")), Length(max=80, message=N_("At most 80 letters."))]
METRES_PER_FOOT = 0.3048  # exact since the international yard and pound agreement of 1959
_LOWEST_M, _HIGHEST_M = -500.0, 6000.0
_UNITS = {
    UnitSystem.METRIC: N_("Grams and degrees Celsius"),
    UnitSystem.US: N_("Pounds, ounces and degrees Fahrenheit"),
}
_RULE_SETS = {
    RuleSet.US: N_("United States"),
    RuleSet.CA: N_("Canada"),
    RuleSet.UK: N_("United Kingdom"),
    RuleSet.AU: N_("Australia and New Zealand"),
}
RULE_SET_WORDS = {str(rules): words for rules, words in _RULE_SETS.items()}


class HouseholdForm(EntryForm):
    """What a household is asked about itself."""

    name = StringField(N_("What is the household called"), validators=NAME)
    units = RadioField(
        N_("Units read first"),
        choices=worded(_UNITS.items()),
        description=N_("You may type either at any time: 2 lb 3 oz, 1 kg."),
    )
    altitude = NumberField(
        N_("Height above the sea"),
        low=-2000.0,
        high=20_000.0,
        description=N_("It lowers the boiling point of water and the air sealed into a package."),
    )
    altitude_unit = SelectField(
        N_("Measured in"), choices=worded([("m", N_("metres")), ("ft", N_("feet"))])
    )
    time_zone = StringField(
        N_("Time zone"),
        description=N_("It says when a new day begins. Type a city: Europe/London."),
    )
    rule_set = SelectField(
        N_("Whose safety advice comes first"),
        choices=worded(RULE_SET_WORDS.items()),
        description=N_("Cooking targets and cooling times differ a little between countries."),
    )

    @property
    def altitude_m(self) -> float:
        """The altitude in metres; only after validation."""
        factor = METRES_PER_FOOT if self.altitude_unit.data == "ft" else 1.0
        return float(self.altitude.data or 0.0) * factor

    def validate_altitude(self, field: Any) -> None:
        """Between the Dead Sea and the highest village."""
        if field.data is not None and not _LOWEST_M <= self.altitude_m <= _HIGHEST_M:
            raise ValidationError(N_("This should be between −500 m and 6000 m (19,685 ft)."))

    def validate_time_zone(self, field: Any) -> None:
        """Only names of the zone database."""
        if (field.data or "").strip() not in zones():
            raise ValidationError(
                N_("No such zone. Choose one of the list, such as Europe/London.")
            )


class SettingsForm(HouseholdForm):
    """Everything that can be changed later."""

    scale_step_mg = MassField(
        N_("The scale shows steps of"),
        description=N_("Its smallest step, such as 1 g: it limits how well dryness is judged."),
    )
    label_width = LengthField(
        N_("Label, width"), description=N_("As printed on the roll: 100 mm, 4 in.")
    )
    label_height = LengthField(N_("Label, height"))
    label_dpi = NumberField(
        N_("Dots of the label printer per inch"),
        low=150.0,
        high=1200.0,
        description=N_("203 or 300 for most label printers."),
    )

    def start(self, known: Household) -> None:
        """As it is now."""
        is_us = known.units == UnitSystem.US
        altitude = known.altitude_m / METRES_PER_FOOT if is_us else known.altitude_m
        self.name.data, self.units.data = known.name, known.units
        self.altitude.data, self.altitude_unit.data = round(altitude, 1), "ft" if is_us else "m"
        self.time_zone.data, self.rule_set.data = known.time_zone, known.rule_set
        self.scale_step_mg.data = known.scale_step_mg
        self.label_width.data = parse_length(f"{known.label_width_mm:g} mm")
        self.label_height.data = parse_length(f"{known.label_height_mm:g} mm")
        self.label_dpi.data = float(known.label_printer_dpi)

    def validate_scale_step_mg(self, field: Any) -> None:
        """A scale has a step."""
        if field.data is not None and field.mg <= 0:
            raise ValidationError(N_("This must be more than nothing."))

    def validate_label_width(self, field: Any) -> None:
        """What fits a household's labels; the same limits as where labels are drawn."""
        _within(field, 20.0, 300.0)

    def validate_label_height(self, field: Any) -> None:
        """As the width."""
        _within(field, 15.0, 300.0)

    def request(self) -> household.Settings:
        """The settings of a checked form."""
        return household.Settings(
            name=(self.name.data or "").strip(),
            units=UnitSystem(self.units.data),
            altitude_m=self.altitude_m,
            time_zone=(self.time_zone.data or "").strip(),
            rule_set=self.rule_set.data,
            scale_step_mg=self.scale_step_mg.mg,
            label_width_mm=self.label_width.data.length_m * 1000,
            label_height_mm=self.label_height.data.length_m * 1000,
            label_printer_dpi=round(self.label_dpi.data or 0),
        )


def _within(field: Any, low_mm: float, high_mm: float) -> None:
    if field.data is not None and not low_mm <= field.data.length_m * 1000 <= high_mm:
        raise ValidationError(
            _(
                "This should be between {low_mm:g} and {high_mm:g} mm.",
                low_mm=low_mm,
                high_mm=high_mm,
            )
        )
