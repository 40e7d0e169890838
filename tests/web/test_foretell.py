"""Foretelling: asked by GET, answered as ranges with sources and weak points, nothing written."""

from collections.abc import Callable
from contextlib import AbstractContextManager
from typing import Any

import pytest
from flask import Flask

from app.ledger.codes import code_of
from app.ledger.household import Settings, change_settings
from app.ledger.words import UnitSystem
from app.science.conduction import Surroundings
from app.science.cooling import CoolingVerdict, foretell_cooling
from app.science.foods import food
from app.science.freezing import freezing_hours, thawing_hours
from app.science.lethality import TABLES, LethalityTable
from app.web.foretell.heat import deepest_that_passes
from app.web.foretell.views import ADDRESS, TOPICS
from tests import builders as b
from tests.web.conftest import HandClock
from tests.web.pages import Page, Tablet

Given = Callable[..., Any]


def ask(tablet: Tablet, topic: str, **typed: object) -> Page:
    """A question by query string."""
    return Page(tablet.client.get(f"{ADDRESS}/{topic}", query_string=typed))


def row(page: Page, words: str) -> str:
    """What follows some words of the table, up to a hundred letters."""
    start = page.words.index(words) + len(words)
    return page.words[start : start + 100]


def test_every_topic_is_listed_and_papers_lead_there(tablet: Tablet) -> None:
    assert ADDRESS in {a.get("href") for tag, a in tablet.get("/papers").tags if tag == "a"}
    listed = {a.get("href") for tag, a in tablet.get(ADDRESS).tags if tag == "a"}
    assert {f"{ADDRESS}/{topic}" for topic in TOPICS} <= listed
    assert tablet.get(f"{ADDRESS}/fortune").status == 404


@pytest.mark.parametrize("topic", TOPICS)
def test_every_topic_answers_at_once_with_what_is_weak_and_where_it_comes_from(
    tablet: Tablet, topic: str, unchanged: Callable[[], AbstractContextManager[None]]
) -> None:
    with unchanged():
        page = tablet.get(f"{ADDRESS}/{topic}")
    assert page.status == 200
    assert "What is weak in it" in page.words
    assert "Where it comes from" in page.words
    assert TOPICS[topic].note in page.words
    assert any(mark in page.words for mark in ("our judgement", "read in"))
    assert all(form.method == "get" for form in page.forms)


@pytest.mark.parametrize("topic", TOPICS)
def test_every_topic_answers_in_a_household_of_us_units(
    tablet: Tablet, given: Given, topic: str
) -> None:
    settings = Settings("Birkbrae", UnitSystem.US, 310.0, "Europe/London")
    given(change_settings, settings)
    page = tablet.get(f"{ADDRESS}/{topic}")
    assert page.status == 200
    assert "What is weak in it" in page.words


@pytest.mark.parametrize(
    ("topic", "field", "typed"),
    [
        ("cooling", "depth", "900 mm"),
        ("cooling", "depth", ""),
        ("cooling", "start", "20 C"),
        ("cooling", "surroundings", "sauna"),
        ("freezing", "freezer", "5 C"),
        ("freezing", "food", "unobtainium"),
        ("freezing", "lot", "7K3MX"),
        ("dryer", "depth", "1 m"),
        ("dryer", "price", "-1"),
        ("oxygen", "volume", "nan"),
        ("heat", "readings", "10 60\n5 61"),
        ("heat", "readings", "ten sixty five"),
        ("heat", "readings", "0 nan\n1 nan"),
        ("water", "water_now", "99"),
    ],
)
def test_a_slip_is_said_beside_its_field_and_kept_as_typed(
    tablet: Tablet, topic: str, field: str, typed: str
) -> None:
    page = ask(tablet, topic, **{field: typed})
    assert page.status == 422
    assert page.beside(field)
    if field != "surroundings":
        assert page.typed(field) == [typed]


@pytest.mark.parametrize("topic", TOPICS)
@pytest.mark.parametrize("junk", ["", "x" * 5000, "−1", "1e999", "<b>", "\x00"])
def test_junk_in_any_field_never_breaks_a_page(tablet: Tablet, topic: str, junk: str) -> None:
    for name in tablet.get(f"{ADDRESS}/{topic}").forms[-1].values:
        assert ask(tablet, topic, **{name: junk}).status in (200, 422), name


def test_food_that_does_not_fit_is_refused_in_words(tablet: Tablet) -> None:
    page = ask(tablet, "oxygen", volume="100 ml", mass="500 g")
    assert page.status == 422
    assert "Outside what the model covers" in page.summary


def test_deeper_pots_cool_later_and_the_depth_said_to_pass_does_pass(tablet: Tablet) -> None:
    for surroundings in (Surroundings.STILL_AIR, Surroundings.ICE_BATH):
        deepest = deepest_that_passes(1.0, surroundings, both_faces=True)
        assert deepest is not None
        at, deeper = (
            foretell_cooling(depth_m, 1.0, surroundings).verdict
            for depth_m in (deepest, deepest + 0.002)
        )
        assert (at, deeper) == (CoolingVerdict.PASS, CoolingVerdict.CANNOT_TELL)
    assert "would not keep" in ask(tablet, "cooling", depth="150 mm").words
    assert (
        "even if the heat leaves slowly."
        in ask(tablet, "cooling", depth="20 mm", surroundings="ice_bath", air="1 C").words
    )


