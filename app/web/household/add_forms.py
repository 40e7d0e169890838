"""Forms that add somebody, a bowl, a package or an absorber."""

from collections.abc import Mapping
from typing import Any, ClassVar

from sqlalchemy.orm import Session
from wtforms import RadioField, StringField
from wtforms.validators import InputRequired, ValidationError

from app.language import N_
from app.ledger import household
from app.science.errors import ScienceError
from app.science.packaging import PACKAGINGS, Geometry, PackagingKind, pouch_geometry
from app.web.fields import EntryForm, MassField, NumberField, worded
from app.web.household.settings_form import NAME
from app.web.sizes import LengthField, VolumeField

_FLAT = (
    PackagingKind.ZIP_BAG,
    PackagingKind.VACUUM_BAG,
    PackagingKind.BUTCHER_PAPER,
    PackagingKind.METALLISED_POUCH,
    PackagingKind.FOIL_POUCH,
)
_SORTS = {kind.value: known.words.capitalize() for kind, known in PACKAGINGS.items()}


class AddForm(EntryForm):
    """One thing to be added; carry_out adds it in the open transaction."""

    title: ClassVar[str]
    questions: ClassVar[tuple[str, ...]]

    def carry_out(self, session: Session) -> None:
        """Add it; Refused when the name is taken."""
        raise NotImplementedError


class PersonForm(AddForm):
    """Somebody who writes entries."""

    title = N_("Add somebody who writes")
    questions = ("name",)
    name = StringField(N_("First name"), validators=NAME)

    def carry_out(self, session: Session) -> None:
        """Add them."""
        household.add_person(session, self.name.data.strip())


class BowlForm(AddForm):
    """A bowl or tray for weighing."""

    title = N_("Add a bowl or tray")
    questions = ("name", "tare_mg")
    name = StringField(N_("What it is called"), validators=NAME, description=N_("Blue enamel bowl"))
    tare_mg = MassField(
        N_("Weighs, empty"), description=N_("As the scale shows it: 412 g, 14.5 oz.")
    )

    def carry_out(self, session: Session) -> None:
        """Add it."""
        household.add_bowl(session, household.BowlIn(self.name.data.strip(), self.tare_mg.mg))


class PackageForm(AddForm):
    """A kind of package."""

    title = N_("Add a package")
    questions = ("kind", "name", "width", "height", "volume")
    kind = RadioField(
        N_("What sort"),
        choices=worded(_SORTS.items()),
        validators=[InputRequired(N_("Choose one."))],
    )
    name = StringField(
        N_("What you call it"), validators=NAME, description=N_("Foil-laminate pouch, small")
    )
    width = LengthField(
        N_("Pouches and bags: inner width"),
        is_optional=True,
        description=N_(
            "Lying flat, inside the seals. Its volume and walls are worked out from this."
        ),
    )
    height = LengthField(N_("Pouches and bags: inner height"), is_optional=True)
    volume = VolumeField(
        N_("It holds"),
        is_optional=True,
        description=N_("1 l, 946 ml, 1 quart. Not needed where width and height are given."),
    )

    def validate_width(self, field: Any) -> None:
        """Only flat things have a width and a height, and both together."""
        if bool(field.data) != bool(self.height.data):
            raise ValidationError(N_("Give both width and height, or neither."))
        if field.data and self.kind.data and PackagingKind(self.kind.data) not in _FLAT:
            raise ValidationError(N_("Only pouches and bags are measured flat; say what it holds."))
        if field.data:
            self._measured()

    def validate_volume(self, field: Any) -> None:
        """The size must be known in one way."""
        if field.data is None and not (self.width.data and self.height.data):
            raise ValidationError(N_("Say how much it holds, or give width and height."))
        if field.data is not None and not field.data.volume_m3 > 0:
            raise ValidationError(N_("This must be more than nothing."))

    def carry_out(self, session: Session) -> None:
        """Add it."""
        flat = self._measured() if self.width.data else None
        typed = self.volume.data
        volume_m3 = typed.volume_m3 if typed else flat.volume_m3 if flat else 0.0
        new = household.PackagingIn(
            self.name.data.strip(),
            PackagingKind(self.kind.data),
            volume_ml=volume_m3 * 1e6,
            area_cm2=flat.area_m2 * 1e4 if flat else None,
        )
        household.add_packaging(session, new)

    def _measured(self) -> Geometry:
        try:
            return pouch_geometry(self.width.data.length_m, self.height.data.length_m)
        except ScienceError as error:
            raise ValidationError(
                N_("No pouch is that small or that large. Measure again.")
            ) from error


class AbsorberForm(AddForm):
    """An oxygen absorber."""

    title = N_("Add an oxygen absorber")
    questions = ("name", "rating_ml", "kind")
    name = StringField(N_("What you call it"), validators=NAME, description=N_("300 cc"))
    rating_ml = NumberField(
        N_("It takes up, cc of oxygen"),
        low=5.0,
        high=10_000.0,
        description=N_("As printed on its bag."),
    )
    kind = RadioField(
        N_("What starts it"),
        choices=worded(
            [
                ("self", N_("It starts by itself in air, with dry food too")),
                ("moist", N_("It needs moisture from the food")),
            ]
        ),
        default="self",
        description=N_(
            "The bag or its seller says which. In dry food the second kind does little."
        ),
    )

    def carry_out(self, session: Session) -> None:
        """Add it."""
        new = household.AbsorberIn(
            self.name.data.strip(), self.rating_ml.data or 0.0, self.kind.data == "self"
        )
        household.add_absorber(session, new)


ADD_FORMS: Mapping[str, type[AddForm]] = {
    "person": PersonForm,
    "bowl": BowlForm,
    "package": PackageForm,
    "absorber": AbsorberForm,
}
