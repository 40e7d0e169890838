"""What a run's weighings say, in words."""

from dataclasses import dataclass

from app.language import N_, _, figures
from app.ledger.makeup import composition_of
from app.ledger.mass import to_kg
from app.ledger.models import Lot, Place
from app.ledger.runs import TrayState, dryer_kind
from app.science.classes import FoodClass, Form
from app.science.drying import (
    DryerKind,
    bulk_density,
    dry_mass_kg,
    energy_kwh,
    freeze_drying_hours,
    hot_air_hours,
    water_to_remove_kg,
)
from app.science.dryness import Dryness, Reason, Verdict
from app.science.errors import NotCovered, ScienceError
from app.science.hotair import REFERENCE_C, REFERENCE_THICKNESS_M
from app.science.ranges import Range
from app.units import Length, Temperature
from app.web import scope
from app.web.display import percent, temperature
from app.web.operations.hints import span

_VERDICTS = {
    Verdict.DRY: N_("Dry"),
    Verdict.NOT_YET: N_("Not dry yet"),
    Verdict.CANNOT_TELL: N_("Cannot tell yet"),
}
_REASONS = {
    Reason.FLAT_WEIGHT: N_("the weight has stopped falling"),
    Reason.WET_BY_BALANCE: N_("it still weighs far more than its dry matter"),
    Reason.STILL_LOSING: N_("it is still losing weight"),
    Reason.ONE_WEIGHING: N_("one weighing alone proves nothing; weigh again in an hour or two"),
    Reason.NOT_SURE_ENOUGH: N_("the weighings do not settle it; weigh once more"),
    Reason.EVIDENCE_DISAGREES: N_(
        "weighings and the weight loaded do not fit together; check them"
    ),
    Reason.GAINED_WEIGHT: N_("it weighs more than before; check the weighing"),
    Reason.TARGET_TOO_LOW: N_("drier than a scale can show here"),
}


@dataclass(frozen=True, slots=True)
class TrayRow:
    """One tray of the run page."""

    number: int
    name: str
    is_raw: bool
    code: str
    loaded_mg: int
    tare_mg: int
    weighings: tuple[tuple[str, int], ...]
    verdict: str
    words: str


def dryness_words(dryness: Dryness) -> tuple[str, str]:
    """The verdict, and the numbers behind it."""
    water = dryness.residual_water
    left = _(
        "{central} water left ({low} to {high})",
        central=percent(water.central),
        low=percent(water.low),
        high=percent(water.high),
    )
    sure = ""
    if dryness.probability_dry is not None:
        chance = round(100 * dryness.probability_dry)
        sure = _(", dry enough with a probability of {min} %", min=min(max(chance, 1), 99))
    more = ""
    if dryness.verdict is not Verdict.DRY and dryness.next_weighing_hours:
        more = _(
            " Weigh again about {max} h after the last weighing.",
            max=max(1, round(dryness.next_weighing_hours)),
        )
    if dryness.verdict is Verdict.NOT_YET:
        more = _(
            " About {span} still to lose.{more}", span=span(dryness.still_to_lose_kg), more=more
        )
    return _(_VERDICTS[dryness.verdict]), f"{left}{sure}; {_(_REASONS[dryness.reason])}.{more}"


def tray_row(state: TrayState, code: str, hours: list[float]) -> TrayRow:
    """A tray with its weigh-backs and its judgement."""
    verdict, words = ("", _("Not weighed back yet."))
    if state.dryness is not None:
        verdict, words = dryness_words(state.dryness)
    return TrayRow(
        number=state.tray.number,
        name=state.lot.name,
        is_raw=state.lot.is_raw,
        code=code,
        loaded_mg=state.tray.gross_mg - state.tray.tare_mg,
        tare_mg=state.tray.tare_mg,
        weighings=tuple(
            (figures(f"{hour:.1f} h"), w.gross_mg - state.tray.tare_mg)
            for hour, w in zip(hours, state.weighings, strict=True)
        ),
        verdict=verdict,
        words=words,
    )


@dataclass(frozen=True, slots=True)
class Slices:
    """What warm air has to dry: how thick, and how warm the air is; usual values unless typed."""

    thickness_m: float = REFERENCE_THICKNESS_M
    air_c: float = REFERENCE_C
    is_assumed: bool = True

    @classmethod
    def of(cls, thickness: Length | None, air: Temperature | None) -> "Slices":
        """From what was typed, if anything was."""
        return cls(
            thickness.length_m if thickness else REFERENCE_THICKNESS_M,
            air.temp_c if air else REFERENCE_C,
            is_assumed=thickness is None or air is None,
        )


USUAL_SLICES = Slices()


