"""Who may come in: each line of the threat model that has to do with names, devices and codes."""

import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from flask import Flask
from flask.testing import FlaskClient
from jinja2 import FileSystemBytecodeCache
from sqlalchemy import select

from app.ledger.codes import code_of
from app.ledger.devices import TRIES, devices, new_code
from app.ledger.models import Device, PairingCode
from app.settings import EVERY_INTERFACE
from app.web.entrance import COOKIE
from app.web.factory import create_app
from tests import builders
from tests.databases import Shelf
from tests.web.conftest import HandClock

HERE, PHONE = {"REMOTE_ADDR": "127.0.0.1"}, {"REMOTE_ADDR": "192.168.1.23"}
AT_HOME = {"Host": "192.168.1.10:8765"}


@pytest.fixture
def lan(
    furnished_file: Path, shelf: Shelf, clock: HandClock, templates: FileSystemBytecodeCache
) -> Iterator[Flask]:
    """The application as `--lan` opens it, with some food."""
    told = shelf.settings(furnished_file)
    settings = replace(told, host=EVERY_INTERFACE, names=("larder.home.arpa",))
    app = create_app(settings, clock)
    app.testing = True
    app.jinja_env.bytecode_cache = templates
    with app.extensions["stillroom.book"].writing() as session:
        builders.take_in(session)
    yield app
    app.extensions["stillroom.book"].close()


@pytest.fixture
def phone(lan: Flask) -> FlaskClient:
    client = lan.test_client()
    client.environ_base.update(PHONE)
    return client


def code_for(app: Flask, clock: HandClock) -> str:
    with app.extensions["stillroom.book"].writing() as session:
        return new_code(session, at=clock())


def token_on(page: str) -> str:
    found = re.search(r'name="csrf_token"[^>]*value="([^"]+)"', page)
    assert found is not None
    return found[1]


def send_code(client: FlaskClient, code: str, name: str = "Tablet") -> int:
    page = client.get("/pair", headers=AT_HOME).get_data(as_text=True)
    sent = {"csrf_token": token_on(page), "code": code, "name": name}
    return client.post("/pair", data=sent, headers=AT_HOME).status_code


def test_this_computer_needs_no_pairing(lan: Flask) -> None:
    client = lan.test_client()
    client.environ_base.update(HERE)
    assert client.get("/", headers={"Host": "localhost:8765"}).status_code == 200


def test_an_unpaired_device_is_led_to_pairing_and_reads_nothing(phone: FlaskClient) -> None:
    for address in ("/", "/lots", "/history", "/household/devices", "/labels.pdf?lot=0010H"):
        answer = phone.get(address, headers=AT_HOME)
        assert (answer.status_code, answer.location) == (303, "/pair"), address


def test_an_unpaired_device_writes_nothing(phone: FlaskClient, lan: Flask) -> None:
    answer = phone.post("/write/eat", data={"x": "y"}, headers=AT_HOME)
    assert answer.status_code == 403
    assert "not paired" in answer.get_data(as_text=True)
    assert phone.post("/household/devices/code", headers=AT_HOME).status_code == 403
    with lan.extensions["stillroom.book"].reading() as session:
        assert session.scalar(select(PairingCode)) is None


def test_a_code_pairs_one_device_once(lan: Flask, phone: FlaskClient, clock: HandClock) -> None:
    code = code_for(lan, clock)
    assert send_code(phone, f"{code[:4]} {code[4:]}") == 303
    assert phone.get("/", headers=AT_HOME).status_code == 200
    other = lan.test_client()
    other.environ_base.update(PHONE)
    assert send_code(other, code) == 422
    assert other.get("/", headers=AT_HOME).status_code == 303


