"""One temperature for a year of seasons, against a published worked example."""

from app.science.history import mean_kinetic_c
from tests.published.row import Published

EXAMPLE = "Temperatura cinetica media, encyclopedia article in Italian, undated copy"


def test_the_mean_kinetic_temperature_is_that_of_the_published_example():
    published = Published(6.3, 0.05, EXAMPLE, "seven readings from 2 to 8 °C", "printed digits")
    assert published.agrees(mean_kinetic_c([2.0, 2.0, 5.0, 8.0, 8.0, 8.0, 8.0]))
