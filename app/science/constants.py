"""Physical constants, each with its unit and its source."""

from app.science.sources import CODATA_2018, IAPWS_R10, ISO_2533, Evidence, Sourced

ZERO_CELSIUS = Sourced(273.15, "K", Evidence.UNCHECKED, CODATA_2018, note="exact by definition")
GAS_CONSTANT = Sourced(
    8.314462618, "J/(mol K)", Evidence.UNCHECKED, CODATA_2018, note="exact by definition"
)
STEFAN_BOLTZMANN = Sourced(5.670374419e-8, "W/(m2 K4)", Evidence.UNCHECKED, CODATA_2018)
MOLAR_MASS_WATER = Sourced(18.01528e-3, "kg/mol", Evidence.UNCHECKED, IAPWS_R10)
FUSION_HEAT = Sourced(
    333.43e3,
    "J/kg",
    Evidence.DERIVED,
    IAPWS_R10,
    note="at 0 °C, enthalpy of liquid water less enthalpy of ice",
)
ICE_DENSITY = Sourced(916.7, "kg/m3", Evidence.DERIVED, IAPWS_R10, note="at 0 °C")
SEA_LEVEL_PRESSURE = Sourced(101325.0, "Pa", Evidence.UNCHECKED, ISO_2533)

JOULES_PER_KWH = 3.6e6
SECONDS_PER_HOUR = 3600.0
PASCAL_PER_MICRON = 0.133322  # one thousandth of a millimetre of mercury