def test_air_of_five_degrees_never_cools_food_to_five(tablet: Tablet) -> None:
    page = ask(tablet, "cooling", air="6 C")
    assert "never" in page.words
    assert "would not keep" in page.words
    assert deepest_that_passes(6.0, Surroundings.ICE_BATH, both_faces=True) is None


def test_freezing_and_thawing_are_those_of_the_science(tablet: Tablet) -> None:
    moose = food(b.MOOSE).composition
    page = ask(tablet, "freezing", thickness="50 mm", start="10 C", freezer="-18 C", thaw="4 C")
    freezing = freezing_hours(0.05, moose, 10.0, -18.0)
    thawing = thawing_hours(0.05, moose, 4.0, wrapped=True)
    assert f"{freezing.central:.0f}" in row(page, "Frozen through")
    assert f"{thawing.central:.0f}" in row(page, "Thawed through")


def test_a_price_makes_a_cost_and_a_small_condenser_more_runs(tablet: Tablet) -> None:
    free = ask(tablet, "dryer", mass="6 kg")
    assert "Cost of the energy" not in free.words
    paid = ask(tablet, "dryer", mass="6 kg", price="0.30")
    assert "Cost of the energy" in paid.words
    small = ask(tablet, "dryer", mass="6 kg", ice="500 g")
    assert "2 runs" in free.words or "1 run" in free.words
    runs = row(small, "Runs for all of it").split()[0]
    assert int(runs) > int(row(free, "Runs for all of it").split()[0])


def test_a_hold_of_the_published_time_meets_the_table_and_half_of_it_does_not(
    tablet: Tablet,
) -> None:
    # FSIS Appendix A, 1999: at 140 °F the 6.5-log column asks 12 minutes.
    minutes = TABLES[LethalityTable.MEAT_6_5].rows[140] / 60
    assert minutes == 12
    met = ask(tablet, "heat", meat="farmed", unit="F", readings=f"0 140\n{minutes:g} 140")
    half = ask(tablet, "heat", meat="farmed", unit="F", readings=f"0 140\n{minutes / 2:g} 140")
    assert "it meets the table's" in met.words
    assert "it does not meet the table's" in half.words
    assert "never takes the mark RAW" in met.words


def test_a_pump_leaves_less_oxygen_and_altitude_less_still(tablet: Tablet) -> None:
    def inside(**typed: str) -> int:
        return int(row(ask(tablet, "oxygen", **typed), "Oxygen sealed in").split()[0])

    # 946 mL with 170 g of freeze-dried meat at sea level: 820 mL of gas, a fifth of it oxygen.
    assert inside(volume="946 ml", mass="170 g", altitude="0") == pytest.approx(
        820 * 0.2095 * 273.15 / 294.15, abs=1
    )
    assert inside(altitude="2000") < inside(altitude="0")
    assert inside(pumped="jar") < inside(pumped="no")


def test_a_lot_brings_its_own_numbers(tablet: Tablet, given: Given, clock: HandClock) -> None:
    dry = given(b.dried)
    clock.forward(days=1)
    code = code_of(dry.lot_id)
    page = tablet.get(f"/lots/{code}")
    (link,) = [
        a["href"] for tag, a in page.tags if tag == "a" and f"{ADDRESS}/water" in a.get("href", "")
    ]
    answer = tablet.get(link)
    assert answer.status == 200
    assert answer.typed("lot") == [code]
    assert answer.typed("mass") == ["260 g"]


@pytest.mark.parametrize(
    ("step", "topic"), [("thaw", "freezing"), ("chill", "cooling"), ("load", "dryer"),
                        ("pack", "oxygen"), ("cook", "heat")]
)  # fmt: skip
def test_the_steps_lead_to_their_prediction_with_the_lot_filled_in(
    tablet: Tablet, given: Given, step: str, topic: str
) -> None:
    lot = given(b.dried) if step == "pack" else _meat(given, frozen=step == "thaw")
    page = tablet.get(f"/write/{step}?from={lot}")
    links = [a["href"] for tag, a in page.tags if tag == "a" and ADDRESS in a.get("href", "")]
    assert [link.split("?")[0] for link in links] == [f"{ADDRESS}/{topic}"]
    answer = tablet.get(links[0])
    assert answer.status == 200
    if topic in ("freezing", "dryer"):
        assert answer.typed("lot") == [code_of(lot.lot_id)]


def _meat(given: Given, *, frozen: bool) -> Any:
    return given(b.take_in, place=b.FREEZER if frozen else b.FRIDGE)


def test_moist_food_is_not_led_to_absorbers(tablet: Tablet, given: Given) -> None:
    page = tablet.get(f"/write/pack?from={_meat(given, frozen=False)}")
    assert not [a for tag, a in page.tags if tag == "a" and ADDRESS in a.get("href", "")]


def test_a_prediction_needs_no_food_in_the_house(app: Flask) -> None:
    assert all(Tablet(app).get(f"{ADDRESS}/{topic}").status == 200 for topic in TOPICS)
