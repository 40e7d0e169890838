"""Exact masses: whole milligrams in the ledger, float kilograms in the science."""

from collections.abc import Sequence

MG_PER_KG = 1_000_000


def to_kg(mass_mg: int) -> float:
    """Milligrams to kilograms, for the science."""
    return mass_mg / MG_PER_KG


def to_mg(mass_kg: float) -> int:
    """Kilograms to whole milligrams, rounded half to even."""
    return round(mass_kg * MG_PER_KG)


def share_out(total_mg: int, weights: Sequence[int]) -> list[int]:
    """Divide a mass in proportion to weights so that the parts sum to it exactly.

    Args:
        total_mg: what is divided, ≥ 0. weights: non-negative, at least one above 0.
    Returns:
        Parts in mg, in the order of the weights; the largest remainders get the odd milligrams.
    Raises:
        ValueError: no weight above zero.
    Example:
        >>> share_out(100, [1, 1, 1])
        [34, 33, 33]
    """
    whole = sum(weights)
    if whole <= 0:
        raise ValueError("share_out needs a weight above zero")
    parts = [total_mg * weight // whole for weight in weights]
    remainders = [(-(total_mg * weight % whole), i) for i, weight in enumerate(weights)]
    for _, index in sorted(remainders)[: total_mg - sum(parts)]:
        parts[index] += 1
    return parts
