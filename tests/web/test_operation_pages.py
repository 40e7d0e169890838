"""One page for each piece of work: its defaults, what it writes, and what it refuses."""

from collections.abc import Callable
from contextlib import AbstractContextManager
from typing import Any

import pytest
from sqlalchemy import select

from app.ledger.book import Book
from app.ledger.codes import code_of, lot_id_of, spoken
from app.ledger.models import Checkpoint, Loss, Lot, Reading, Stock
from app.ledger.stock import StockRef
from app.ledger.words import OperationKind
from app.web.operations.forms import FORMS
from tests import builders as b
from tests.web.conftest import HandClock
from tests.web.pages import Page, Tablet

Given = Callable[..., Any]
Unchanged = Callable[[], AbstractContextManager[None]]


def page_of(kind: str, ref: object) -> str:
    """The address of an operation that starts from a row of stock."""
    return f"/write/{kind}?from={ref}"


def made_by(book: Book, page: Page) -> dict[str, Any]:
    """What is known of the lot whose page an answer leads to."""
    assert page.status == 303, page.summary
    with book.reading() as session:
        lot = session.get_one(Lot, lot_id_of(page.location.rsplit("/", 1)[1]))
        losses = session.execute(
            select(Loss.kind, Loss.mass_mg).where(Loss.operation_id == lot.operation_id)
        )
        return {
            "name": lot.name,
            "is_raw": lot.is_raw,
            "fat": lot.fat,
            "water": lot.water,
            "mg": sum(mg for ref, mg in b.all_stock(session).items() if ref.lot_id == lot.id),
            "losses": dict(losses.all()),
        }


# -- what the pages do -------------------------------------------------------------------------


def test_every_piece_of_work_has_its_page_and_a_way_there(tablet: Tablet) -> None:
    menu = tablet.get("/write")
    targets = {a["href"] for tag, a in menu.tags if tag == "a"}
    own_pages = {OperationKind.INTAKE, OperationKind.LOAD, OperationKind.PACK}
    for kind in {*FORMS, *own_pages}:
        assert f"/write/{kind}" in targets
        assert tablet.get(f"/write/{kind}").status == 200


@pytest.mark.parametrize("word", ["correct", "unload", "nonsense", "Thaw", "%00"])
def test_what_is_no_piece_of_work_has_no_page(tablet: Tablet, word: str) -> None:
    assert tablet.get(f"/write/{word}").status == 404


def test_thawing_makes_a_lot_in_the_fridge_and_counts_the_drip(
    tablet: Tablet, book: Book, given: Given
) -> None:
    frozen = given(b.take_in, mass_g=1600, place=b.FREEZER)
    found = made_by(book, tablet.fill(page_of("thaw", frozen), drip_mg="20"))
    assert found["mg"] == 1_580 * b.G
    assert found["losses"] == {"drip": 20 * b.G}


def test_grinding_two_lots_leads_to_one_that_knows_both(
    tablet: Tablet, book: Book, given: Given
) -> None:
    new, old = given(b.take_in, mass_g=9200), given(b.take_in, mass_g=1580)
    page = tablet.fill(
        page_of("grind", new),
        parts__0__mass="9200 g",
        parts__1__ref=str(old),
        parts__1__mass="1580",
        name="Moose, ground",
        made_mg="10.5 kg",
        trimmed_mg="190",
        stuck_mg="90",
    )
    found = made_by(book, page)
    assert found["losses"] == {"trim": 190 * b.G, "stuck": 90 * b.G}
    shown = tablet.get(page.location)
    assert "85 %" in shown.words  # 9200 of 10780, each source with its share
    assert "15 %" in shown.words


def test_the_blend_page_works_out_the_fat_from_what_both_are_made_of(
    tablet: Tablet, book: Book, given: Given, unchanged: Unchanged
) -> None:
    lean, fat = given(b.take_in, mass_g=2000), given(b.take_in, b.BACK_FAT, 1000)
    address = page_of("blend", lean)
    with unchanged():
        worked = tablet.fill(
            address, mass_mg="2 kg", target_fat="15", other_ref=str(fat), work_out="1"
        )
    assert worked.status == 200
    # By hand from the table (USDA SR28, 2015): moose 0.74 % fat, back-fat 88.69 %:
    # 2000 g × (15 − 0.74) / (88.69 − 15) = 387 g, not 15 % of 2 kg.
    assert "387 g brings 2.00 kg to 15 % fat" in worked.words
    assert worked.typed("other_mass_mg") == ["387 g"]
    assert worked.typed("made_mg") == ["2387 g"]
    found = made_by(book, tablet.send(worked.form(), address))
    assert found["fat"] == pytest.approx(0.15, abs=0.0005)