def prediction(
    loaded: list[tuple[Lot, int]], place: Place, slices: Slices = USUAL_SLICES
) -> list[str]:
    """What the run will give: dry weight, water to come out, hours, energy, each as a range."""
    try:
        return _prediction(loaded, place, slices)
    except ScienceError:
        return []


def _prediction(loaded: list[tuple[Lot, int]], place: Place, slices: Slices) -> list[str]:
    kind = dryer_kind(place)
    pieces = [(composition_of(scope.reading(), lot), to_kg(mass_mg)) for lot, mass_mg in loaded]
    dry = _sum([dry_mass_kg(kg, c, kind=kind) for c, kg in pieces])
    water = _sum([water_to_remove_kg(kg, c, kind=kind) for c, kg in pieces])
    words = [
        _(
            "Dry it should weigh {span}; {span_2} of water has to come out.",
            span=span(dry),
            span_2=span(water),
        )
    ]
    if kind is DryerKind.FREEZE and place.tray_count and place.tray_area_m2:
        words.append(_hours_words(loaded, place))
    elif kind is DryerKind.AIR:
        words.append(_warm_air_words(loaded, slices))
    energy = energy_kwh(water, kind)
    words.append(
        _(
            "Energy about {central:.0f} kWh ({low:.0f} to {high:.0f}); your own meter "
            "knows better.",
            central=energy.central,
            low=energy.low,
            high=energy.high,
        )
    )
    return words


def hours_expected(
    loaded: list[tuple[Lot, int]], place: Place, slices: Slices = USUAL_SLICES
) -> Range | None:
    """Hours a run takes, as a range; None where nothing is published or nothing fits.

    Args:
        loaded: lots and what of each lies on the trays, mg. place: the dryer. slices: what warm air
            has to dry; its usual values are an assumption.
    """
    try:
        if dryer_kind(place) is DryerKind.AIR:
            return _warm_air_hours(loaded, slices)
        if place.tray_count and place.tray_area_m2:
            return _freeze_drying(loaded, place)[0]
    except ScienceError:
        return None
    return None


def _freeze_drying(loaded: list[tuple[Lot, int]], place: Place) -> tuple[Range, float]:
    """Hours for the whole load, as the largest part dries, and how deep it lies, m."""
    lot, _mass_mg = max(loaded, key=lambda pair: pair[1])
    load_kg = sum(to_kg(mass_mg) for _lot, mass_mg in loaded)
    area_m2 = (place.tray_count or 1) * (place.tray_area_m2 or 0.1)
    food_class, form = FoodClass(lot.food_class), Form(lot.form)
    depth_m = load_kg / bulk_density(food_class, form).value / area_m2
    composition = composition_of(scope.reading(), lot)
    hours = freeze_drying_hours(load_kg, composition, depth_m, area_m2, food_class, form)
    return hours, depth_m


def _warm_air_hours(loaded: list[tuple[Lot, int]], slices: Slices) -> Range:
    """Hours in warm air for the largest part of the load."""
    lot, _mass_mg = max(loaded, key=lambda pair: pair[1])
    water = composition_of(scope.reading(), lot).water
    return hot_air_hours(FoodClass(lot.food_class), slices.thickness_m, slices.air_c, water)


def _hours_words(loaded: list[tuple[Lot, int]], place: Place) -> str:
    hours, depth_m = _freeze_drying(loaded, place)
    return _(
        "About {central:.0f} hours ({low:.0f} to {high:.0f}) at {depth_m:.0f} mm "
        "depth; small machines differ, so weigh rather than wait.",
        central=hours.central,
        low=hours.low,
        high=hours.high,
        depth_m=depth_m * 1000,
    )


def _warm_air_words(loaded: list[tuple[Lot, int]], slices: Slices) -> str:
    how = _(
        "slices of {thickness_m:g} mm ({thickness_m_2:.2g} in)",
        thickness_m=1000 * slices.thickness_m,
        thickness_m_2=slices.thickness_m / 0.0254,
    )
    how += _(
        " in air of {temperature}",
        temperature=temperature(slices.air_c),
    )
    try:
        hours = _warm_air_hours(loaded, slices)
    except NotCovered:
        return _("No published times for this food in warm air: weigh rather than wait.")
    except ScienceError:
        return _("No hours to foretell for {how}: outside what was measured.", how=how)
    assumed = _(" (assumed where nothing was typed)") if slices.is_assumed else ""
    return _(
        "About {central:.0f} hours ({low:.0f} to {high:.0f}) for {how}{assumed}; "
        "skins and full trays take longer, so weigh rather than wait. Published "
        "diffusivities, their ranges partly our judgement.",
        central=hours.central,
        low=hours.low,
        high=hours.high,
        how=how,
        assumed=assumed,
    )


def _sum(ranges: list[Range]) -> Range:
    total = ranges[0]
    for other in ranges[1:]:
        total = total.plus(other)
    return total
