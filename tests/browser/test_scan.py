"""A printed label read by the tablet's own camera, live and from a photo."""

import io
import shutil
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
import segno
from PIL import Image, ImageEnhance, ImageFilter
from playwright.sync_api import Browser, Page, expect

from app.ledger.queries.stock import StockLine, stock_lines
from app.settings import Settings
from tests.browser.elsewhere import PLAIN, another, by_name, in_another_room
from tests.browser.live import Live, serving
from tests.browser.populated import NOW
from tests.browser.tablet import complaints_of, tablet_context

pytestmark = [
    pytest.mark.browser,
    pytest.mark.skipif(shutil.which("pdftoppm") is None, reason="needs poppler-utils"),
]

CODE_ALONE = "Fill the picture with the code and try again, or type the code."


@pytest.fixture(scope="module")
def demo(populated: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Live]:
    """The populated ledger, served for reading."""
    folder = tmp_path_factory.mktemp("scan")
    shutil.copy(populated, folder / "stillroom.db")
    with serving(Settings(folder, names=(PLAIN,)), NOW) as running:
        yield running


@pytest.fixture(scope="module")
def lot(demo: Live) -> StockLine:
    """A package on the pantry shelf."""
    with demo.book.reading() as session:
        return next(x for x in stock_lines(session, one_by_one=True) if x.package_number)


@pytest.fixture(scope="module")
def label(
    browser: Browser, demo: Live, lot: StockLine, tmp_path_factory: pytest.TempPathFactory
) -> Image.Image:
    """The label of that package as our own code draws it, at 203 dpi as a label printer does."""
    folder = tmp_path_factory.mktemp("label")
    context = browser.new_context()
    answer = context.request.get(f"{demo.address}/labels.pdf?ref={lot.ref}")
    (folder / "label.pdf").write_bytes(answer.body())
    context.close()
    command = ["pdftoppm", "-gray", "-r", "203", "-singlefile", "label.pdf", "label"]
    subprocess.run(command, cwd=folder, check=True)
    with Image.open(folder / "label.pgm") as picture:
        return picture.convert("L")