@pytest.mark.parametrize("target", ["", "95", "nan", "0.1"])
def test_a_fat_that_cannot_be_reached_is_said_beside_it(
    tablet: Tablet, given: Given, unchanged: Unchanged, target: str
) -> None:
    lean, fat = given(b.take_in, mass_g=2000), given(b.take_in, b.BACK_FAT, 1000)
    with unchanged():
        page = tablet.fill(
            page_of("blend", lean), target_fat=target, other_ref=str(fat), work_out="1"
        )
    assert page.status == 422
    assert page.beside("target_fat")


def test_a_centre_at_its_target_takes_the_raw_mark(
    tablet: Tablet, book: Book, given: Given
) -> None:
    meat = given(b.take_in)
    page = tablet.fill(page_of("cook", meat), water_mg="500", made_mg="1400", centre="85")
    found = made_by(book, page)
    assert not found["is_raw"]
    assert found["losses"] == {"evaporated": 100 * b.G}
    assert "RAW" not in tablet.get(page.location).words.replace("THE RAW", "")


def test_without_a_reading_it_stays_raw_and_the_page_says_so(
    tablet: Tablet, book: Book, given: Given
) -> None:
    meat = given(b.take_in)
    asked = tablet.fill(page_of("cook", meat), made_mg="900")
    if asked.status == 422:  # a rule asks for a reason first
        asked = tablet.send(asked.form(), page_of("cook", meat), reason="thermometer broke")
    assert made_by(book, asked)["is_raw"]
    shown = tablet.get(asked.location)
    assert "It stays marked RAW" in shown.words
    assert any(a.get("class") == "raw-mark" for _, a in shown.tags)


def test_a_fahrenheit_reading_typed_as_celsius_is_asked_about(
    tablet: Tablet, book: Book, given: Given, unchanged: Unchanged
) -> None:
    meat = given(b.take_in)
    with unchanged():
        asked = tablet.fill(page_of("cook", meat), made_mg="900", centre="165")
    assert asked.status == 422
    assert "165 °C is unusual" in asked.words
    assert "Did you mean 165 °F (73.9 °C)?" in asked.words
    assert asked.beside("reason")
    assert asked.typed("centre") == ["165"]
    right = tablet.send(asked.form(), page_of("cook", meat), centre="165 F")
    assert not made_by(book, right)["is_raw"]
    with book.reading() as session:
        reading = session.execute(select(Reading.typed, Reading.value)).one()
    assert reading.typed == "165 F"
    assert reading.value == pytest.approx(73.89, abs=0.01)


COOLED = {
    "readings__0__hours": "0",
    "readings__0__temp": "57",
    "readings__1__hours": "1.5",
    "readings__1__temp": "20",
    "readings__2__hours": "5",
    "readings__2__temp": "4.5",
}


def test_cooling_shown_by_readings_is_written_without_a_question(
    tablet: Tablet, book: Book, given: Given
) -> None:
    hot = given(b.cooked)
    assert made_by(book, tablet.fill(page_of("chill", hot), **COOLED))["mg"] == b.KG


def test_cooling_without_readings_asks_for_a_reason_and_goes_on_with_one(
    tablet: Tablet, book: Book, given: Given, unchanged: Unchanged
) -> None:
    hot = given(b.cooked)
    with unchanged():
        asked = tablet.fill(page_of("chill", hot))
    assert asked.status == 422
    assert asked.beside("reason") == "Give a reason to go on."
    cautions = [a for _, a in asked.tags if a.get("class") == "caution confirm"]
    assert cautions
    with unchanged():  # a blank is no reason
        assert tablet.send(asked.form(), page_of("chill", hot), reason="   ").status == 422
    done = tablet.send(asked.form(), page_of("chill", hot), reason="shallow tub in snow")
    assert done.status == 303
    with book.reading() as session:
        reasons = session.scalars(select(Checkpoint.reason).where(Checkpoint.reason != "")).all()
    assert "shallow tub in snow" in reasons
    assert "shallow tub in snow" in tablet.get(done.location).words


