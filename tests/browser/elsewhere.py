"""Further chromiums: with a camera, or in another room, where plain http is not secure."""

import shutil
from collections.abc import Iterator
from contextlib import contextmanager

from playwright.sync_api import Browser

from tests.browser.conftest import ARGUMENTS

PLAIN = "kitchen.test"  # a name that no browser takes for this machine: plain http is not secure


@contextmanager
def another(browser: Browser, *arguments: str) -> Iterator[Browser]:
    """The same chromium once more, started with further arguments."""
    path = shutil.which("chromium")
    found = browser.browser_type.launch(executable_path=path, args=[*ARGUMENTS, *arguments])
    yield found
    found.close()


@contextmanager
def in_another_room(browser: Browser) -> Iterator[Browser]:
    """One that reaches this machine by that name."""
    with another(browser, f"--host-resolver-rules=MAP {PLAIN} 127.0.0.1") as found:
        yield found


def by_name(address: str) -> str:
    """The same address, with that name."""
    return address.replace("127.0.0.1", PLAIN)