def on_a_counter(label: Image.Image, degrees: float, brightness: float) -> Image.Image:
    """A photo of a label: lying turned on a counter, in little light, not quite sharp."""
    side = round(1.5 * max(label.size))
    photo = Image.new("L", (side, side), 120)
    photo.paste(label, ((side - label.width) // 2, (side - label.height) // 2))
    photo = photo.rotate(degrees, resample=Image.Resampling.BICUBIC, fillcolor=120)
    photo = photo.filter(ImageFilter.GaussianBlur(1.2))
    return ImageEnhance.Brightness(photo).enhance(brightness).convert("RGB")


def jpeg(picture: Image.Image, quality: int = 80) -> bytes:
    out = io.BytesIO()
    picture.convert("RGB").save(out, "JPEG", quality=quality)
    return out.getvalue()


def drawn(text: str) -> Image.Image:
    """A code that is no label of ours."""
    out = io.BytesIO()
    segno.make_qr(text).save(out, kind="png", scale=8, border=6)
    with Image.open(out) as picture:
        return picture.convert("RGB")


@contextmanager
def camera_sees(browser: Browser, picture: Image.Image, folder: Path) -> Iterator[Page]:
    """A tablet whose camera shows this picture, and which is asked for no leave."""
    film = folder / "camera.mjpeg"
    frame = picture.convert("RGB")
    frame.thumbnail((1280, 1280))
    film.write_bytes(jpeg(frame, 90) * 5)
    arguments = (
        "--use-fake-ui-for-media-stream",
        "--use-fake-device-for-media-stream",
        f"--use-file-for-fake-video-capture={film}",
    )
    with another(browser, *arguments) as seeing:
        yield tablet_context(seeing).new_page()


@contextmanager
def plain_tablet(browser: Browser, demo: Live) -> Iterator[Page]:
    """A tablet that reaches the kitchen by its name over plain http."""
    with in_another_room(browser) as plain:
        page = tablet_context(plain).new_page()
        complaints = complaints_of(page)
        page.goto(f"{by_name(demo.address)}/scan")
        yield page
    assert complaints == []


def photo(page: Page, picture: Image.Image | bytes, name: str = "photo.jpg") -> None:
    """Take a photo: as the camera of the tablet hands it to the page."""
    data = picture if isinstance(picture, bytes) else jpeg(picture)
    page.locator("[data-scan-photo] input").set_input_files(
        {"name": name, "mimeType": "image/jpeg", "buffer": data}
    )


def test_the_live_camera_reads_a_label_and_opens_its_lot(
    browser: Browser, demo: Live, lot: StockLine, label: Image.Image, tmp_path: Path
) -> None:
    with camera_sees(browser, on_a_counter(label, 12, 0.8), tmp_path) as page:
        complaints = complaints_of(page)
        page.goto(f"{demo.address}/scan")
        page.wait_for_url(f"**/lots/{lot.code}")
        assert complaints == []


COUNT_LOOKS = """() => {
  const draw = CanvasRenderingContext2D.prototype.drawImage;
  window.looks = 0;
  CanvasRenderingContext2D.prototype.drawImage = function (...what) {
    window.looks += 1;
    return draw.apply(this, what);
  };
}"""


def test_the_live_camera_never_follows_another_address(
    browser: Browser, demo: Live, tmp_path: Path
) -> None:
    with camera_sees(browser, drawn("https://elsewhere.example/pay"), tmp_path) as page:
        asked: list[str] = []
        page.on("request", lambda request: asked.append(request.url))
        page.goto(f"{demo.address}/scan")
        said = page.locator("[data-scan-said]")
        expect(said).to_contain_text("the code of something else, no label of this ledger")
        page.evaluate(COUNT_LOOKS)
        page.wait_for_function("() => window.looks >= 3")  # the same code is there each time
        assert page.url == f"{demo.address}/scan"
        assert all(url.startswith(demo.address) for url in asked)
        assert sum("/scan.json" in url for url in asked) == 1


@pytest.mark.parametrize(("degrees", "brightness"), [(0, 1.0), (37, 0.5), (90, 0.35), (200, 0.25)])
def test_a_photo_of_a_turned_and_dim_label_opens_its_lot_over_plain_http(
    browser: Browser,
    demo: Live,
    lot: StockLine,
    label: Image.Image,
    degrees: float,
    brightness: float,
) -> None:
    with plain_tablet(browser, demo) as page:
        expect(page.locator("[data-scan-said]")).to_contain_text("Take a photo of the code")
        assert not page.evaluate("window.isSecureContext")
        photo(page, on_a_counter(label, degrees, brightness))
        page.wait_for_url(f"**/lots/{lot.code}")


def test_photos_without_a_label_of_ours_say_what_to_do(browser: Browser, demo: Live) -> None:
    with plain_tablet(browser, demo) as page:
        said = page.locator("[data-scan-said]")
        photo(page, Image.new("RGB", (900, 700), (140, 120, 90)))
        expect(said).to_contain_text("No code found in the picture. " + CODE_ALONE)
        photo(page, drawn("WIFI:S:guests;P:secret;;"))
        expect(said).to_contain_text("the code of something else")
        photo(page, b"this is no picture")
        expect(said).to_contain_text("no picture that the browser can open")
        photo(page, drawn(f"http://{PLAIN}/l/ZZZZZ"))
        expect(said).to_contain_text("is of no lot in this ledger")
        assert page.url.endswith("/scan")


def test_the_reader_is_fetched_only_when_there_is_a_picture_to_read(
    browser: Browser, demo: Live
) -> None:
    context = tablet_context(browser)
    page = context.new_page()
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    for path in ("/", "/lots", "/find", "/scan"):
        page.goto(demo.address + path)
    assert not any("/vendor/" in url for url in asked)
    assert any("/js/scan.js" in url for url in asked)
    context.close()


def test_a_refused_camera_leaves_the_photo_and_the_field(browser: Browser, demo: Live) -> None:
    context = tablet_context(browser)  # grants nothing
    page = context.new_page()
    page.goto(f"{demo.address}/scan")
    expect(page.locator("[data-scan-said]")).to_contain_text("Take a photo instead")
    expect(page.get_by_role("button", name="Use the camera")).to_be_visible()
    expect(page.get_by_text("Take a photo of the code")).to_be_visible()
    expect(page.get_by_label("Code, name, tag")).to_be_visible()
    context.close()


def test_the_browsers_own_reader_is_used_where_there_is_one(
    browser: Browser, demo: Live, lot: StockLine
) -> None:
    context = tablet_context(browser)
    page = context.new_page()
    page.add_init_script(f"""window.BarcodeDetector = class {{
      static async getSupportedFormats() {{ return ["qr_code"]; }}
      async detect() {{ return [{{ rawValue: "http://kitchen.local/l/{lot.code}" }}]; }} }};""")
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.goto(f"{demo.address}/scan")
    photo(page, Image.new("RGB", (300, 300)))
    page.wait_for_url(f"**/lots/{lot.code}")
    assert not any("/vendor/" in url for url in asked)
    context.close()