def test_fat_of_nothing_is_recorded_as_none(tablet: Tablet, book: Book, given: Given) -> None:
    pot = given(b.a_pot)
    assert made_by(book, tablet.fill(page_of("skim", pot), fat_mg="0"))["losses"] == {}


def test_draining_makes_food_and_broth(tablet: Tablet, book: Book, given: Given) -> None:
    pot = given(b.a_pot)
    page = tablet.fill(page_of("drain", pot), drained_mg="1500", broth_mg="1500")
    assert made_by(book, page)["mg"] == 1500 * b.G
    assert "Moose trim broth" in tablet.get("/lots").words


def test_giving_asks_to_whom_and_keeps_the_name(
    tablet: Tablet, given: Given, clock: HandClock, unchanged: Unchanged
) -> None:
    pouch = given(b.pouches)[0]
    clock.forward(days=30)
    with unchanged():
        asked = tablet.fill(page_of("give", pouch))
    assert asked.beside("words") == "Something is needed here."
    assert tablet.send(asked.form(), page_of("give", pouch), words="Morag").status == 303
    assert "given away (Morag)" in tablet.get(f"/lots/{code_of(pouch.lot_id)}").words


# -- what they refuse --------------------------------------------------------------------------

TRIM = {"mass_mg": "1000", "made_mg": "1000"}
REFUSED: list[tuple[str, str, str, dict[str, str]]] = [
    ("trim", "mass_mg", "has 1.00 kg; you took 1.50 kg", {"mass_mg": "1500", "made_mg": "1500"}),
    ("trim", "made_mg", "Only 1.00 kg went in, but 1.20 kg came out", {"made_mg": "1200"}),
    (
        "trim",
        "made_mg",
        "1.00 kg went in and 900 g is accounted for: 100 g is missing",
        {"made_mg": "850", "trimmed_mg": "50"},
    ),
    ("trim", "done_on", "21 October 2025 is still to come", {"done_on": "2025-10-21"}),
    (
        "trim",
        "done_on",
        "was made on 20 October 2025; this cannot have been on 19 October 2025",
        {"done_on": "2025-10-19"},
    ),
    ("trim", "ref", "not on hand any more", {"ref": "9-9"}),
    ("trim", "ref", "Choose a lot", {"ref": "garbage"}),
    ("trim", "ref", "Choose a lot", {"ref": "1-2-3-4"}),
    ("trim", "ref", "Choose a lot", {"ref": "9" * 5000 + "-1"}),
    ("trim", "ref", "Choose a lot", {"ref": ""}),
    ("trim", "mass_mg", "“cups” is no unit", {"mass_mg": "4 cups"}),
    ("trim", "mass_mg", "read in two ways", {"mass_mg": "1,000"}),
    ("trim", "mass_mg", "is no amount", {"mass_mg": "all of it"}),
    ("trim", "mass_mg", "below nothing", {"mass_mg": "-1"}),
    ("trim", "mass_mg", "needed", {"mass_mg": ""}),
    ("trim", "mass_mg", "more than nothing", {"mass_mg": "0", "made_mg": "0"}),
    ("trim", "trimmed_mg", "more than a kitchen can hold", {"trimmed_mg": "1e9 kg" + "9" * 40}),
    ("trim", "place_id", ".", {"place_id": "999"}),
    ("portion", "name", "Give it a name", {"name": " ", "mass_mg": "10"}),
    ("portion", "name", "At most 80 letters", {"name": "x" * 81, "mass_mg": "10"}),
    ("cook", "centre", "“-300”", {"made_mg": "900", "centre": "-300"}),
    ("cook", "centre", "is no amount", {"made_mg": "900", "centre": "nan"}),
    ("cook", "rest_minutes", "between 0 and 2880", {"made_mg": "900", "rest_minutes": "inf"}),
    ("cook", "made_mg", "Less than the dry matter", {"made_mg": "10"}),
    ("cook", "made_mg", "1.00 kg went in, but 1.20 kg came out", {"made_mg": "1200"}),
    ("move", "place_id", "how it is already", {"place_id": str(b.FRIDGE)}),
    ("move", "mass_mg", "more than nothing", {"place_id": str(b.FREEZER), "mass_mg": "0"}),
    ("move", "mass_mg", "you took 5.00 kg", {"place_id": str(b.FREEZER), "mass_mg": "5 kg"}),
    ("eat", "mass_mg", "you took 1.20 kg", {"mass_mg": "1.2 kg"}),
    ("eat", "mass_mg", "more than nothing", {"mass_mg": "0"}),
    ("discard", "words", "needed", {}),
]


