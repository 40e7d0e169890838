"""October on the smallholding, tapped on a tablet: from the first run to a pouch given away."""

import subprocess
from collections.abc import Iterator
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
import zxingcpp
from PIL import Image
from playwright.sync_api import Browser, expect
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from app.ledger.checks import check_all
from app.ledger.codes import lot_id_of
from app.ledger.models import Addition, Loss, Lot, Package, Stock
from tests.browser.live import Live, serving
from tests.browser.tablet import Tablet, complaints_of, tablet_context
from tests.databases import Shelf, on_both

pytestmark = pytest.mark.browser
START = datetime(2026, 10, 10, 8, tzinfo=UTC)

# (what it is called, the nearest food of the table, how it is cut, grams, place, more)
LARDER = (
    ("Lamb shoulder", "17003", "Whole", 2140, "Chest freezer", "An animal"),
    ("Pork back-fat", "10004", "Whole", 2050, "Chest freezer", "An animal"),
    ("Trout", "15114", "Whole", 1120, "Chest freezer", "An animal"),
    ("Green beans", "11052", "Pieces", 1350, "Fridge", "Our own plot"),
    ("Apples", "09003", "Whole", 4200, "Pantry shelf", "Our own plot"),
    ("Sweetcorn", "11167", "Pieces", 2400, "Fridge", "Our own plot"),
)
OLD_G = 1600
# bowl, gross and tare in grams, as a hand scale to 3 kg shows them: 9200 g of food
BOWLS = (("Blue", 2267, 412), ("Glass", 2546, 655), ("Blue", 2304, 412), ("Blue", 2198, 412),
         ("Glass", 2431, 655))  # fmt: skip
POUCHES_G = (331, 329, 330, 332, 328)
WATER_G = 2000
LOST_G = {
    "drip": 20 + 40,  # of the thawed packet, and of the blanched corn
    "trim": 190,
    "stuck": 50 + 11 + 2,  # in the grinder, at the burgers, with the broth
    "spilled": 14 + 4,
    "eaten": POUCHES_G[0],
    "given": POUCHES_G[1],
}


@pytest.fixture
def live(shelf: Shelf) -> Iterator[Live]:
    with serving(shelf.settings(folder=shelf.folder / "data"), START) as running:
        yield running


@on_both
def test_a_moose_becomes_pouches_and_every_gram_is_accounted_for(
    browser: Browser, live: Live, tmp_path: Path
) -> None:
    context = tablet_context(browser)
    page = context.new_page()
    complaints = complaints_of(page)
    tablet = Tablet(page, live)
    open_the_ledger(tablet)
    take_in_the_larder(tablet)
    thawed = thaw_the_old_packet(tablet)
    ground = grind_both(tablet, take_in_the_moose(tablet), thawed)
    make_burgers(tablet, ground)
    meat, broth = simmer_and_drain(tablet, ground)
    dry = freeze_dry(tablet, meat)
    corn = dry_the_sweetcorn(tablet)
    pouches, jar = pack_the_meat(tablet, dry)
    read_the_labels(tablet, pouches, tmp_path)
    powder = powder_the_broth(tablet, broth)
    eat_and_give(tablet, pouches)
    context.close()
    assert complaints == []
    with live.book.reading() as session:
        assert check_all(session) == []
        every_gram_is_accounted_for(session)
        the_pouches_carry_the_older_age(session, pouches)
        assert [grams_of(session, code) for code in (jar, corn, powder)] == [274, 600, 140]


def open_the_ledger(t: Tablet) -> None:
    t.open("/")
    expect(t.page.get_by_role("heading", level=1)).to_have_text("Open the ledger")
    t.type("What is the household called", "Larkfell")
    t.type("Who writes entries", "Marit, Jonas, Elna, Tobi")
    t.type("Height above the sea", "310")
    t.type("Time zone", "Europe/Stockholm")
    for words in ("Freeze-dryer", "Box dehydrator", "Foil-laminate pouch, quart"):
        t.tick(words)
    for words in ("Foil-laminate pouch, pint", "100 cc", "300 cc"):
        t.tick(words)
    for name, count, length, width in (("freeze_dryer", "4", "35", "25"),
                                       ("dehydrator", "6", "32", "32")):  # fmt: skip
        for part, text in (("count", count), ("length", length), ("width", width)):
            t.page.locator(f"[name={name}-{part}]").tap()
            t.press(text)
    for row, (bowl, tare) in zip(t.rows("Bowls for weighing"),
                                 (("Blue enamel bowl", "412"), ("Glass bowl", "655")),
                                 strict=True):  # fmt: skip
        t.type("Bowl", bowl, row)
        t.weigh("Weighs, empty", tare, row)
    t.send("The ledger of Larkfell is open")


