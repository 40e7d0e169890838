"""The first-run form: short questions, ready-made answers."""

import dataclasses
from collections.abc import Callable, Iterable, Sequence
from typing import Any, TypeVar

from wtforms import Form, FormField, SelectMultipleField, StringField
from wtforms.validators import Length, ValidationError
from wtforms.widgets import CheckboxInput, ListWidget

from app.language import N_, _, figures
from app.ledger.household import BowlIn, FirstRun, PackagingIn, PlaceIn, Settings
from app.ledger.words import UnitSystem
from app.science.safety.rule import RuleSet
from app.units import format_temperature
from app.web.fields import MassField, NumberField, choices
from app.web.household import ready_made
from app.web.household.settings_form import HouseholdForm
from app.web.rows import RowForm, Rows
from app.web.sizes import LengthField

Ready = TypeVar("Ready", PlaceIn, PackagingIn)


class TraysForm(Form):
    """The trays of a dryer."""

    count = NumberField(N_("Trays"), low=1.0, high=60.0, is_optional=True)
    length = LengthField(N_("Inner length of a tray"), is_optional=True)
    width = LengthField(N_("Inner width of a tray"), is_optional=True)

    def validate_width(self, field: Any) -> None:
        """Length and width come together."""
        if bool(field.data) != bool(self.length.data) and not self.length.errors:
            raise ValidationError(N_("Give both length and width, or neither."))

    def complete(self, place: PlaceIn) -> PlaceIn:
        """The dryer with its trays."""
        count = round(self.count.data) if self.count.data else None
        area_m2 = None
        if self.length.data and self.width.data:
            area_m2 = self.length.data.length_m * self.width.data.length_m
        return dataclasses.replace(place, tray_count=count, tray_area_m2=area_m2)


class BowlRow(RowForm):
    """A bowl with its own weight."""

    name = StringField(N_("Bowl"), validators=[Length(max=80, message=N_("At most 80 letters."))])
    tare_mg = MassField(N_("Weighs, empty"))

    @property
    def is_filled(self) -> bool:
        """A name without a weight counts too: it must not vanish."""
        return bool((self.name.data or "").strip() or (self.tare_mg.typed or "").strip())

    def validate_name(self, field: Any) -> None:
        """A bowl is called for by its name."""
        if not (field.data or "").strip():
            raise ValidationError(N_("Give it a name."))


def _ticks(
    label: str, ticked: Callable[[], Iterable[tuple[str, str]]], **kwargs: Any
) -> SelectMultipleField:
    return SelectMultipleField(
        label,
        choices=lambda: choices(ticked()),  # asked for each page: its words are the reader's
        widget=ListWidget(prefix_label=False),
        option_widget=CheckboxInput(),
        **kwargs,
    )


def _called(ready: Ready) -> Ready:
    """Something ready-made under its name in the language of who opens the ledger."""
    return dataclasses.replace(ready, name=_(ready.name))


def place_choice(place: PlaceIn) -> str:
    """A ready-made place, its temperature in both units: none has been chosen yet."""
    if place.kind.is_dryer:
        return _(place.name)
    usual_c = place.temps_c[1]
    return (
        f"{_(place.name)}, {figures(format_temperature(usual_c))} ({round(usual_c * 1.8 + 32)} °F)"
    )


class FirstRunForm(HouseholdForm):
    """Everything the first run asks; the rest can be added any day."""

    people = StringField(
        N_("Who writes entries"),
        description=N_("First names, with commas between them: Marit, Jonas."),
    )
    places = _ticks(
        N_("Where food is kept or worked on"),
        lambda: ((key, place_choice(place)) for key, place in ready_made.PLACES.items()),
        description=N_(
            "The temperatures are a start by our own judgement. A thermometer left in the "
            "place knows better, and more places can be added under Places."
        ),
    )
    freeze_dryer = FormField(TraysForm, N_("Freeze-dryer, its trays"))
    dehydrator = FormField(TraysForm, N_("Box dehydrator, its trays"))
    packages = _ticks(
        N_("Packages you own"),
        lambda: ((key, _(package.name)) for key, package in ready_made.PACKAGES.items()),
    )
    absorbers = _ticks(
        N_("Oxygen absorbers you own"),
        lambda: ((key, absorber.name) for key, absorber in ready_made.ABSORBERS.items()),
        description=N_(
            "The kind that needs no moist food to work. Other kinds can be added later."
        ),
    )
    bowls = Rows(
        FormField(BowlRow),
        label=N_("Bowls for weighing"),
        min_entries=2,
        description=N_("Weighed empty, so that a full one needs no sum in the head. May wait."),
    )

    def start(self, zone: str) -> None:
        """Sensible defaults."""
        self.units.data, self.altitude_unit.data = UnitSystem.METRIC.value, "m"
        self.time_zone.data, self.rule_set.data = zone, RuleSet.US.value
        self.places.data = list(ready_made.USUAL_PLACES)
        self.packages.data = list(ready_made.USUAL_PACKAGES)

    def validate_people(self, field: Any) -> None:
        """At least one name, none twice."""
        if not self.names:
            raise ValidationError(N_("Give at least one name."))
        _once(self.names)

    def validate_places(self, field: Any) -> None:
        """Food has to be somewhere."""
        if not field.data:
            raise ValidationError(N_("Tick at least one place."))

    def validate_bowls(self, field: Any) -> None:
        """No name twice."""
        _once([row.form.name.data.strip() for row in self.bowls.filled()])

    @property
    def names(self) -> list[str]:
        """The people named."""
        parts = (self.people.data or "").replace(";", ",").split(",")
        return [part.strip() for part in parts if part.strip()]

    def request(self) -> FirstRun:
        """The request of a checked form."""
        return FirstRun(
            settings=Settings(
                name=(self.name.data or "").strip(),
                units=UnitSystem(self.units.data),
                altitude_m=self.altitude_m,
                time_zone=(self.time_zone.data or "").strip(),
                rule_set=self.rule_set.data,
            ),
            people=tuple(self.names),
            places=tuple(self._place(key) for key in self.places.data or ()),
            packagings=tuple(_called(ready_made.PACKAGES[key]) for key in self.packages.data or ()),
            absorbers=tuple(ready_made.ABSORBERS[key] for key in self.absorbers.data or ()),
            bowls=tuple(
                BowlIn(row.form.name.data.strip(), row.form.tare_mg.mg)
                for row in self.bowls.filled()
            ),
        )

    def _place(self, key: str) -> PlaceIn:
        place = _called(ready_made.PLACES[key])
        if key == ready_made.FREEZE_DRYER:
            return self.freeze_dryer.form.complete(place)
        if key == ready_made.DEHYDRATOR:
            return self.dehydrator.form.complete(place)
        return place


def _once(names: Sequence[str]) -> None:
    doubled = next((name for name in names if names.count(name) > 1), None)
    if doubled is not None:
        raise ValidationError(_("“{doubled}” stands here twice.", doubled=doubled))
    if any(len(name) > 80 for name in names):
        raise ValidationError(N_("A name has at most 80 letters."))