@pytest.mark.parametrize(("kind", "field", "words", "changes"), REFUSED)
def test_a_refusal_stands_beside_its_field_keeps_what_was_typed_and_writes_nothing(
    tablet: Tablet,
    given: Given,
    unchanged: Unchanged,
    kind: str,
    field: str,
    words: str,
    changes: dict[str, str],
) -> None:
    meat = given(b.take_in)
    typed = (TRIM | changes) if kind == "trim" else changes
    with unchanged():
        page = tablet.fill(page_of(kind, meat), **typed, note="before supper")
    assert page.status == 422
    assert words in page.beside(field)
    assert words in page.summary
    for name, value in typed.items():
        if name not in ("ref", "place_id") and value.strip():
            assert page.typed(name) == [value]
    assert page.typed("note") == ["before supper"]


def test_the_message_names_the_lot_as_it_is_spoken(tablet: Tablet, given: Given) -> None:
    meat = given(b.take_in)
    page = tablet.fill(page_of("trim", meat), mass_mg="1500", made_mg="1500")
    assert page.beside("mass_mg").startswith(spoken(code_of(meat.lot_id)))


def test_a_row_of_the_grinder_without_its_lot_is_asked_for_it(
    tablet: Tablet, given: Given, unchanged: Unchanged
) -> None:
    meat = given(b.take_in)
    with unchanged():
        page = tablet.fill(page_of("grind", meat), parts__1__mass="50", made_mg="1050")
    assert page.beside("parts-1-ref") == "Choose a lot."
    assert page.typed("parts-1-mass") == ["50"]


def test_a_problem_finds_its_row_though_rows_before_it_are_empty(
    tablet: Tablet, given: Given, unchanged: Unchanged
) -> None:
    meat = given(b.take_in)
    with unchanged():
        page = tablet.fill(
            page_of("grind", meat),
            parts__0__mass="",
            parts__2__ref=str(meat),
            parts__2__mass="4 kg",
            made_mg="4 kg",
        )
    assert "you took 4.00 kg" in page.beside("parts-2-mass")


def test_grinding_nothing_is_refused(tablet: Tablet, given: Given, unchanged: Unchanged) -> None:
    meat = given(b.take_in)
    with unchanged():
        page = tablet.fill(page_of("grind", meat), parts__0__mass="", made_mg="1 kg")
    assert page.beside("parts") == "Something is needed here."


def test_a_part_of_several_packages_at_once_is_refused(
    tablet: Tablet, given: Given, clock: HandClock, unchanged: Unchanged
) -> None:
    pouches = given(b.pouches)
    clock.forward(days=2)
    with unchanged():
        page = tablet.fill(
            page_of("eat", pouches[0]), refs=[str(p) for p in pouches[:2]], mass_mg="50"
        )
    assert "Only of a single one" in page.beside("mass_mg")
    assert page.typed("refs") == [str(p) for p in pouches[:2]]


def test_ticking_nothing_is_refused(tablet: Tablet, given: Given, unchanged: Unchanged) -> None:
    meat = given(b.take_in)
    with unchanged():
        page = tablet.fill(page_of("eat", meat), refs=None)
    assert page.beside("refs") == "Something is needed here."


@pytest.mark.parametrize("kind", sorted(FORMS))
def test_an_empty_form_asks_for_everything_it_needs(
    tablet: Tablet, given: Given, unchanged: Unchanged, kind: OperationKind
) -> None:
    given(b.take_in)
    with unchanged():
        page = tablet.post(f"/write/{kind}", {})
    assert page.status == 422
    assert page.summary
    assert page.beside("done_on") == "Something is needed here."