def test_the_cookie_is_kept_from_scripts_and_other_sites(
    lan: Flask, phone: FlaskClient, clock: HandClock
) -> None:
    page = phone.get("/pair", headers=AT_HOME).get_data(as_text=True)
    sent = {"csrf_token": token_on(page), "code": code_for(lan, clock), "name": "Tablet"}
    answer = phone.post("/pair", data=sent, headers=AT_HOME)
    (cookie,) = [c for c in answer.headers.getlist("Set-Cookie") if c.startswith(COOKIE)]
    assert "HttpOnly" in cookie
    assert "SameSite=Lax" in cookie
    with lan.extensions["stillroom.book"].reading() as session:
        (device,) = devices(session)
        assert device.token_sha256 not in cookie  # the file holds no key that would open the door
        assert device.name == "Tablet"


def test_a_code_is_void_after_some_wrong_tries(
    lan: Flask, phone: FlaskClient, clock: HandClock
) -> None:
    code = code_for(lan, clock)
    wrong = "00000000" if code != "00000000" else "11111111"
    for _ in range(TRIES):
        assert send_code(phone, wrong) == 422
    assert send_code(phone, code) == 422


def test_a_code_is_void_after_ten_minutes(lan: Flask, phone: FlaskClient, clock: HandClock) -> None:
    code = code_for(lan, clock)
    clock.now += timedelta(minutes=10, seconds=1)
    assert send_code(phone, code) == 422


def test_a_new_code_voids_the_one_before(lan: Flask, phone: FlaskClient, clock: HandClock) -> None:
    first = code_for(lan, clock)
    code_for(lan, clock)
    assert send_code(phone, first) == 422


def test_a_removed_device_is_shut_out_at_once(
    lan: Flask, phone: FlaskClient, clock: HandClock
) -> None:
    send_code(phone, code_for(lan, clock))
    server = lan.test_client()
    server.environ_base.update(HERE)
    page = server.get("/household/devices").get_data(as_text=True)
    assert "Tablet" in page
    server.post("/household/devices/1/remove", data={"csrf_token": token_on(page)})
    assert phone.get("/", headers=AT_HOME).status_code == 303
    with lan.extensions["stillroom.book"].reading() as session:
        assert session.scalars(select(Device)).all() == []


def test_pairing_needs_the_token_of_its_own_page(
    lan: Flask, phone: FlaskClient, clock: HandClock
) -> None:
    sent = {"code": code_for(lan, clock), "name": "Forged"}
    assert phone.post("/pair", data=sent, headers=AT_HOME).status_code == 422
    assert phone.get("/", headers=AT_HOME).status_code == 303


def test_an_unpaired_phone_sees_of_a_label_what_stands_on_it_and_no_way_further(
    phone: FlaskClient,
) -> None:
    page = phone.get(f"/l/{code_of(1)}", headers=AT_HOME)
    words = page.get_data(as_text=True)
    assert page.status_code == 200
    assert "Moose trim" in words
    assert "RAW" in words.upper()
    links = set(re.findall(r'href="(/[^"]*)"', words))
    assert {link for link in links if not link.startswith("/static/")} == {"/pair"}
    assert phone.get("/l/ZZZZZ", headers=AT_HOME).status_code == 404


@pytest.mark.parametrize("host", ["evil.example", "127.0.0.1.evil.example", "", "[::1].example"])
def test_a_name_that_is_not_ours_is_refused_even_from_this_computer(lan: Flask, host: str) -> None:
    client = lan.test_client()
    client.environ_base.update(HERE)
    assert client.get("/", headers={"Host": host}).status_code in (400, 421)


@pytest.mark.parametrize(
    "host", ["localhost:8765", "127.0.0.1:8765", "[::1]:8765", "larder.home.arpa:8765"]
)
def test_our_own_names_and_bare_addresses_are_known(lan: Flask, host: str) -> None:
    client = lan.test_client()
    client.environ_base.update(HERE)
    assert client.get("/", headers={"Host": host}).status_code == 200


def test_by_default_only_local_names_are_known(app: Flask) -> None:
    client = app.test_client()
    assert client.get("/", headers={"Host": "larder.home.arpa"}).status_code == 421
