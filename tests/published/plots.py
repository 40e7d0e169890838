"""Draw predicted against published: `python -m tests.published.plots`.

Every point that is called published comes from the rows or tables of a test in this folder; every
curve is computed by app.science here and now. Nothing is fitted to the points.
"""

from collections.abc import Callable, Sequence
from pathlib import Path

from app.science.classes import Form
from app.science.composition import Composition
from app.science.cooking import boiling_point_c
from app.science.foods import food
from app.science.freezing import freezing_food, pham_1986_hours, plank_hours, thawing_hours
from app.science.freezing_solution import slab_solution_hours
from app.science.frozen import freezer_months
from app.science.keeping import Keeping, Window
from app.science.lethality import MEAT_D_140_MINUTES, MEAT_REFERENCE_F, MEAT_Z_F
from app.science.oxidation import ENERGY, RATE_25_C, arrhenius
from app.science.packaging import PackagingKind
from app.science.slow import YEAR_D
from app.science.sorption import FRUIT, MEAT, VEGETABLE, gab_moisture
from app.science.vapour import ice_saturation_pressure_pa, saturation_pressure_pa
from app.science.window import estimate
from app.science.yields import protein_tie
from tests.keepings import AIR_DRIED, FATTY, LEATHERY_APPLE, apples, freezer, game, pouch, room
from tests.published import test_composition, test_cooking, test_frozen, test_oxidation, test_window
from tests.published.svg import PREDICTED, PUBLISHED, SECOND, THIRD, Axis, Figure
from tests.published.test_freezing import LEAN_BEEF
from tests.published.test_lethality import PRINTED

FOLDER = Path(__file__).parents[2] / "docs" / "science" / "plots"
MONTH_D = YEAR_D / 12
BROAD, THIN = 7, 3


def steps(low: float, high: float, count: int = 60) -> list[float]:
    """Evenly spaced values, both ends among them."""
    return [low + (high - low) * i / count for i in range(count + 1)]


def vapour_pressure() -> Figure:
    """Saturation pressure over ice and water."""
    ice = {150.0: 6.106e-6, 180.0: 5.3975e-3, 210.0: 0.70202, 240.0: 27.272, 273.15: 611.154}
    air = {-60.0: 1.08, -20.0: 103.24, -5.0: 401.74, 5.0: 872.6, 25.0: 3169.7, 50.0: 12351.3}
    air |= {100.0: 101418.0}
    figure = Figure(
        "Vapour pressure of ice and water",
        Axis("temperature, °C", -100, 120, range(-100, 121, 20)),
        Axis("pressure, Pa", 1e-3, 1e6, [10.0**n for n in range(-3, 7)], is_log=True),
    )
    over_ice = [(t, ice_saturation_pressure_pa(t)) for t in steps(-100, 0)]
    over_water = [(t, saturation_pressure_pa(t)) for t in steps(0, 120)]
    figure.curve(over_ice, "ours, over ice", SECOND)
    figure.curve(over_water, "ours, over water", PREDICTED)
    printed = [(k - 273.15, pa) for k, pa in ice.items() if k > 175] + list(air.items())
    figure.dots(printed, "Murphy and Koop 2005; ASHRAE 2017")
    return figure


def boiling() -> Figure:
    """Boiling point by altitude."""
    figure = Figure(
        "Boiling point by altitude",
        Axis("altitude, m", 0, 3500, range(0, 3501, 500)),
        Axis("boiling point, °C", 88, 101, range(88, 102, 2)),
    )
    figure.curve([(m, boiling_point_c(m)) for m in steps(0, 3500)], "ours", PREDICTED)
    points = [(feet * 0.3048, row.expected) for feet, row in test_cooking.BOILING]
    figure.dots(points, "published altitude table")
    return figure


def _one_to_one(figure: Figure, points: Sequence[tuple[float, float]], words: str) -> Figure:
    low, high = figure.x.low, figure.x.high
    figure.curve([(low, low), (high, high)], "equal", PREDICTED)
    figure.dots(points, words)
    return figure


def cooking_yields() -> Figure:
    """Cooked over raw mass: protein tie against the weighed table."""
    ends = [0.6, 0.65, 0.7, 0.75, 0.8, 0.85, 0.9]
    points = [
        (row.expected, protein_tie(food(raw).composition.protein, food(done).composition.protein))
        for raw, done, row in test_cooking.TIES
    ]
    figure = Figure(
        "Cooking yield: protein tie against weighed yields",
        Axis("published, kg cooked per kg raw (USDA, 2014)", 0.6, 0.9, ends),
        Axis("ours", 0.6, 0.9, ends),
    )
    return _one_to_one(figure, points, "deer, elk, beef, pork, chicken")


