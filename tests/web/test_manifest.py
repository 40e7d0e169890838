"""The home screen knows a name and a drawing of ours."""

import struct

from tests.web.pages import Tablet


def test_the_page_names_a_manifest_that_a_browser_understands(tablet: Tablet) -> None:
    page = tablet.client.get("/").get_data(as_text=True)
    assert 'rel="manifest"' in page
    assert 'rel="apple-touch-icon"' in page
    assert page.count('name="theme-color"') == 2
    answer = tablet.client.get("/static/stillroom.webmanifest", buffered=True)
    assert answer.mimetype == "application/manifest+json"
    told = answer.get_json(force=True)
    assert (told["name"], told["start_url"], told["id"], told["display"]) == (
        "Stillroom",
        "/",
        "/",
        "standalone",
    )


def test_every_icon_is_there_as_large_as_it_is_said_to_be(tablet: Tablet) -> None:
    told = tablet.client.get("/static/stillroom.webmanifest", buffered=True).get_json(force=True)
    drawn = [icon for icon in told["icons"] if icon["type"] == "image/png"]
    for icon in drawn:
        answer = tablet.client.get(icon["src"], buffered=True)
        assert answer.mimetype == icon["type"]
        width, height = struct.unpack(">II", answer.data[16:24])  # PNG, 11.2.2: IHDR
        assert icon["sizes"] == f"{width}x{height}"
    assert {(icon["sizes"], icon.get("purpose", "any")) for icon in drawn} == {
        ("192x192", "any"),
        ("512x512", "any"),
        ("512x512", "maskable"),
    }
    answer = tablet.client.get("/static/icons/180.png", buffered=True)
    assert struct.unpack(">II", answer.data[16:24]) == (180, 180)


def test_a_script_without_a_fingerprint_is_asked_for_anew_each_time(tablet: Tablet) -> None:
    """Modules import each other by plain names, so none of them may be kept unasked."""
    answer = tablet.client.get("/static/js/store.js", buffered=True)
    assert answer.headers["Cache-Control"] == "no-cache"
    etag = answer.headers["ETag"]
    told = {"If-None-Match": etag}
    again = tablet.client.get("/static/js/store.js", headers=told, buffered=True)
    assert again.status_code == 304
