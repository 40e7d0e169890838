"""Foretelling a freeze-dryer's run and the water that brings dried food back."""

from typing import ClassVar

from wtforms import SelectField

from app.language import N_, _, figures
from app.ledger.mass import to_kg
from app.ledger.models import Place
from app.ledger.queries import places as places_query
from app.ledger.words import PlaceKind
from app.science.classes import Form as Shape
from app.science.drying import (
    ENERGY_PER_WATER,
    RESIDUAL_WATER,
    DryerKind,
    bulk_density,
    dry_mass_kg,
    energy_kwh,
    ice_kg,
    load_limit_kg,
    runs_needed,
)
from app.science.freezedrying import freeze_drying_time
from app.science.ranges import Range
from app.science.rehydration import (
    WATER_TAKEN_BACK,
    published_soak,
    us_cups,
    water_to_add_kg,
)
from app.web import scope
from app.web.fields import LengthField, MassField, NumberField, worded
from app.web.foretell.answers import Answer, Row, cited, hours, kilograms, length, ranged
from app.web.foretell.form import FoodForm

_SHAPES = {
    Shape.PIECES: N_("Pieces"),
    Shape.GROUND: N_("Ground"),
    Shape.LIQUID: N_("Liquid, soup"),
}


class DryerForm(FoodForm):
    """What a load of the freeze-dryer takes."""

    title: ClassVar[str] = N_("A load of the freeze-dryer")
    words: ClassVar[str] = N_("Food per tray, hours, ice, energy, cost, and how many runs")
    note: ClassVar[str] = N_(
        "Small machines differ by a factor of two. Hours do not show that food is dry: weigh "
        "it back."
    )

    mass = MassField(N_("Food to dry"))
    shape = SelectField(
        N_("It lies on the tray as"),
        choices=worded((shape.value, words) for shape, words in _SHAPES.items()),
    )
    depth = LengthField(N_("Depth on the tray"), low_m=0.003, high_m=0.06)
    trays = NumberField(N_("Trays"), low=1, high=60)
    tray_area = NumberField(
        N_("Area of one tray, cm²"),
        low=50,
        high=20_000,
        description=N_("Length times width; one square inch is 6.45 cm²."),
    )
    ice = MassField(
        N_("Most ice the condenser holds"),
        is_optional=True,
        description=N_("From the machine's papers. Leave it empty if you do not know."),
    )
    price = NumberField(
        N_("Price of a kilowatt-hour"),
        low=0,
        high=1000,
        is_optional=True,
        description=N_("In your own money; the cost comes out in the same."),
    )

    @classmethod
    def usual(cls) -> dict[str, str]:
        """The household's freeze-dryer with cooked meat of 15 mm."""
        dryer = _freeze_dryer()
        area_m2 = dryer.tray_area_m2 if dryer and dryer.tray_area_m2 else 0.1
        metric = scope.units() == "metric"
        return super().usual() | {
            "food": _("Game meat, moose, cooked, roasted"),
            "mass": _("3 kg") if metric else _("6 lb"),
            "shape": Shape.GROUND.value,
            "depth": _("15 mm") if metric else _("0.6 in"),
            "trays": str(dryer.tray_count if dryer and dryer.tray_count else 4),
            "tray_area": f"{1e4 * area_m2:g}",
            "ice": "",
            "price": "",
        }

    def answer(self) -> Answer | None:
        """One full run, and all runs together."""
        subject = self.subject()
        if subject is None:
            return None
        shape, depth_m = Shape(self.shape.data), self.depth.data.length_m
        trays = int(self.trays.data or 1)
        area_m2 = trays * (self.tray_area.data or 0.0) / 1e4
        capacity = to_kg(self.ice.mg) if self.ice.mg else None
        whole_kg = to_kg(self.mass.mg)
        limit = load_limit_kg(
            subject.composition, area_m2, depth_m, subject.food_class, shape, capacity
        )
        runs = runs_needed(whole_kg, limit.central)
        load_kg = whole_kg / runs
        used_m = load_kg / bulk_density(subject.food_class, shape).value / area_m2
        time = freeze_drying_time(
            load_kg, subject.composition, used_m, area_m2, subject.food_class, shape
        )
        ice = ice_kg(load_kg, subject.composition)
        energy = energy_kwh(ice_kg(whole_kg, subject.composition))
        rows = [
            ranged(_("a tray of this depth holds"), limit.times(1 / trays), kilograms),
            ranged(_("one run holds"), limit, kilograms),
            Row(
                _("runs for all of it"),
                str(runs),
                _(
                    "{kilograms} in each, lying {length}",
                    kilograms=kilograms(load_kg),
                    length=length(used_m),
                ),
            ),
            ranged(_("hours of one run, from hard frozen"), time.total_hours, hours),
            ranged(_("ice on the condenser in one run"), ice, kilograms),
            ranged(
                _("dry, all of it weighs"), dry_mass_kg(whole_kg, subject.composition), kilograms
            ),
            ranged(_("energy for all of it"), energy, lambda kwh: _("{kwh:.1f} kWh", kwh=kwh)),
        ]
        if self.price.data is not None:
            cost = energy.times(self.price.data)
            rows.append(
                ranged(_("cost of the energy"), cost, lambda money: figures(f"{money:.2f}"))
            )
        return Answer(
            f"{subject.name}: {runs} {'run' if runs == 1 else 'runs'}.",
            tuple(rows),
            (
                _("The model warns that ice may melt here: start colder, or lay it shallower.")
                if time.melts
                else _("A tray that lies deeper takes more than in proportion longer."),
                _(
                    "Energy for a kilogram of water is our judgement of small machines; a plug "
                    "meter on your own is better."
                ),
                _(
                    "Freezing before the run is not counted. Liquids swell by a tenth: fill to "
                    "nine tenths of the rim."
                ),
            ),
            cited(
                *time.used,
                bulk_density(subject.food_class, shape),
                RESIDUAL_WATER[DryerKind.FREEZE],
                ENERGY_PER_WATER[DryerKind.FREEZE],
            ),
        )


