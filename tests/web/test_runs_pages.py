"""A dryer run on screen: load tray by tray, weigh back, unload."""

import re
from collections.abc import Callable
from contextlib import AbstractContextManager
from typing import Any

import pytest
from sqlalchemy import select

from app.ledger.book import Book
from app.ledger.codes import lot_id_of
from app.ledger.models import Loss, Lot, Run, TrayWeighing
from app.ledger.stock import StockRef
from tests import builders as b
from tests.web.conftest import HandClock
from tests.web.pages import Page, Tablet

Given = Callable[..., Any]
Unchanged = Callable[[], AbstractContextManager[None]]


def trays(ref: StockRef, *gross: object, tare: object = 600) -> dict[str, object]:
    """The rows of the load page, filled."""
    rows: dict[str, object] = {}
    for i, grams in enumerate(gross):
        rows |= {
            f"trays__{i}__ref": ref,
            f"trays__{i}__gross": grams,
            f"trays__{i}__tare": tare,
        }
    return rows


def load_page(ref: StockRef) -> str:
    """The page that loads from a row of stock."""
    return f"/write/load?from={ref}"


@pytest.fixture
def meat(given: Given) -> StockRef:
    """6.2 kg of cooked moose."""
    found: StockRef = given(b.cooked, 6200)
    return found


@pytest.fixture
def run(tablet: Tablet, meat: StockRef) -> str:
    """A run of four trays, by its address."""
    page = tablet.fill(load_page(meat), **trays(meat, *["2150 g"] * 4))
    assert page.status == 303, page.summary
    return page.location


def weigh(tablet: Tablet, run: str, number: object, gross: object) -> Page:
    """Write one weighing down."""
    form = tablet.get(run).form(f"weigh-{run.rsplit('/', 1)[1]}")
    return tablet.send(form, run, number=number, gross=gross)


def unload(tablet: Tablet, run: str, **typed: object) -> Page:
    """End the run."""
    form = tablet.get(run).form(f"unload-{run.rsplit('/', 1)[1]}")
    return tablet.send(form, run, **typed)


def test_there_is_a_row_for_every_tray_of_the_dryer(tablet: Tablet, meat: StockRef) -> None:
    form = tablet.get(load_page(meat)).form()
    assert [n for n in form.values if n.endswith("-gross")] == [
        f"trays-{i}-gross" for i in range(4)
    ]


def test_before_it_starts_the_dry_weight_and_the_water_are_foretold_with_a_range(
    tablet: Tablet, meat: StockRef, unchanged: Unchanged
) -> None:
    with unchanged():
        page = tablet.fill(load_page(meat), **trays(meat, *["2150"] * 4), work_out="1")
    assert page.status == 200
    said = " ".join(page.words.split("Dryer")[0].split())
    assert " to " in said
    assert "kg" in said
    assert page.typed("trays-3-gross") == ["2150"]


def test_loading_starts_a_run_that_stands_on_the_bench(
    tablet: Tablet, book: Book, meat: StockRef, run: str
) -> None:
    assert "The run has begun" in tablet.get(run).words
    assert run in {a["href"] for tag, a in tablet.get("/bench").tags if tag == "a"}
    with book.reading() as session:
        assert b.on_hand(session, meat) == 0  # all of it lies in the dryer


@pytest.mark.parametrize(
    ("field", "words", "change"),
    [
        ("trays-1-tare", "The empty bowl (2.20 kg)", {"trays__1__tare": "2200"}),
        ("trays-0-gross", "“1,234” can be read in two ways", {"trays__0__gross": "1,234"}),
        ("trays-3-gross", "has 6.20 kg; you took 9.05 kg", {"trays__3__gross": "5 kg"}),
        ("trays-2-ref", "Choose a lot", {"trays__2__ref": "garbage"}),
        ("trays-2-ref", "not on hand any more", {"trays__2__ref": "99-3"}),
        ("done_on", "is still to come", {"done_on": "2025-11-01"}),
        ("done_on", "cannot have been on 1 October 2025", {"done_on": "2025-10-01"}),
        ("place_id", ".", {"place_id": str(b.FRIDGE)}),
    ],
)
def test_a_tray_at_fault_is_named_and_the_run_does_not_begin(
    tablet: Tablet,
    meat: StockRef,
    unchanged: Unchanged,
    field: str,
    words: str,
    change: dict[str, object],
) -> None:
    with unchanged():
        page = tablet.fill(load_page(meat), **(trays(meat, *["2150"] * 4) | change))
    assert page.status == 422
    assert words in page.beside(field)
    assert page.typed("trays-1-gross") == ["2150"]


def test_no_tray_at_all_is_refused(tablet: Tablet, meat: StockRef, unchanged: Unchanged) -> None:
    with unchanged():
        page = tablet.fill(load_page(meat))
    assert page.beside("trays") == "Something is needed here."