def take_in_the_larder(t: Tablet) -> None:
    for name, ndb, cut, grams, place, source in LARDER:
        t.write_entry("Take in")
        name_it(t, name, ndb)
        t.type("Bowl 1, gross", str(grams))
        t.tick(cut)
        t.tick(source)
        t.choose("Where it is now", place)
        t.send(f"Taken in: {name}")
    t.write_entry("Take in")
    name_it(t, "Moose trim, old packet", "17172")
    t.tick("Result: not detected")
    t.type("Bowl 1, gross", f"{OLD_G / 1000} kg")
    t.tick("A gift")
    t.type("Who gave or sold it", "Henning")
    t.type("Harvested or killed", "2024-10")
    t.type("Frozen or kept like this since", "2024-10")
    t.tick("A vacuum bag")
    t.choose("Where it is now", "Chest freezer")
    t.send("Taken in: Moose trim, old packet")


def name_it(t: Tablet, name: str, ndb: str) -> None:
    """The list of foods is the browser's own, so the line it would give is typed."""
    t.type("What is it", name)
    line = t.page.locator(f"#foods option[value*='({ndb})']").get_attribute("value")
    assert line is not None
    t.type("Nearest food in the table", line)


def take_in_the_moose(t: Tablet) -> str:
    t.write_entry("Take in")
    name_it(t, "Moose trim", "17172")
    for number, (bowl, gross, tare) in enumerate(BOWLS):
        t.page.locator(f"[data-bowl^='{bowl}']").tap()
        t.press(str(gross))
        net = f"{gross - tare:,}".replace(",", "\u202f")
        expect(t.page.locator("[data-tally-net]").nth(number)).to_have_text(net)
    expect(t.page.locator("[data-tally-kg]")).to_have_text("9.200 kg")
    t.type("Tag or licence", "M-0417")
    t.type("Who gave or sold it", "The hunting team")
    t.tick("Result: not detected")
    t.tick("Lead-free")
    t.type("Harvested or killed", "2026-10-03")
    t.send("Taken in: Moose trim")
    return t.code


def thaw_the_old_packet(t: Tablet) -> str:
    t.section("Eat first")
    group = t.page.locator("#process")
    row = group.locator(".lot-line", has_text="Moose trim, old packet")
    expect(row).to_contain_text("est")  # "Best before…" or "Past its best…"
    row.get_by_role("link", name="Thaw").tap()
    t.weigh("Drip poured off", "20")
    t.send("Thawed")
    return t.code


def grind_both(t: Tablet, new: str, thawed: str) -> str:
    t.live.clock.forward(days=1)
    t.open(f"/lots/{new}")
    t.step("Grind")
    first, second, _third = t.rows("What goes in")
    expect(first.get_by_label("How much")).to_have_value("9200 g")
    t.choose("Lot", "old packet", second)
    t.weigh("How much", "1580", second)
    t.weigh("What came out", "10500")
    t.weigh("Trimmed away", "190")
    t.weigh("Stuck in the grinder", "50")
    t.refused("40 g")  # 9200 + 1580 − 10500 − 190 − 50 has gone nowhere
    t.weigh("What came out", "10540")
    t.send("Ground")
    expect(t.page.locator("main")).to_contain_text("October 2024")
    expect(t.page.locator(".raw-mark")).to_have_text("RAW")
    return t.code


