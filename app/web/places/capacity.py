"""How much a place holds: litres, or cubic feet where freezers are sold by them."""

import re
from typing import Any

from app.language import N_, _
from app.units import Volume, parse_volume
from app.web import scope
from app.web.fields import _TypedField as TypedField

CUBIC_FOOT_ML = 28_316.846592  # by definition: a foot is 30.48 cm
MOST_ML = 5_000_000.0  # a cold room; more is a slip of the finger
_CUBIC_FEET = re.compile(r"\s*(cu\.?|cubic)\s*(ft\.?|foot|feet)\s*$|\s*ft\s*(3|³)\s*$", re.I)


class CapacityField(TypedField):
    """A volume in litres or cubic feet; data is a Volume once read, millilitres as a default."""

    data: Any

    def parse(self, text: str) -> Volume:
        """Litres unless a unit is typed (cubic feet in a household of US units)."""
        bare = _CUBIC_FEET.sub("", text)
        is_number = re.fullmatch(r"[\s\d.,]+", bare) is not None
        is_feet = is_number and (bare != text or scope.units() == "us")
        volume = parse_volume(bare, "ml" if is_feet else "l")
        if is_feet:
            volume = Volume(text, volume.volume_m3 * CUBIC_FOOT_ML, _("cu ft"))
        if not 0.0 < volume.volume_m3 * 1e6 <= MOST_ML:
            raise ValueError(N_("This should be more than nothing, and 5,000 litres at most."))
        return volume

    def shown(self, data: Any) -> str:
        """As the household reads it."""
        return capacity_words(float(data))


def capacity_words(capacity_ml: float) -> str:
    """In litres, or in cubic feet for a household of US units: "200 l", "7.1 cu ft"."""
    if scope.units() == "us":
        return _("{capacity_ml:.3g} cu ft", capacity_ml=capacity_ml / CUBIC_FOOT_ML)
    return f"{capacity_ml / 1000:.4g} l"
