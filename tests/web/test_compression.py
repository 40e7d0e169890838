"""What is sent is small where its length betrays nothing, and whole for who cannot unpack it."""

import gzip

import pytest
from werkzeug.test import TestResponse

from app.web.compression import LEAST_BYTES
from app.web.factory import static_url
from tests.web.pages import Tablet

PAGE, SHEET, SCRIPT = "/write/intake", static_url("css/page.css"), "/static/js/words.js"
FONT = "/static/fonts/Literata-latin.woff2"
HTTPS = "https://localhost"


def ask(
    tablet: Tablet, path: str, *, base: str = "http://localhost", **headers: str
) -> TestResponse:
    named = {name.replace("_", "-"): value for name, value in headers.items()}
    told = {"Accept-Encoding": "gzip"} | named
    return tablet.client.get(path, base_url=base, headers=told, buffered=True)


def is_packed(answer: TestResponse) -> bool:
    assert answer.status_code == 200
    if answer.headers.get("Content-Encoding") != "gzip":
        return False
    assert gzip.decompress(answer.data)
    assert int(answer.headers["Content-Length"]) == len(answer.data)
    return True


@pytest.mark.parametrize("path", [PAGE, SHEET, "/find.json?q=moose"])
def test_an_answer_unpacks_to_what_is_sent_whole_to_others(tablet: Tablet, path: str) -> None:
    packed, whole = ask(tablet, path), ask(tablet, path, Accept_Encoding="identity")
    assert whole.headers.get("Content-Encoding") is None
    for answer in (packed, whole):
        assert "Accept-Encoding" in answer.headers["Vary"]
    if len(whole.data) >= LEAST_BYTES:
        assert is_packed(packed)
        assert len(packed.data) < len(whole.data) / 2
    if path == SHEET:  # a page has a new key each time
        assert gzip.decompress(packed.data) == whole.data


@pytest.mark.parametrize("refused", ["gzip;q=0", "identity", "br"])
def test_who_does_not_take_gzip_is_not_sent_it(tablet: Tablet, refused: str) -> None:
    assert not is_packed(ask(tablet, PAGE, Accept_Encoding=refused))


@pytest.mark.parametrize(
    ("base", "asked_by", "packed"),
    [
        (HTTPS, "same-origin", True),
        (HTTPS, "none", True),
        (HTTPS, "cross-site", False),
        (HTTPS, "same-site", False),  # another port of this machine is another program
        (HTTPS, "", False),  # a browser that does not say
        ("http://localhost", "", True),  # no secret on the way to betray
        ("http://localhost", "cross-site", False),  # a proxy in front may speak https
    ],
)
def test_the_length_of_a_page_another_site_asked_for_betrays_nothing(
    tablet: Tablet, base: str, asked_by: str, packed: bool
) -> None:
    for path in (PAGE, "/find?q=moose", "/nowhere"):
        answer = ask(tablet, path, base=base, **({"Sec_Fetch_Site": asked_by} if asked_by else {}))
        assert (answer.headers.get("Content-Encoding") == "gzip") == packed
    assert is_packed(ask(tablet, SHEET, base=base, Sec_Fetch_Site="cross-site"))  # holds no secret


def test_letters_guessed_by_another_site_do_not_show_in_the_length(tablet: Tablet) -> None:
    """The attack itself: a search's page repeats what was asked, beside what else it says."""
    on_the_page = "width=device-width"

    def lengths(asked_by: str) -> set[int]:
        guesses = (on_the_page, on_the_page[::-1])
        pages = [ask(tablet, f"/find?q={g}", base=HTTPS, Sec_Fetch_Site=asked_by) for g in guesses]
        assert all(g in p.text for g, p in zip(guesses, pages, strict=True) if not is_packed(p))
        return {int(page.headers["Content-Length"]) for page in pages}

    assert len(lengths("none")) == 2  # packed, it would show
    assert len(lengths("cross-site")) == 1


def test_short_answers_fonts_and_parts_are_left_as_they_are(tablet: Tablet) -> None:
    for path in (SCRIPT, FONT):
        assert not is_packed(ask(tablet, path))
    part = ask(tablet, SHEET, Range="bytes=0-2000")
    assert part.status_code == 206
    assert part.headers.get("Content-Encoding") is None
    assert len(part.data) == 2001


def test_a_file_is_kept_as_long_as_its_address_names_its_content(tablet: Tablet) -> None:
    for path in (SHEET, FONT):
        assert ask(tablet, path).headers["Cache-Control"].endswith("immutable")
    for path in (SCRIPT, "/static/css/page.css", "/static/css/page.css?v=ofanotherday"):
        assert "immutable" not in ask(tablet, path).headers.get("Cache-Control", "")
    assert ask(tablet, "/static/css/none.css?v=1").status_code == 404


def test_a_packed_file_is_known_again_by_its_tag(tablet: Tablet) -> None:
    tag = ask(tablet, "/static/css/page.css").headers["ETag"]
    assert tag.startswith("W/")
    assert ask(tablet, "/static/css/page.css", If_None_Match=tag).status_code == 304