def test_a_dryer_that_runs_is_not_loaded_again(
    tablet: Tablet, given: Given, run: str, unchanged: Unchanged
) -> None:
    more = given(b.cooked, 500)
    with unchanged():
        page = tablet.fill(load_page(more), **trays(more, 1000), place_id=str(b.FREEZE_DRYER))
    assert page.beside("place_id") == "This dryer is running. Unload it first."


def test_raw_and_ready_food_together_ask_for_a_reason(
    tablet: Tablet, given: Given, meat: StockRef, unchanged: Unchanged
) -> None:
    raw = given(b.take_in, b.SWEETCORN, 1000)
    uncooked = given(b.take_in, mass_g=1000)
    typed = trays(meat, 1600) | {
        "trays__1__ref": uncooked,
        "trays__1__gross": "1600",
        "trays__1__tare": "600",
        "trays__2__ref": raw,
        "trays__2__gross": "",
    }
    with unchanged():
        page = tablet.fill(load_page(meat), **typed)
    assert page.status == 422
    assert page.beside("reason") == "Give a reason to go on."
    assert (
        tablet.send(page.form(), load_page(meat), reason="all of it is cooked later").status == 303
    )


def test_weighings_tell_when_a_tray_is_dry(tablet: Tablet, run: str, clock: HandClock) -> None:
    assert "Not weighed back yet" in tablet.get(run).words
    clock.forward(hours=20)
    assert weigh(tablet, run, 1, "995").status == 303
    assert "Cannot tell yet" in tablet.get(run).words
    for _ in range(3):
        clock.forward(hours=6)
        weigh(tablet, run, 1, "995")
    words = tablet.get(run).words
    assert re.search(r"20[.]0 h:? 395 g", words)
    assert re.search(r"38[.]0 h:? 395 g Dry\b", words)
    assert "water left" in words


@pytest.mark.parametrize(
    ("field", "words", "typed"),
    [
        ("gross", "Only 2.15 kg went in, but 2.40 kg came out", {"gross": "2400"}),
        ("gross", "The empty bowl (600 g)", {"gross": "600"}),
        ("gross", "needed", {"gross": ""}),
        ("gross", "is no amount", {"gross": "nan"}),
        ("number", ".", {"number": "9"}),
        ("number", ".", {"number": "x"}),
    ],
)
def test_a_weighing_that_cannot_be_is_refused_beside_its_box(
    tablet: Tablet, run: str, unchanged: Unchanged, field: str, words: str, typed: dict[str, str]
) -> None:
    with unchanged():
        page = weigh(tablet, run, **({"number": "1", "gross": "1100"} | typed))
    assert page.status == 422
    assert words in page.beside(field)
    if "gross" in typed:
        assert page.typed("gross") == [typed["gross"]]


def test_a_weighing_sent_twice_is_written_once(tablet: Tablet, book: Book, run: str) -> None:
    form = tablet.get(run).form(f"weigh-{run.rsplit('/', 1)[1]}")
    answers = [tablet.send(form, run, number="1", gross="1112") for _ in range(2)]
    assert [a.location for a in answers] == [run, run]
    with book.reading() as session:
        assert len(session.scalars(select(TrayWeighing)).all()) == 1


def test_unloading_makes_a_dry_lot_and_the_rest_has_evaporated(
    tablet: Tablet, book: Book, run: str, clock: HandClock
) -> None:
    clock.forward(days=1)
    page = unload(tablet, run, made__0__mass="2013 g", spilled_mg="3")
    assert page.status == 303, page.summary
    with book.reading() as session:
        lot = session.get_one(Lot, lot_id_of(page.location.rsplit("/", 1)[1]))
        losses = session.execute(
            select(Loss.kind, Loss.mass_mg).where(Loss.operation_id == lot.operation_id)
        )
        assert dict(losses.all()) == {"evaporated": 4_184 * b.G, "spilled": 3 * b.G}
    assert "freeze-dried" in tablet.get(page.location).words
    assert "unloaded" in tablet.get(run).words


@pytest.mark.parametrize(
    ("field", "words", "typed"),
    [
        ("made-0-mass", "needed", {"made__0__mass": ""}),
        ("made-0-mass", "Only 6.20 kg went in, but 7.00 kg came out", {"made__0__mass": "7 kg"}),
        ("made-0-mass", "is no amount", {"made__0__mass": "dry"}),
        ("done_on", "is still to come", {"done_on": "2025-12-01"}),
    ],
)
def test_a_dry_weight_that_cannot_be_is_refused_beside_its_box(
    tablet: Tablet, run: str, unchanged: Unchanged, field: str, words: str, typed: dict[str, str]
) -> None:
    with unchanged():
        page = unload(tablet, run, **({"made__0__mass": "2013"} | typed))
    assert page.status == 422
    assert words in page.beside(field)
    for name, value in typed.items():
        assert page.typed(name.replace("__", "-"))[-1] == value