def make_burgers(t: Tablet, ground: str) -> None:
    t.step("Split off")
    t.weigh("How much is split off", "2000")
    t.type("Name of the part", "Moose for burgers")
    t.send("Split off")
    t.step("Blend")
    t.choose("Work in", "Pork back-fat")
    t.page.get_by_role("button", name="Work out how much").tap()
    # USDA Standard Reference 28 (2015): moose, 17172: 0.74 % fat; pork backfat, 10004: 88.69 %.
    # 2000 g × (15 − 0.74) / (88.69 − 15) = 387 g
    expect(t.page.locator(".said[role=status]")).to_contain_text("387 g brings 2.00 kg to 15 % fat")
    expect(t.page.get_by_label("How much of that")).to_have_value("387 g")
    t.type("Name of the blend", "Burgers")
    t.weigh("What came out", "2376")
    t.weigh("Stuck in the machine", "11")
    t.send("Blended")
    t.step("Pack")
    t.page.locator(".compare-for").get_by_label("Kept in").select_option(label="Chest freezer")
    compare_again(t, 4)
    choose_package(t, "Vacuum bag", "pumped down")
    for number in range(1, 5):
        t.weigh(f"Package {number}, net weight", "594")
    t.refused("Give a reason to go on")  # what was thawed goes back into the freezer
    t.type("Reason", "Thawed in the fridge at 4 °C, never warmer")
    t.send("Packed: 4 packages")
    t.open(f"/lots/{ground}")


def compare_again(t: Tablet, count: int) -> None:
    """Ask for the comparison in that many packages."""
    t.page.get_by_label("Packages").fill(str(count))
    t.page.get_by_role("button", name="Compare again").tap()
    proposal = "One package of" if count == 1 else f"{count} packages of about"
    expect(t.page.locator("main > h2")).to_contain_text(proposal)


def choose_package(t: Tablet, name: str, note: str) -> None:
    """Tap the row of the comparison, unless it is the one that is chosen already."""
    row = t.page.locator(".package-lines .lot-line", has_text=name).filter(has_text=note).first
    row.wait_for(state="attached")
    if not row.is_visible():
        t.page.locator("details.more > summary").first.tap()
    row.get_by_role("link").tap()
    expect(t.page.locator(".lot-line.chosen")).to_contain_text(name)
    expect(t.page.locator(".lot-line.chosen")).to_contain_text(note)


def simmer_and_drain(t: Tablet, ground: str) -> tuple[str, str]:
    t.open(f"/lots/{ground}")
    t.step("Cook")
    t.weigh("Water added", str(WATER_G))
    t.weigh("Weight afterwards", "9856")
    t.weigh("Centre temperature at the end", "74")
    t.send("Cooked")
    expect(t.page.locator(".raw-mark")).to_have_count(0)
    t.step("Chill")
    t.weigh("Weight when cold", "9835")
    cooling = (("0", "57"), ("1.5", "20"), ("5", "4.5"))
    for row, (hours, temp) in zip(t.rows("Temperatures while it cooled"), cooling, strict=True):
        t.weigh("Hours after cooking", hours, row)
        t.weigh("Temperature", temp, row)
    t.send("Chilled")
    t.live.clock.forward(hours=20)
    t.open(f"/lots/{t.code}")
    t.step("Skim")
    t.weigh("Fat lifted off", "0")
    t.send("Skimmed")
    t.step("Drain")
    t.weigh("Drained food", "5950")
    t.weigh("Broth", "3871")
    t.weigh("Spilled", "14")
    t.send("Drained")
    meat = t.code
    t.section("Bench")
    broth = t.page.locator(".card", has_text="broth").locator(".card-name a")
    return meat, (broth.get_attribute("href") or "").rsplit("/", 1)[1]


def load(t: Tablet, code: str, trays: tuple[tuple[int, int], ...]) -> str:
    """Load trays given as gross and tare in grams; the address of the run."""
    t.open(f"/lots/{code}")
    t.step("Load the dryer")
    for row, (gross, tare) in zip(t.rows("Trays"), trays, strict=False):
        t.weigh("Full tray", str(gross), row)
        t.weigh("Empty tray", str(tare), row)
    t.page.get_by_role("button", name="What to expect").tap()
    expect(t.page.locator(".said").first).to_contain_text("Dry it should weigh")
    t.send("The run has begun")
    return t.page.url.removeprefix(t.live.address)


