import pytest

from app.science.errors import OutOfRange
from app.science.vapour import (
    atmospheric_pressure_pa,
    frost_point_c,
    humidity_ratio,
    ice_saturation_pressure_pa,
    latent_heat_sublimation_j_kg,
    latent_heat_vaporisation_j_kg,
    saturation_pressure_pa,
    vapour_volume_m3,
    wet_bulb_c,
)


def test_the_two_equations_of_liquid_water_meet_at_the_triple_point() -> None:
    below, above = saturation_pressure_pa(0.0099999), saturation_pressure_pa(0.0100001)
    assert below < above
    assert below == pytest.approx(above, rel=1e-6)


def test_ice_and_water_agree_at_the_triple_point_and_ice_is_lower_below_it() -> None:
    assert ice_saturation_pressure_pa(0.01) == pytest.approx(saturation_pressure_pa(0.01), rel=1e-4)
    assert ice_saturation_pressure_pa(-20.0) < saturation_pressure_pa(-20.0)


def test_sublimation_costs_melting_and_boiling() -> None:
    melting = latent_heat_sublimation_j_kg(0.01) - latent_heat_vaporisation_j_kg(0.01)
    assert melting == pytest.approx(333.4e3, rel=2e-3)


def test_the_frost_point_undoes_the_ice_curve() -> None:
    for temp_c in (-80.0, -40.0, -1.0):
        assert frost_point_c(ice_saturation_pressure_pa(temp_c)) == pytest.approx(temp_c, abs=1e-6)


def test_saturated_air_has_its_own_temperature_as_wet_bulb() -> None:
    humidity = humidity_ratio(saturation_pressure_pa(30.0), 101325.0)
    assert wet_bulb_c(30.0, humidity) == pytest.approx(30.0, abs=0.01)


@pytest.mark.parametrize(
    ("function", "value"),
    [
        (saturation_pressure_pa, 201.0),
        (saturation_pressure_pa, float("nan")),
        (ice_saturation_pressure_pa, 1.0),
        (frost_point_c, 700.0),
        (atmospheric_pressure_pa, 12_000.0),
        (latent_heat_vaporisation_j_kg, -1.0),
        (latent_heat_sublimation_j_kg, 5.0),
    ],
)
def test_outside_its_range_an_equation_says_the_range(function: object, value: float) -> None:
    assert callable(function)
    with pytest.raises(OutOfRange) as refused:
        function(value)
    assert refused.value.low is not None or refused.value.high is not None


def test_more_vapour_than_air_is_refused() -> None:
    with pytest.raises(OutOfRange):
        humidity_ratio(2000.0, 1000.0)
    with pytest.raises(OutOfRange):
        vapour_volume_m3(1.0, 0.0, 20.0)