def test_of_two_lots_the_one_without_a_weight_is_asked_for_it(
    tablet: Tablet, given: Given, unchanged: Unchanged
) -> None:
    beans, apples = given(b.take_in, b.BEANS, 1000), given(b.take_in, b.APPLES, 1000)
    rows = trays(apples, 1600) | {
        "trays__1__ref": beans,
        "trays__1__gross": "1600",
        "trays__1__tare": "600",
    }
    loaded = tablet.fill(load_page(apples), **rows, place_id=str(b.DEHYDRATOR))
    assert loaded.status == 303, loaded.summary
    with unchanged():  # the apples lie on the first tray, the beans were taken in first
        page = unload(tablet, loaded.location, made__1__mass="120")
    assert page.beside("made-0-mass") == "Something is needed here."
    assert not page.beside("made-1-mass")
    with unchanged():
        page = unload(tablet, loaded.location, made__0__mass="2 kg", made__1__mass="120")
    assert "2.00 kg came out" in page.beside("made-0-mass")


@pytest.mark.parametrize("lot_id", ["x", "", "-1", "99", "9" * 5000])
def test_a_lot_number_that_is_none_is_refused(
    tablet: Tablet, run: str, unchanged: Unchanged, lot_id: str
) -> None:
    with unchanged():
        page = unload(tablet, run, made__0__mass="2013", made__0__lot_id=lot_id)
    assert page.status == 422
    assert page.summary


def test_a_run_that_is_over_cannot_be_weighed_or_unloaded_again(
    tablet: Tablet, run: str, clock: HandClock, unchanged: Unchanged
) -> None:
    clock.forward(days=1)
    number = run.rsplit("/", 1)[1]
    page = tablet.get(run)
    weighing, unloading = page.form(f"weigh-{number}"), page.form(f"unload-{number}")
    other = tablet.get(run).form(f"unload-{number}")
    assert tablet.send(unloading, run, made__0__mass="2013").status == 303
    with unchanged():
        late = tablet.send(weighing, run, number="1", gross="1100")
        again = tablet.send(other, run, made__0__mass="2013")
    assert (late.status, again.status) == (422, 422)
    assert "This run has been unloaded." in late.words
    assert "This run has been unloaded." in again.words


@pytest.mark.parametrize("number", ["7", "0", "9" * 30])
def test_a_run_that_is_none_has_no_page(tablet: Tablet, number: str) -> None:
    assert tablet.get(f"/runs/{number}").status == 404
    for word in ("weigh", "unload"):
        assert tablet.post(f"/runs/{number}/{word}", {}).status == 404


def test_food_that_is_raw_is_marked_raw_on_its_tray(
    tablet: Tablet, given: Given, book: Book
) -> None:
    raw = given(b.take_in, mass_g=1000)
    number = given(b.loaded, b.a_tray(raw, 1000))
    page = tablet.get(f"/runs/{number}")
    assert [a for _, a in page.tags if a.get("class") == "raw-mark"]
    with book.reading() as session:
        assert session.scalars(select(Run.id)).all() == [number]


def test_a_dehydrator_load_foretells_its_hours_for_the_thickness_typed(
    tablet: Tablet, given: Given
) -> None:
    apples = given(b.take_in, b.APPLES, 2000, name="Apples")
    page = tablet.get(load_page(apples))
    assert "slices of 6 mm (0.24 in) in air of 60 °C (assumed" in page.words
    thick = tablet.send(
        page.form(), load_page(apples), **trays(apples, "1100 g"), thickness="9 mm", air="60 C",
        work_out="1",
    )  # fmt: skip
    assert thick.status == 200
    assert "slices of 9 mm" in thick.words
    assert "assumed where nothing was typed" not in thick.words
    assert _hours(thick) > _hours(page)
    slip = tablet.send(
        page.form(), load_page(apples), **trays(apples, "1100 g"), thickness="9 cm", work_out="1"
    )
    assert slip.beside("thickness").startswith("This should be 1 to 20 mm")


def test_food_without_published_times_in_warm_air_says_so(tablet: Tablet, given: Given) -> None:
    trout = given(b.take_in, b.TROUT, 1000, name="Trout")
    page = tablet.get(f"{load_page(trout)}&dryer={b.DEHYDRATOR}")
    assert "No published times for this food in warm air" in page.words


def test_a_freeze_dryer_does_not_ask_how_thick_the_slices_are(
    tablet: Tablet, meat: StockRef
) -> None:
    assert "thickness" not in tablet.get(load_page(meat)).form().values


def _hours(page: Page) -> int:
    found = re.search(r"About (\d+) hours", page.words)
    assert found is not None
    return int(found[1])