def weigh_back(t: Tablet, run: str, hours: float, grosses: tuple[int, ...]) -> None:
    """Weigh each tray once, these hours after the last time; the page goes on by itself."""
    t.live.clock.forward(hours=hours)
    t.open(run)
    for number, gross in enumerate(grosses, start=1):
        expect(t.page.get_by_label("Tray", exact=True)).to_have_value(str(number))
        t.weigh("Full tray now", str(gross))
        t.page.get_by_role("button", name="Write this weighing down").tap()
        expect(t.page.locator(".flash")).to_contain_text(f"Tray {number} is written down")


def freeze_dry(t: Tablet, meat: str) -> str:
    trays = ((2174, 684), (2166, 681), (2176, 686), (2168, 683))
    run = load(t, meat, trays)
    ends = (483, 481, 483, 481)
    verdicts = t.page.locator(".verdict")
    for hours, more in ((20, 7), (4, 0), (3, 0)):
        weigh_back(
            t, run, hours, tuple(e + more + tare for e, (_, tare) in zip(ends, trays, strict=True))
        )
        if more == 7:
            expect(verdicts.first).to_contain_text("one weighing alone proves nothing")
    for number in range(4):
        expect(verdicts.nth(number)).to_contain_text("Dry.")
    t.weigh("Dry weight", "1924")
    t.weigh("Spilled", "4")
    t.send("Unloaded")
    return t.code


def dry_the_sweetcorn(t: Tablet) -> str:
    t.section("Lots")
    t.page.locator(".lot-line", has_text="Sweetcorn").locator(".lot-code").tap()
    t.step("Blanch")
    t.weigh("Weight after draining", "2360")
    t.send("Blanched")
    run = load(t, t.code, ((1410, 230), (1410, 230)))
    for hours, more in ((10, 12), (2, 2), (2, 0), (2, 0)):
        weigh_back(t, run, hours, (530 + more, 530 + more))
    t.weigh("Dry weight", "600")
    t.send("Unloaded")
    t.step("Pack")
    choose_package(t, "Glass jar, 1 l", "300 cc")
    return pack(t, (600,))[0]


def pack(t: Tablet, nets_g: tuple[int, ...], place: str = "Pantry shelf") -> tuple[str, str]:
    """Weigh each package; the code of the packed lot and the address of its labels."""
    for number, net in enumerate(nets_g, start=1):
        t.weigh(f"Package {number}, net weight", str(net))
    t.tick("I looked at every seal")
    t.choose("Where they are kept", place)
    t.send(f"Packed: {len(nets_g)} packages" if len(nets_g) > 1 else "Packed: 1 package")
    return t.code, t.page.url


def pack_the_meat(t: Tablet, dry: str) -> tuple[str, str]:
    t.open(f"/lots/{dry}")
    t.step("Pack")
    expect(t.page.locator(".said").first).to_contain_text("Dry enough to seal without air")
    compare_again(t, 6)
    best = t.page.locator(".package-lines .lot-line").first
    expect(best).to_contain_text("Foil-laminate pouch, quart")
    expect(best).to_contain_text("years")
    choose_package(t, "Foil-laminate pouch, quart", "300 cc")
    expect(t.page.get_by_role("heading", name="6 packages of about 321 g each")).to_be_visible()
    pouches, _ = pack(t, POUCHES_G, "Kitchen bench")
    t.open(f"/lots/{dry}")
    t.step("Pack")
    compare_again(t, 1)
    choose_package(t, "Glass jar, 1 l", "300 cc")
    jar, _ = pack(t, (274,))
    return pouches, jar


def read_the_labels(t: Tablet, pouches: str, folder: Path) -> None:
    """Make the PDF, look at it as a printer of 203 dots an inch would, and follow its code."""
    t.open(f"/labels?lot={pouches}")
    with t.page.expect_request("**/labels.pdf*") as asked:
        t.page.locator(".actions .button.main").tap()
    pdf = folder / "labels.pdf"
    pdf.write_bytes(t.page.context.request.get(asked.value.url).body())
    subprocess.run(["pdftoppm", "-r", "203", "-gray", "-png", pdf, folder / "label"], check=True)
    sheets = sorted(folder.glob("label-*.png"))
    codes = [zxingcpp.read_barcodes(Image.open(sheet)) for sheet in sheets]
    assert [len(found) for found in codes] == [1] * 5
    text = subprocess.run(
        ["pdftotext", pdf, "-"], check=True, capture_output=True, text=True
    ).stdout
    for words in ("package 1 of 5", "331 g", "2024"):
        assert words in text
    assert "RAW" not in text
    t.page.goto(codes[0][0].text)
    assert t.page.url == f"{t.live.address}/lots/{pouches}"
    t.step("Move")
    t.choose("Where to", "Pantry shelf")
    t.send("Moved")
    t.open(f"/labels?lot={pouches}")
    t.page.get_by_role("button", name="Write down that they were printed").tap()
    expect(t.page.locator(".flash")).to_contain_text("5 labels written down")