def drying_ratios() -> Figure:
    """How many times lighter dried food is."""
    ends = list(range(0, 19, 3))
    points = [
        (row.expected, test_composition.drying_ratio(fresh, dry))
        for fresh, dry, row in test_composition.DRYING_RATIOS
    ]
    figure = Figure(
        "Drying ratio: from water alone, against the carbohydrates found",
        Axis("published, kg fresh per kg dry (SR28, by carbohydrate)", 0, 18, ends),
        Axis("ours, from the water", 0, 18, ends),
    )
    return _one_to_one(figure, points, "fruit, onion, green pepper")


def lethality() -> Figure:
    """Time for 6.5 logs at each temperature."""
    figure = Figure(
        "Time for 6.5 logs in cooked beef",
        Axis("temperature, °F", 128, 160, range(128, 161, 4)),
        Axis("minutes", 0.1, 1000, [0.1, 1, 10, 100, 1000], is_log=True),
    )
    line = [
        (t, 6.5 * MEAT_D_140_MINUTES.value * 10 ** ((MEAT_REFERENCE_F - t) / MEAT_Z_F.value))
        for t in steps(130, 157)
    ]
    figure.curve(line, "ours: z = 10 °F", PREDICTED)
    points = [(t, low / (1 if t <= 145 else 60)) for t, (low, _) in PRINTED.items()]
    figure.dots(points, "FSIS, Appendix A, 1999, every row")
    return figure


def freezing() -> Figure:
    """Hours to freeze slabs of lean beef."""
    figure = Figure(
        "Freezing lean beef, 10 to −10 °C in air of −20 °C, h = 10 W/m² K",
        Axis("thickness, mm", 0, 100, range(0, 101, 20)),
        Axis("hours", 0, 36, range(0, 37, 6)),
    )
    beef = freezing_food(LEAN_BEEF)
    heat = beef.latent_j_kg * beef.density_kg_m3
    thick = steps(5, 100, 19)
    pham = [(d, pham_1986_hours(d / 1e3, beef, 10, -20, -10, 10.0)) for d in thick]
    plank = [
        (d, plank_hours(d / 1e3, heat, beef.freezing_c, -20, 10, beef.frozen_w_mk)) for d in thick
    ]
    solved = [(d, slab_solution_hours(LEAN_BEEF, d / 1e3, 10, -20, -10, 10)) for d in (25, 50, 75)]
    figure.curve(pham, "Pham 1986, used", PREDICTED)
    figure.curve(plank, "Plank", THIRD, "5 4")
    figure.dots(solved, "heat equation, solved")
    return figure


def thawing() -> Figure:
    """Hours to thaw in a refrigerator of 4 °C."""
    figure = Figure(
        "Thawing meat in a refrigerator of 4 °C",
        Axis("thickness, mm", 10, 60, range(10, 61, 10)),
        Axis("hours", 0, 60, range(0, 61, 10)),
    )
    times = [(d, thawing_hours(d / 1e3, LEAN_BEEF, 4.0)) for d in steps(10, 60, 20)]
    figure.curve([(d, t.central) for d, t in times], "ours, central", PREDICTED)
    figure.curve([(d, t.low) for d, t in times], "ours, low and high", SECOND, "5 4")
    figure.curve([(d, t.high) for d, t in times], "", SECOND, "5 4")
    figure.bar(((25.4, 12.0), (25.4, 14.0)), "", PUBLISHED, BROAD)
    figure.dots([(25.4, 12.0), (25.4, 14.0), (25.4, 24.0)], "consumer advice: steak, packed mince")
    return figure


def sorption() -> Figure:
    """The three isotherms with the only outside points there are."""
    figure = Figure(
        "Water held at a water activity, 20 to 30 °C",
        Axis("water activity", 0, 0.7, [0.1 * n for n in range(8)]),
        Axis("kg water per kg fat-free dry matter", 0, 0.25, [0.05 * n for n in range(6)]),
    )
    kinds = (MEAT, PREDICTED), (FRUIT, SECOND), (VEGETABLE, THIRD)
    for kind, colour in kinds:
        constants = kind.monolayer.value, kind.c.value, kind.k.value
        points = [(a, gab_moisture(a, *constants)) for a in steps(0.0, 0.675)]
        figure.curve(points, kind.words.split(" at ")[0].removeprefix("freeze-dried "), colour)
    figure.dots([(0.60, 0.10 / 0.90)], "two rules for meat: 10 % water, activity 0.60")
    return figure


def oxidation() -> Figure:
    """How fast lard takes up oxygen."""
    figure = Figure(
        "Oxidation of lard",
        Axis("temperature, °C", 5, 50, range(5, 51, 5)),
        Axis("peroxide value gained, meq/kg per day", 0.01, 10, [0.01, 0.1, 1, 10], is_log=True),
    )
    rate = [(t, RATE_25_C.value * float(arrhenius(ENERGY.value, t, 24.85))) for t in steps(5, 50)]
    figure.curve(rate, "ours", PREDICTED)
    points = [(k - 273.15, rate) for k, (rate, _) in test_oxidation.PEROXIDE.items()]
    figure.dots(points, "Park and others 2018, table 6")
    return figure


