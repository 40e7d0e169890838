"""The home page narrowed, why food stands where it stands, and what can be done about it."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from sqlalchemy.orm import Session

from app.ledger.codes import code_of
from app.ledger.operations.blend import Blend, blend
from app.ledger.operations.hold import PutOnHold, hold
from app.ledger.operations.leave import Leave, eat
from app.ledger.operations.open import Open, open_package
from app.ledger.queries.eat_first import Group
from app.ledger.queries.ways import Gain
from app.ledger.stock import StockRef
from app.ledger.words import HoldCause
from app.science.safety.allergens import AllergenGroup
from app.web.eat_first.narrow import WITHOUT
from app.web.eat_first.ways import gain_words
from app.web.eat_first.why import HEADINGS, SHORT
from tests import builders as b
from tests.web.conftest import HandClock
from tests.web.pages import Page, Tablet

Given = Callable[..., Any]


def larder(session: Session) -> None:
    """Moose and trout in the freezer, beans in the fridge."""
    b.take_in(session, name="Moose steak", place=b.FREEZER)
    b.take_in(session, b.TROUT, name="Trout", place=b.FREEZER)
    b.take_in(session, b.BEANS, 250, name="Beans", place=b.FRIDGE)


def spiced(session: Session) -> StockRef:
    """Mince with a spice of which nobody told the allergens."""
    meat, fat = b.take_in(session), b.take_in(session, b.BACK_FAT, 500)
    request = Blend(
        meat, 1000 * b.G, fat, 500 * b.G, "Sausage meat", 1520 * b.G, b.FRIDGE, b.TODAY,
        seasoning_mg=20 * b.G, seasoning_words="Sausage spice", reason="the packet is gone",
    )  # fmt: skip
    return b.made(b.do(session, blend, request), b.FRIDGE)


def links(page: Page) -> set[str]:
    return {a["href"] for tag, a in page.tags if tag == "a" and "href" in a}


# -- groups --------------------------------------------------------------------------------------


def test_every_group_has_a_heading_and_a_short_name() -> None:
    assert set(HEADINGS) == set(SHORT) == set(Group)


def test_each_group_folds_and_is_jumped_to_and_says_how_many(tablet: Tablet, given: Given) -> None:
    given(larder)
    page = tablet.get("/")
    folds = {a["id"] for tag, a in page.tags if tag == "details" and "open" in a and "id" in a}
    assert folds == {"process", "undated"}
    assert {"#process", "#undated"} <= links(page)
    assert page.inside("process").startswith("To process before the freezer window ends 2 ")


def test_what_is_opened_stands_at_the_top(tablet: Tablet, given: Given, clock: HandClock) -> None:
    pouch = given(b.pouches)[0]
    given(b.take_in, place=b.FRIDGE)
    clock.forward(days=1)
    given(b.do, open_package, Open((pouch,), b.TODAY + timedelta(days=1)))
    page = tablet.get("/")
    groups = [a["id"] for tag, a in page.tags if tag == "details" and a.get("class") == "group"]
    assert groups[0] == "opened"
    assert "It was opened on 21 October 2025" in page.inside("opened")


# -- narrowed ------------------------------------------------------------------------------------


def test_a_chosen_place_is_said_in_words_and_cleared_in_one_tap(
    tablet: Tablet, given: Given
) -> None:
    given(larder)
    page = tablet.get(f"/?place={b.FREEZER}")
    assert "Shown are 2 lots: Chest freezer." in page.words
    assert "Beans" not in page.words
    assert ("a", "/") in {(tag, a.get("href")) for tag, a in page.tags}
    assert "Beans" in tablet.get("/").words


def test_the_form_is_plain_and_what_is_chosen_stays_chosen(tablet: Tablet, given: Given) -> None:
    given(larder)
    page = tablet.get("/?food=fish&state=raw&serves=two&without=milk&without=eggs")
    (form,) = [form for form in page.forms if "serves" in form.values]
    assert (form.method, form.action) == ("get", "/")
    assert sorted(form.values.items(multi=True)) == [
        ("food", "fish"), ("place", ""), ("serves", "two"), ("state", "raw"),
        ("without", "eggs"), ("without", "milk"),
    ]  # fmt: skip
    assert "Shown is 1 lot: Fish, raw, to be cooked, packages for two, " in page.words
    assert "without eggs, without milk." in page.words


def test_each_of_several_choices_can_be_dropped_alone(tablet: Tablet, given: Given) -> None:
    given(larder)
    page = tablet.get("/?food=fish&without=milk")
    assert {"/?food=fish", "/?without=milk", "/"} <= links(page)


def test_only_what_is_on_hand_is_offered(tablet: Tablet, given: Given) -> None:
    given(larder)
    offered = {a["value"] for tag, a in tablet.get("/").tags if tag == "option"}
    assert {"game", "fish", "vegetables", str(b.FREEZER), str(b.FRIDGE)} <= offered
    assert not {"dairy", "pork", str(b.PANTRY)} & offered


def test_nothing_like_that_says_what_to_do(tablet: Tablet, given: Given) -> None:
    given(larder)
    page = tablet.get("/?food=fish&state=ready")
    assert "Nothing on hand is: Fish, ready to eat." in page.words
    assert "Drop one of the choices above, or show everything." in page.words
    assert "/" in links(page)


@pytest.mark.parametrize(
    "asked",
    ["place=x", "place=999", "place=-1", "place=²", f"place={'9' * 40}", "food=%00", "state=rare",
     "serves=", "without=none&without=", "later=99", "later=x", "food=fish&food=game"],
)  # fmt: skip
def test_what_an_address_cannot_mean_breaks_nothing(
    tablet: Tablet, given: Given, asked: str
) -> None:
    given(larder)
    assert tablet.get(f"/?{asked}").status == 200


def test_every_allergen_can_be_avoided(tablet: Tablet, given: Given) -> None:
    given(larder)
    offered = {a["value"] for tag, a in tablet.get("/").tags if a.get("name") == "without"}
    assert offered == {group.value for group in AllergenGroup} == {g.value for g in WITHOUT}


def test_what_has_the_allergen_is_left_out_and_that_is_said(tablet: Tablet, given: Given) -> None:
    given(larder)
    page = tablet.get("/?without=fish")
    assert "Trout" not in page.words
    assert "1 lot is left out: it contains or may contain what is to be avoided." in page.words


def test_unknown_allergens_never_count_as_safe_and_are_not_hidden(
    tablet: Tablet, given: Given
) -> None:
    given(larder)
    given(spiced)
    page = tablet.get("/?without=mustard")
    words = "1 lot of which nobody wrote down every allergen counts as not free of it"
    assert words in page.words
    assert "Sausage meat" not in page.inside("this_week")
    assert "Sausage meat" in page.inside("untold")
    (fold,) = (a for tag, a in page.tags if tag == "details" and a.get("id") == "untold")
    assert "open" not in fold
    assert "Sausage meat" in tablet.get("/").inside("this_week")


# -- why here ------------------------------------------------------------------------------------


def test_a_row_says_why_it_stands_where_it_stands(tablet: Tablet, given: Given) -> None:
    meat = given(b.take_in, place=b.FRIDGE)
    words = tablet.get("/").inside("this_week")
    assert "Why here Why The early end of its window" in words
    assert "a published number of days, no estimate." in words
    assert "Kept Fridge, 4 °C (2 °C to 6 °C)" in words
    assert f"/eat-first/{meat}" in links(tablet.get("/"))


def test_the_share_that_is_used_grows_from_day_to_day(
    tablet: Tablet, given: Given, clock: HandClock
) -> None:
    given(b.take_in, place=b.FREEZER)
    assert "Used 0 % of its window is used, from 20 October 2025" in tablet.get("/").words
    clock.forward(days=60)
    words = tablet.get("/").words
    used = int(words.split("Used ")[1].split(" %")[0])
    assert 10 < used < 100


def test_temperatures_of_places_are_read_in_the_units_of_the_reader(
    tablet: Tablet, given: Given
) -> None:
    given(b.take_in, place=b.FREEZER)
    assert "Chest freezer, −18 °C" in tablet.get("/").words
    tablet.fill("/household/settings", units="us")
    words = tablet.get("/").words
    assert "Chest freezer, −0.4 °F" in words
    assert "Chest freezer, −18 °C" not in words


# -- what to do about it -------------------------------------------------------------------------


def test_what_to_do_leads_to_forms_with_the_lot_and_the_place_filled_in(
    tablet: Tablet, given: Given
) -> None:
    meat = given(b.take_in, place=b.FRIDGE)
    page = tablet.get(f"/eat-first/{meat}")
    assert "Moved to Chest freezer today, it gains " in page.words
    assert "Gains are estimates of quality" in page.words
    assert "safe " not in page.words
    href = f"/write/move?from={meat}&to={b.FREEZER}"
    assert href in links(page)
    form = tablet.get(href).form()
    assert form.values["place_id"] == str(b.FREEZER)
    assert form.values.getlist("refs") == [str(meat)]


def test_drying_is_proposed_with_the_dryer_chosen(tablet: Tablet, given: Given) -> None:
    corn = given(b.take_in, b.SWEETCORN, place=b.FREEZER)
    page = tablet.get(f"/eat-first/{corn}")
    assert "Dried in Freeze-dryer, packed in " in page.words
    assert "1 % to 4 % water (our judgement)" in page.words.replace("1.0 %", "1 %").replace(
        "4.0 %", "4 %"
    )
    href = f"/write/load?from={corn}&dryer={b.FREEZE_DRYER}"
    assert href in links(page)
    assert tablet.get(href).status == 200


def test_packing_is_proposed_with_the_package_chosen(tablet: Tablet, given: Given) -> None:
    fat = given(b.take_in, b.BACK_FAT, place=b.FREEZER)
    page = tablet.get(f"/eat-first/{fat}")
    (href,) = (link for link in links(page) if link.startswith("/write/pack"))
    assert f"&choice={b.VACUUM_BAG}-0-1" in href
    form = tablet.get(href).form()
    assert form.values["packaging_id"] == str(b.VACUUM_BAG)


def test_held_food_is_told_why_and_not_to_be_eaten(tablet: Tablet, given: Given) -> None:
    meat = given(b.take_in, place=b.FREEZER)
    given(b.do, hold, PutOnHold((meat.lot_id,), HoldCause.RECALL, b.TODAY, words="the bags"))
    page = tablet.get(f"/eat-first/{meat}")
    assert "It is on hold. Keep it apart until it is released." in page.words
    assert not [link for link in links(page) if link.startswith("/write/")]


def test_past_the_refrigerator_limit_there_is_only_discarding(
    tablet: Tablet, given: Given, clock: HandClock
) -> None:
    meat = given(b.take_in, place=b.FRIDGE)
    clock.forward(days=30)
    page = tablet.get(f"/eat-first/{meat}")
    assert "Its published limit has passed: discard it." in page.words
    assert {link for link in links(page) if link.startswith("/write/")} == {
        f"/write/discard?from={meat}"
    }


def test_raw_food_past_its_best_is_cooked_and_not_tasted(
    tablet: Tablet, given: Given, clock: HandClock
) -> None:
    given(b.take_in, place=b.FREEZER)
    clock.forward(days=4000)
    page = tablet.get("/")
    (href,) = (link for link in links(page) if link.startswith("/eat-first/"))
    words = tablet.get(href).words
    assert "cook it soon and all the way through" in words
    assert "tastes" not in words


def test_food_that_perishes_in_the_warmth_is_told_of_no_gain(tablet: Tablet, given: Given) -> None:
    warm = given(b.cooked)
    page = tablet.get(f"/eat-first/{warm}")
    assert "Perishable and warm: into the cold within 2 hours." in page.words
    assert "it gains" not in page.words
    assert "Gains are estimates" not in page.words


def test_what_is_gone_leads_to_its_lot_and_nonsense_nowhere(tablet: Tablet, given: Given) -> None:
    meat = given(b.take_in)
    given(b.do, eat, Leave((meat,), b.TODAY))
    answer = tablet.get(f"/eat-first/{meat}")
    assert (answer.status, answer.location) == (303, f"/lots/{code_of(meat.lot_id)}")
    assert tablet.get("/eat-first/nonsense").status == 404


@pytest.mark.parametrize(
    ("gain", "is_capped", "words"),
    [
        (Gain(38, 58, 116), False, "5 weeks to 4 months"),
        (Gain(0, 92, 541), False, "up to 18 months"),
        (Gain(0.2, 235, 953), False, "up to 2½ years"),
        (Gain(60, 61, 62), False, "about 2 months"),
        (Gain(474, 3118, 0), True, "16 months to 8½ years or more"),
        (Gain(0, 3118, 0), True, "up to 8½ years or more"),
        (Gain(7, 7, 7), False, "about 7 days"),
    ],
)
def test_a_gain_is_told_as_a_range(gain: Gain, is_capped: bool, words: str) -> None:
    assert gain_words(gain, is_capped=is_capped) == words
