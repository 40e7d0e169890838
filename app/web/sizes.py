"""Form fields for the sizes of trays, packages and labels."""

from typing import Any

from app.units import Length, Volume, parse_length, parse_volume
from app.web import scope
from app.web.fields import _TypedField as TypedField


class LengthField(TypedField):
    """A length in mm, cm, m or inches; data is a Length once read."""

    data: Any

    def parse(self, text: str) -> Length:
        """Centimetres unless a unit is typed (inches in a household of US units)."""
        return parse_length(text, "cm" if scope.units() == "metric" else "in")

    def shown(self, data: Length) -> str:
        """A default is written as it was typed."""
        return data.typed


class VolumeField(TypedField):
    """A volume from millilitres to gallons; data is a Volume once read."""

    data: Any

    def parse(self, text: str) -> Volume:
        """Millilitres unless a unit is typed (US quarts in a household of US units)."""
        return parse_volume(text, "ml" if scope.units() == "metric" else "quart")
