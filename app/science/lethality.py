"""Heat that kills: equivalent minutes of a recorded history, and the tables that set targets."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise
from math import floor, isfinite, log

from app.science.classes import FoodClass, Form
from app.science.errors import NotCovered, OutOfRange, require
from app.science.sources import FSIS_APPENDIX_A, GROUND_MEAT_MANUAL, Evidence, Source, Sourced

Reading = tuple[float, float]  # minutes, temperature in the unit of reference and z


def fahrenheit(temp_c: float) -> float:
    """Degrees Fahrenheit of a Celsius temperature."""
    return temp_c * 1.8 + 32.0


def lethal_rate(temp: float, reference: float, z: float) -> float:
    """Minutes at the reference that one minute at temp is worth: L = 10^((t - t_ref)/z).

    Args:
        temp, reference, z: all in one unit, °C or °F; z > 0.
    Returns:
        Dimensionless.
    Raises:
        OutOfRange: z not positive.
    Source: definition of z.
    Example:
        >>> round(lethal_rate(110.0, 121.11, 10.0), 3)
        0.077
    """
    require("z", z, 1e-6, None)
    return float(10.0 ** ((temp - reference) / z))


def equivalent_minutes(readings: Iterable[Reading], reference: float, z: float) -> float:
    """Minutes at the reference temperature that a history is worth, F = ∫ L dθ.

    Between readings the temperature runs straight, so L is exponential and its integral exact:
    Δθ (L2 - L1)/ln(L2/L1). Trapezoids and Simpson's rule overstate. Where readings lie more than
    z/2 apart in temperature, the lower one is credited for the whole interval.

    Args:
        readings: pairs of minutes and temperature, minutes increasing. reference, z: same unit.
    Returns:
        Minutes.
    Raises:
        OutOfRange: minutes that do not increase, temperatures that are no number.
    Validity: z constant; not above about 1.5 z beyond the reference.
    Source: definition of F.
    Example:
        >>> round(equivalent_minutes([(0, 60), (10, 60)], 60.0, 5.56), 6)
        10.0
    """
    record = _checked(readings)
    return sum(_segment(one, two, reference, z, 0.5) for one, two in pairwise(record))


def lethality_sum(rates: Iterable[float], interval_minutes: float) -> float:
    """F by summing lethal rates at equal intervals, as printed work sheets do; overstates.

    Args:
        rates: lethal rates. interval_minutes: between them, min.
    Returns:
        Minutes at the reference.
    Raises:
        OutOfRange: no interval.
    Source: work-sheet practice; kept to compare with printed examples.
    """
    require("interval_minutes", interval_minutes, 1e-9, None, "min")
    return sum(rates) * interval_minutes


def log_reduction(equivalent: float, d_minutes: float) -> float:
    """Decimal reductions: minutes at the reference over the decimal reduction time there."""
    require("equivalent", equivalent, 0.0, None, "min")
    require("d_minutes", d_minutes, 1e-9, None, "min")
    return equivalent / d_minutes


class LethalityTable(StrEnum):
    """Published pairs of temperature and time."""

    MEAT_6_5 = "meat_6_5"
    MEAT_7 = "meat_7"
    GROUND = "ground"


@dataclass(frozen=True, slots=True)
class Table:
    """Minimum seconds by whole °F; what its logs are, and where it stands."""

    rows: dict[int, float]
    logs: float
    source: Source
    evidence: Evidence


def _seconds(*rows: tuple[int, float, float]) -> tuple[dict[int, float], dict[int, float]]:
    """Two columns of seconds by °F."""
    return {t: a for t, a, _ in rows}, {t: b for t, _, b in rows}


_MEAT_6_5, _MEAT_7 = _seconds(
    *((t, 60.0 * a, 60.0 * b) for t, a, b in (
        (130, 112, 121), (131, 89, 97), (132, 71, 77), (133, 56, 62), (134, 45, 47),
        (135, 36, 37), (136, 28, 32), (137, 23, 24), (138, 18, 19), (139, 15, 15), (140, 12, 12),
        (141, 9, 10), (142, 8, 8), (143, 6, 6), (144, 5, 5), (145, 4, 4),
    )),
    (146, 169, 182), (147, 134, 144), (148, 107, 115), (149, 85, 91), (150, 67, 72),
    (151, 54, 58), (152, 43, 46), (153, 34, 37), (154, 27, 29),
    (155, 22, 23), (156, 17, 19), (157, 14, 15),
)  # fmt: skip

TABLES: dict[LethalityTable, Table] = {
    LethalityTable.MEAT_6_5: Table(_MEAT_6_5, 6.5, FSIS_APPENDIX_A, Evidence.COPY),
    LethalityTable.MEAT_7: Table(_MEAT_7, 7.0, FSIS_APPENDIX_A, Evidence.COPY),
    # Worth 5 to 5.6 logs on the line of the meat table: another rule, not to be mixed with it.
    LethalityTable.GROUND: Table(
        {145: 180.0, 150: 60.0, 155: 17.0}, 5.0, GROUND_MEAT_MANUAL, Evidence.READ
    ),
}

MEAT_REFERENCE_F = 140.0
MEAT_Z_F = Sourced(
    10.01, "°F", Evidence.DERIVED, FSIS_APPENDIX_A, note="slope of the 6.5-log column, r² 0.9996"
)
MEAT_D_140_MINUTES = Sourced(
    1.71,
    "min",
    Evidence.DERIVED,
    FSIS_APPENDIX_A,
    1.71,
    1.85,
    "printed times are rounded up: the line lies at or below every row of the 6.5-log column",
)


def hold_seconds(table: LethalityTable, temp_f: float) -> float:
    """Seconds that a table asks for at a temperature, by its next lower row.

    Args:
        table: which. temp_f: centre, °F, from the first row of the table up.
    Returns:
        Seconds; above the last row the last row still counts, although print says "instant".
    Raises:
        OutOfRange: colder than the table begins.
    Source: the table's own.
    Example:
        >>> hold_seconds(LethalityTable.MEAT_6_5, 145.4) / 60
        4.0
    """
    rows = TABLES[table].rows
    first = min(rows)
    require("temp_f", temp_f, first, None, "°F")
    return rows[max(t for t in rows if t <= floor(temp_f))]


def fitted_z(table: LethalityTable) -> tuple[float, float]:
    """Slope z, °F, and ln of the minutes at 140 °F, of the straight line through a table."""
    rows = TABLES[table].rows
    points = [(float(t), log(seconds / 60.0)) for t, seconds in rows.items()]
    mean_t = sum(t for t, _ in points) / len(points)
    mean_y = sum(y for _, y in points) / len(points)
    slope = sum((t - mean_t) * (y - mean_y) for t, y in points) / sum(
        (t - mean_t) ** 2 for t, _ in points
    )
    return -log(10.0) / slope, mean_y + slope * (MEAT_REFERENCE_F - mean_t)


@dataclass(frozen=True, slots=True)
class Lethality:
    """What a history is worth: logs by integration, by the table, and the lower of both."""

    logs_by_line: float
    share_of_table: float
    credited_logs: float
    target_logs: float
    met: bool
    highest_f: float
    table: LethalityTable


def target_table(food_classes: Collection[FoodClass], form: Form) -> LethalityTable:
    """Which published table may judge this meat.

    Args:
        food_classes: every ingredient. form: whole, pieces, ground.
    Returns:
        The ground-meat rule for ground meat, else the 7-log column for game, the 6.5-log column
        for beef, lamb and pork.
    Raises:
        NotCovered: poultry, meat-eaters, fish, eggs, dishes: a temperature alone decides there.
    Source: scope of the tables; 7 log for game is our judgement, the stricter column.
    """
    farmed = {FoodClass.RED_MEAT, FoodClass.PORK}
    outside = set(food_classes) - farmed - {FoodClass.GAME}
    if outside or not food_classes:
        names = ", ".join(sorted(kind.value for kind in outside)) or "nothing"
        raise NotCovered(f"time and temperature tables for {names}")
    if form is Form.GROUND:
        return LethalityTable.GROUND
    is_game = FoodClass.GAME in food_classes
    return LethalityTable.MEAT_7 if is_game else LethalityTable.MEAT_6_5


def judge_history(
    readings_c: Iterable[Reading], food_classes: Collection[FoodClass], form: Form
) -> Lethality:
    """Credit a recorded centre temperature against the table of its meat.

    Two ways are computed and the lower one is credited: the exact integral along the line of the
    table, and the sum of held time over the time the table asks at each temperature, below whose
    first row nothing counts.

    Args:
        readings_c: pairs of minutes and centre temperature, °C, minutes increasing.
        food_classes, form: choose the table.
    Returns:
        Logs and whether the table is met.
    Raises:
        NotCovered: see target_table. OutOfRange: see equivalent_minutes.
    Validity: needs moist heat and a true centre reading. It explains a cook; the plain target
        temperature stays the rule for a household.
    Source: FSIS Appendix A, 1999; the manual for ground meat.
    """
    record = _checked((minutes, fahrenheit(temp)) for minutes, temp in readings_c)
    table = target_table(food_classes, form)
    target = TABLES[table].logs
    minutes = equivalent_minutes(record, MEAT_REFERENCE_F, MEAT_Z_F.value)
    logs = log_reduction(minutes, MEAT_D_140_MINUTES.value)
    share = sum(_table_share(one, two, table) for one, two in pairwise(record))
    credited = min(logs, share * target)
    highest = max((temp for _, temp in record), default=float("-inf"))
    return Lethality(logs, share, credited, target, credited >= target, highest, table)


def _table_share(one: Reading, two: Reading, table: LethalityTable) -> float:
    """Share of the table's time that one interval gives, at its colder end."""
    coldest = min(one[1], two[1])
    if coldest < min(TABLES[table].rows):
        return 0.0
    return 60.0 * (two[0] - one[0]) / hold_seconds(table, coldest)


def _segment(one: Reading, two: Reading, reference: float, z: float, trusted: float) -> float:
    """Equivalent minutes of one straight stretch; the colder end only, if it is too steep."""
    minutes = two[0] - one[0]
    first, second = lethal_rate(one[1], reference, z), lethal_rate(two[1], reference, z)
    if abs(two[1] - one[1]) > trusted * z * (1 + 1e-9):
        return minutes * min(first, second)
    if abs(two[1] - one[1]) < 1e-9 * z:
        return minutes * first
    return minutes * (second - first) / log(second / first)


def _checked(readings: Iterable[Reading]) -> list[Reading]:
    """The readings as a list, refused when they are not a history."""
    record = [(float(minutes), float(temp)) for minutes, temp in readings]
    for minutes, temp in record:
        if not (isfinite(minutes) and isfinite(temp)):
            raise OutOfRange("reading", temp, None, None)
        require("temp", temp, -100.0, 500.0, "°")
    for (earlier, _), (later, _) in pairwise(record):
        require("minutes", later, earlier + 1e-12, None, "min")
    return record