def _freeze_dryer() -> Place | None:
    known = places_query.places(scope.reading())
    return next((p for p in known if p.kind == PlaceKind.FREEZE_DRYER), None)


class RehydrationForm(FoodForm):
    """How much water brings dried food back."""

    title: ClassVar[str] = N_("Water to bring dried food back")
    words: ClassVar[str] = N_("For a weighed portion, in grams and US cups")
    note: ClassVar[str] = N_(
        "Soak in the refrigerator what takes more than two hours, or heat it at once. Food dried "
        "raw is raw again."
    )

    mass = MassField(N_("Dried food"))
    water_now = NumberField(N_("Water in it now, per cent"), low=0, high=60)
    water_fresh = NumberField(N_("Water it had before drying, per cent"), low=1, high=98)

    @classmethod
    def usual(cls) -> dict[str, str]:
        """A portion of freeze-dried cooked game."""
        mass = "100 g" if scope.units() == "metric" else _("4 oz")
        return super().usual() | {"mass": mass, "water_now": "3", "water_fresh": "65"}

    def answer(self) -> Answer | None:
        """The ceiling and what food usually takes up."""
        subject = self.subject()
        if subject is None:
            return None
        dry_kg = to_kg(self.mass.mg)
        now, fresh = (self.water_now.data or 0.0), (self.water_fresh.data or 0.0)
        water = water_to_add_kg(dry_kg, now / 100, fresh / 100)
        rows = [
            ranged(_("water it usually takes up"), water, kilograms),
            ranged(
                _("the same in US cups of 237 ml"), water, lambda kg: figures(f"{us_cups(kg):.2f}")
            ),
            ranged(_("it weighs then"), water.plus(Range(dry_kg, dry_kg, dry_kg)), kilograms),
        ]
        soak = published_soak(subject.name)
        if soak is not None:
            rows.append(
                Row(
                    _(
                        "published for {food}, cups of water to a cup dried, air-dried",
                        food=soak.food,
                    ),
                    figures(f"{soak.cups_water:g}"),
                    _(
                        "at least {min_hours:g} h, {water} water",
                        min_hours=soak.min_hours,
                        water=soak.water,
                    ),
                )
            )
        sources = (WATER_TAKEN_BACK, soak.source) if soak else (WATER_TAKEN_BACK,)
        return Answer(
            _(
                "{name}: pour {kilograms}, then drain or boil off what is left.",
                name=subject.name,
                kilograms=kilograms(water.high),
            ),
            tuple(rows),
            (
                _("Food never takes back more than it lost; over-dried crust takes back less."),
                _(
                    "The share taken back was published for freeze-dried fruit; for other food it "
                    "is our judgement."
                ),
            ),
            cited(*sources),
        )