def powder_the_broth(t: Tablet, broth: str) -> str:
    t.open(f"/lots/{broth}")
    t.step("Cook")
    t.weigh("Weight afterwards", "2100")
    t.weigh("Centre temperature at the end", "96")
    t.send("Cooked")
    run = load(t, t.code, ((1684 + 50, 684), (1681 + 50, 681)))
    for hours, more in ((24, 4), (3, 1), (3, 0), (3, 0)):
        weigh_back(t, run, hours, (684 + 71 + more, 681 + 71 + more))
    t.weigh("Dry weight", "142")
    t.send("Unloaded")
    t.step("Grind")
    t.type("Name of the ground lot", "Moose broth powder")
    t.weigh("What came out", "140")
    t.weigh("Stuck in the grinder", "2")
    t.tick("The grinder was cleaned down before")  # the raw moose was in it
    t.send("Ground")
    t.step("Pack")
    compare_again(t, 1)
    choose_package(t, "Foil-laminate pouch, pint", "100 cc")
    return pack(t, (140,))[0]


def eat_and_give(t: Tablet, pouches: str) -> None:
    t.live.clock.forward(days=31)
    t.section("Eat first")
    trout = t.page.locator("#process .lot-line", has_text="Trout")
    trout.get_by_role("link", name="Thaw").tap()
    t.send("Thawed")
    t.section("Eat first")
    expect(t.page.locator("#this_week")).to_contain_text("Trout")
    expect(t.page.locator("#process")).to_contain_text("Burgers")
    row = t.page.locator("#later .lot-line", has=t.page.locator(f"a[href='/lots/{pouches}']"))
    row.get_by_role("link", name="Eat").tap()
    t.send("Eaten")
    t.open(f"/lots/{pouches}")
    t.step("Give")
    t.type("To whom", "Astrid at the mill")
    t.send("Given")
    t.open(f"/lots/{pouches}")
    expect(t.page.locator("main")).to_contain_text("given away (Astrid at the mill)")
    expect(t.page.locator(".lot-part")).to_contain_text("3 packages, 990 g")


def grams_of(session: Session, code: str) -> int:
    total = select(func.sum(Stock.mass_mg)).where(Stock.lot_id == lot_id_of(code))
    return (session.scalar(total) or 0) // 1000


def every_gram_is_accounted_for(session: Session) -> None:
    """What came through the door and the tap is on the shelves or lost in a way that has a name."""
    weighed_g = OLD_G + sum(g - t for _, g, t in BOWLS) + sum(row[3] for row in LARDER)
    added = grams_by_kind(session, Addition)
    assert added == {"intake": weighed_g, "water": WATER_G}
    lost = grams_by_kind(session, Loss)
    assert {kind: lost[kind] for kind in LOST_G} == LOST_G
    assert set(lost) == {*LOST_G, "evaporated"}
    on_hand_g = (session.scalar(select(func.sum(Stock.mass_mg))) or 0) / 1000
    assert weighed_g + WATER_G == on_hand_g + sum(lost.values())


def grams_by_kind(session: Session, table: type[Addition] | type[Loss]) -> dict[str, float]:
    query = select(table.kind, func.sum(table.mass_mg)).group_by(table.kind)
    return {kind: mass_mg / 1000 for kind, mass_mg in session.execute(query)}


def the_pouches_carry_the_older_age(session: Session, code: str) -> None:
    lot = session.get_one(Lot, lot_id_of(code))
    assert (lot.harvest_from, lot.harvest_to) == (date(2024, 10, 1), date(2026, 10, 3))
    assert not lot.is_raw
    nets = select(Package.net_mg).where(Package.lot_id == lot.id).order_by(Package.number)
    assert [net // 1000 for net in session.scalars(nets)] == list(POUCHES_G)