@pytest.mark.parametrize("start", ["9-9", "garbage", "1", "-", "%00", "1-2-3-4", "9" * 400])
def test_garbage_as_the_start_is_a_page_without_a_start(
    tablet: Tablet, given: Given, start: str
) -> None:
    given(b.take_in)
    for kind in [*FORMS, "pack", "load"]:
        assert tablet.get(page_of(kind, start)).status == 200, kind


# -- several packages at once ------------------------------------------------------------------

LEAVING = {"give": {"words": "Morag at the mill"}, "discard": {"words": "freezer burn"}}


def stock_at(book: Book, place: int) -> list[StockRef]:
    with book.reading() as session:
        return [ref for ref in b.all_stock(session) if ref.place_id == place]


@pytest.mark.parametrize("kind", ["eat", "give", "discard", "move", "open"])
@pytest.mark.parametrize("way", ["ticked", "all here"])
def test_many_packages_are_taken_at_once(
    tablet: Tablet, given: Given, book: Book, clock: HandClock, kind: str, way: str
) -> None:
    """Two of three are ticked, or one tick stands for all that lie there."""
    pouches = given(b.pouches)
    clock.forward(days=2)
    taken = pouches[:2] if way == "ticked" else pouches
    ticks = (
        {"refs": [str(ref) for ref in taken]}
        if way == "ticked"
        else {"refs": None, "all_here": "y"}
    )
    place = {"place_id": str(b.FREEZER)} if kind == "move" else {}
    answer = tablet.fill(page_of(kind, pouches[0]), **ticks, **LEAVING.get(kind, {}), **place)
    assert answer.status == 303, answer.summary
    with book.reading() as session:
        opened = {row.package_id for row in session.scalars(select(Stock)) if row.opened_on}
    there = {ref.package_id for ref in stock_at(book, b.PANTRY)}
    named = {ref.package_id for ref in taken}
    assert opened == (named if kind == "open" else set())
    assert there == {ref.package_id for ref in pouches} - (set() if kind == "open" else named)
    assert len(stock_at(book, b.FREEZER)) == (len(taken) if kind == "move" else 0)


def test_one_tick_for_all_says_how_many_and_how_much_and_is_offered_only_for_several(
    tablet: Tablet, given: Given, clock: HandClock
) -> None:
    pouches = given(b.pouches)
    clock.forward(days=2)
    words = tablet.get(page_of("eat", pouches[0])).words
    assert "All of this lot here: 3, together 240 g" in words
    tablet.fill(page_of("open", pouches[0]), refs=[str(pouches[0])])
    assert (
        "All of this lot here: 2, together 160 g" in tablet.get(page_of("open", pouches[1])).words
    )
    meat = given(b.take_in)
    assert "All of this lot here" not in tablet.get(page_of("eat", meat)).words
    assert "All of this lot here" not in tablet.get("/write/eat").words


# -- cautions ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("kind", "words"),
    [
        ("cook", "pink"),
        ("chill", "21 °C (70 °F) within 2 hours"),
        ("load", "Drying does not cook"),
        ("pack", "botulism"),
        ("thaw", "Thaw in the fridge"),
        ("open", "Once opened"),
    ],
)
def test_a_caution_stands_beside_its_step_with_its_source(
    tablet: Tablet, given: Given, clock: HandClock, kind: str, words: str
) -> None:
    start = {
        "chill": lambda: given(b.cooked),
        "thaw": lambda: given(b.take_in, place=b.FREEZER),
        "open": lambda: given(b.pouches)[0],
    }.get(kind, lambda: given(b.take_in))()
    clock.forward(days=2)
    page = tablet.get(page_of(kind, start))
    ids = [a["id"] for _, a in page.tags if a.get("class", "").startswith("caution ")]
    said = " ".join(page.inside(id_) for id_ in ids)
    assert ids
    assert words in said
    sources = [a for tag, a in page.tags if tag == "p" and a.get("class") == "source"]
    assert len(sources) == len(ids)
    assert said.count("Local rules") == len(ids)  # it defers to the rules of the place
