"""What a scanned code means, and which page may look through the camera."""

from collections.abc import Callable
from typing import Any

import pytest

from app.ledger.codes import code_of
from app.ledger.stock import StockRef
from tests import builders as b
from tests.web.pages import Tablet


@pytest.fixture
def moose(given: Callable[..., Any]) -> StockRef:
    """Moose in the fridge."""
    found: StockRef = given(b.take_in)
    return found


def read(tablet: Tablet, text: str) -> dict[str, Any]:
    found: dict[str, Any] = tablet.client.get("/scan.json", query_string={"text": text}).get_json()
    return found


def test_a_labels_code_leads_to_its_lot_whatever_the_house_is_called(
    tablet: Tablet, moose: StockRef
) -> None:
    code = code_of(moose.lot_id)
    for host in ("HTTP://KITCHEN.LOCAL:8080/L", "http://192.168.1.9/l", "https://old-name.local/l"):
        assert read(tablet, f"{host}/{code}")["href"] == f"/lots/{code}"
    assert read(tablet, code)["href"] == f"/lots/{code}"


@pytest.mark.parametrize(
    "text",
    [
        "https://elsewhere.example/pay", "WIFI:S:guests;P:secret;;", "4006381333931",
        "javascript:alert(1)", "//elsewhere.example/x", "moose", "", "\x00", "x" * 5000,
        "https://elsewhere.example/l/", "BEGIN:VCARD",
    ],
)  # fmt: skip
def test_the_code_of_something_else_leads_nowhere_and_says_so(
    tablet: Tablet, moose: StockRef, text: str
) -> None:
    answer = read(tablet, text)
    assert answer["href"] == ""
    assert "the code of something else" in answer["said"]


def test_a_label_of_no_lot_says_so_and_opens_nothing(tablet: Tablet, moose: StockRef) -> None:
    far = code_of(moose.lot_id + 70_000)
    answer = read(tablet, f"http://kitchen.local/l/{far}")
    assert answer["href"] == ""
    assert f"The code {far} is of no lot in this ledger." in answer["said"]


def test_only_the_page_that_scans_may_use_the_camera(tablet: Tablet) -> None:
    for address in ("/", "/lots", "/find", "/scan.json", "/nowhere", "/write/intake"):
        policy = tablet.get(address).response.headers["Permissions-Policy"]
        assert "camera=()" in policy, address
    assert "camera=(self)" in tablet.get("/scan").response.headers["Permissions-Policy"]


def test_the_page_says_what_to_do_without_scripts(tablet: Tablet) -> None:
    page = tablet.get("/scan")
    assert "Type the code of the label instead." in page.words
    assert page.typed("q") == [""]
    scripts = [a["src"] for tag, a in page.tags if tag == "script"]
    assert any("/js/scan.js" in src for src in scripts)
    assert not any("/js/scan.js" in a.get("src", "") for _, a in tablet.get("/lots").tags)