def freezer_tables() -> Figure:
    """Months in the freezer, as printed and as used."""
    rows = test_frozen.MONTHS
    figure = Figure(
        "Freezer at −18 °C: the published tables and what is used",
        Axis("months", 0, 13, range(0, 14, 1)),
        Axis("", 0, len(rows) + 1, []),
        left=230,
        height=100 + 22 * len(rows),
    )
    for line, (state, low, high, _, where) in enumerate(rows):
        y = len(rows) - line
        row = freezer_months(state)
        assert row is not None
        used = row.span
        figure.label(y, where)
        figure.bar(((used[0], y), (used[1], y)), "used", PREDICTED, BROAD)
        printed = [(month, float(y)) for month in (low, high) if month is not None]
        figure.dots(printed, "published ends")
    return figure


def _milk(composition: Composition, **changes: object) -> Keeping:
    return test_window.milk(composition, **changes)


def window_cases() -> list[tuple[str, Keeping, float, float]]:
    """Words, the lot, and the published months (twice the same where one number is given)."""
    skim, whole = test_window.SKIM_MILK, test_window.WHOLE_MILK
    bag, can = PackagingKind.ZIP_BAG, PackagingKind.STEEL_CAN
    jerky = pouch(
        Composition(0.08, 0.80, 0.07, 0.0, 0.05), treatments=AIR_DRIED, packaging=bag,
        volume_m3=None, area_m2=None, absorber_ml=0.0,
    )  # fmt: skip
    tin = {"net_mass_kg": 0.45, "volume_m3": 0.9e-3, "sealed_pressure_fraction": 0.02}
    powder = {"net_mass_kg": 0.45, "volume_m3": 1e-3}

    steak = game(
        form=Form.WHOLE, treatments=frozenset(), packaging=PackagingKind.VACUUM_BAG,
        history=freezer(-26.0),
    )  # fmt: skip

    def fruit(temp_c: float) -> Keeping:
        return apples(
            LEATHERY_APPLE, treatments=AIR_DRIED, packaging=bag, net_mass_kg=0.15,
            absorber_ml=0.0, history=room(temp_c),
        )  # fmt: skip

    return [
        ("jerky in a bag", jerky, 0.46, 0.46),
        ("whole milk powder, air", _milk(whole, **powder), 3, 9),
        ("the same, little oxygen: a year and more", _milk(whole, packaging=can, **tin), 12, 12),
        ("dry milk, 32 °C, can", _milk(skim, packaging=can, history=room(32.0)), 30, 30),
        ("dry milk, 21 °C, bag", _milk(skim, packaging=bag), 42, 42),
        ("dry milk, absorber", _milk(skim, packaging=can, absorber_ml=500.0), 276, 276),
        ("dried fruit, 16 °C (its anchor)", fruit(15.56), 12, 12),
        ("dried fruit, 27 °C (its anchor)", fruit(26.67), 6, 6),
        ("dried apricots, 21 °C", fruit(21.1), 3, 3),
        ("game, vacuum, −26 °C", steak, 10, 12),
        ("lean, foil, absorber (its anchor)", pouch(), 120, 300),
        ("20 % blend, foil, absorber (anchor)", pouch(FATTY, net_mass_kg=0.23), 60, 60),
    ]  # fmt: skip


def storage_windows() -> Figure:
    """Windows of lots like those that somebody watched."""
    cases = window_cases()
    figure = Figure(
        "Storage windows against field observations and practice",
        Axis("months", 0.1, 400, [0.1, 0.3, 1, 3, 10, 30, 100, 300], is_log=True),
        Axis("", 0, len(cases) + 1, []),
        left=260,
        height=100 + 26 * len(cases),
    )
    for line, (words, keeping, low, high) in enumerate(cases):
        y = len(cases) - line
        found = estimate(keeping)
        assert isinstance(found, Window)
        early, central, late = (
            days / MONTH_D for days in (found.early_days, found.central_days, found.late_days)
        )
        figure.label(y, words)
        figure.bar(((early, y), (late, y)), "early to late", PREDICTED, BROAD)
        figure.bar(((central, y - 0.3), (central, y + 0.3)), "central", SECOND, THIN)
        figure.dots([(low, y), (high, y)] if high > low else [(low, y)], "observed or said")
    return figure


FIGURES: dict[str, Callable[[], Figure]] = {
    "vapour-pressure": vapour_pressure,
    "boiling-point": boiling,
    "cooking-yields": cooking_yields,
    "drying-ratios": drying_ratios,
    "lethality": lethality,
    "freezing": freezing,
    "thawing": thawing,
    "sorption": sorption,
    "oxidation": oxidation,
    "freezer-tables": freezer_tables,
    "storage-windows": storage_windows,
}


def main() -> None:
    """Write every drawing."""
    FOLDER.mkdir(parents=True, exist_ok=True)
    for name, draw in FIGURES.items():
        (FOLDER / f"{name}.svg").write_text(draw().text(), encoding="utf-8")


if __name__ == "__main__":
    main()
