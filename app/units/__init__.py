"""The edge where typed amounts become SI numbers, and SI numbers become words for people.

What was typed is kept beside the value. Conversion is exact: every unit is a fraction of its SI
unit by definition, and a mass is rounded once, to the whole milligram of the ledger.
"""

from app.units.reading import (
    MAX_CHARACTERS,
    Length,
    Mass,
    Temperature,
    UnitFault,
    UnitProblem,
    Volume,
    parse_length,
    parse_mass,
    parse_temperature,
    parse_volume,
)
from app.units.showing import (
    System,
    format_mass,
    format_mass_pair,
    format_temperature,
    format_volume,
)

__all__ = [
    "MAX_CHARACTERS",
    "Length",
    "Mass",
    "System",
    "Temperature",
    "UnitFault",
    "UnitProblem",
    "Volume",
    "format_mass",
    "format_mass_pair",
    "format_temperature",
    "format_volume",
    "parse_length",
    "parse_mass",
    "parse_temperature",
    "parse_volume",
]
