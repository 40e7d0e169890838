"""How fast windows are, beside a floor: the same equations on the same draws in bare numpy.

python -m tests.benchmarks.bench_window [lots]
"""

import sys
import time
from dataclasses import replace

import numpy as np

from app.science import unknowns
from app.science.draws import P10, P50, P90
from app.science.moisture import gain_days
from app.science.window import estimate, estimate_many
from tests.keepings import FATTY, LEAN, pouch, room

R, KELVIN = 8.314462618e-3, 273.15
BLOCK = 24


def lots(count: int) -> list:
    """Half lean, half fatty, no two alike, each at its own temperature."""
    return [
        pouch(
            LEAN if i % 2 else FATTY,
            net_mass_kg=0.15 + 0.05 * i / count,
            absorber_ml=100 + i % 300,
            history=room(10 + i % 20),
        )
        for i in range(count)
    ]


def floor(count: int, gains: np.ndarray) -> np.ndarray:
    """The modes of a closed pouch written straight down, with nothing asked and nothing named."""
    u = unknowns.shared()
    found = np.empty((count, 3))
    for first in range(0, count, BLOCK):
        i = np.arange(first, min(first + BLOCK, count))[:, None]
        fat = np.where(i % 2, 0.09, 0.37)
        mass = 150 + 50 * i / count
        sealed = (946 - mass / 1.35) * 0.2095 * 273.15 / 294.15
        temp = 10 + i % 20
        fat_db = fat / 0.975
        ratio = (1 - fat_db) * 0.975 / 0.025
        half = (12 * u.monolayer[0] * ratio - 10) / 2
        activity = 1 / (half + np.sqrt(half * half + 11)) / 0.9
        half = (12 * 0.055 * ratio - 10) / 2
        typical = 1 / (half + np.sqrt(half * half + 11)) / 0.9
        away = typical / 0.27 - 1
        factor = np.exp2(np.minimum(away, 0) ** 2) + np.clip(away * 0.9, 0, 1.5)
        heat = np.exp(-u.energy / R * (1 / (temp + KELVIN) - 1 / 298.15))
        uptake = u.rate * u.species[0] * (fat * factor + u.pigment) * mass * heat
        tolerance = u.tolerance * mass
        capacity = (100 + i % 300) * u.rating
        residual = np.maximum(sealed - capacity, 0)
        spare = np.maximum(capacity - sealed, 0) * u.reserve
        ingress = 0.12 * 0.2095 * u.oxygen_rate[4] + 0.003 * u.leak
        full, inside, rise = uptake * (1 + u.half), residual / sealed, ingress / (2 * sealed)
        a, b = full * rise, (full * inside - tolerance * rise) / 2
        c = tolerance * (u.half + inside)
        root = np.sqrt(b * b + a * c)
        limited = np.where(b > 0, c / (b + root), (root - b) / a)
        supply = np.maximum(tolerance - residual, 0) / ingress
        oxidation = spare / ingress + np.maximum(supply, np.maximum(limited, tolerance / uptake))
        slow = u.slow_days * np.minimum(1, u.fat_reference / fat_db)
        wetness = np.clip(activity, 0.2, 0.7) - 0.2
        slow = slow * np.exp(u.log_slow_q10 * (21 - temp) / 10 - u.per_activity * wetness)
        moisture = gains[i] / u.water_rate[4]
        end = np.minimum(np.minimum(oxidation, slow), moisture)
        found[i[:, 0]] = np.partition(end, (P10, P50, P90), axis=1)[:, [P10, P50, P90]]
    return found


def seconds(work, repeats: int = 5) -> float:
    """Processor time, the best of a few runs: other programs on the machine do not count."""
    best = float("inf")
    for _ in range(repeats):
        start = time.process_time()
        work()
        best = min(best, time.process_time() - start)
    return best


def main() -> None:
    """Print what one lot, 300 lots and many lots take, and the floor for 300."""
    many = int(sys.argv[1]) if len(sys.argv) > 1 else 3000
    estimate(pouch())
    batch = lots(300)
    gains = np.array([gain_days(lot, lot.history[0]) for lot in batch])
    pairs = [
        (seconds(lambda: estimate_many(batch), 1), seconds(lambda: floor(300, gains), 1))
        for _ in range(9)
    ]
    ours, bare = (min(times) for times in zip(*pairs, strict=True))
    one = seconds(lambda: [estimate(pouch()) for _ in range(50)]) / 50
    moved = replace(pouch(), history=(*pouch().history, replace(pouch().history[0], start_day=90)))
    three = seconds(lambda: [estimate(moved) for _ in range(50)]) / 50
    print(f"one lot                {one * 1e3:8.2f} ms")
    print(f"one lot, two places    {three * 1e3:8.2f} ms")
    print(f"300 lots               {ours * 1e3:8.1f} ms")
    print(f"300 lots, bare numpy   {bare * 1e3:8.1f} ms, ratio {ours / bare:.2f}")
    lot_s = seconds(lambda: estimate_many(lots(many)), 1) / many
    print(f"{many} lots            {lot_s * many:8.2f} s, so 100,000 lots {lot_s * 1e5:.0f} s")
    medians = [window.central_days for window in estimate_many(batch)]
    worst = np.abs(np.minimum(floor(300, gains)[:, 1], 25 * 365.25) / medians - 1).max()
    print(f"largest difference of a median between the two {worst:.1e}")


if __name__ == "__main__":
    main()
