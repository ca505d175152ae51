"""Chromium and farms for it to look at: a small one with a question in it, and an empty one.

The browser is the one that is installed (``chromium`` on the PATH, or UNSOWN_CHROMIUM). Where
there is none these tests are skipped and say so; on a machine that decides a landing (CI is set)
they fail.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Playwright, expect

import cabs
import thistle
from browsing import WAIT_MS, Look, looking
from handset import Handset, chromium
from onboard import Onboard, installed
from served import Served, served

# a busy machine counts a small day in more than the five seconds that are the library's own
expect.set_options(timeout=WAIT_MS)


@pytest.fixture(scope="session")
def browser(driver: Playwright) -> Iterator[Browser]:
    # the sandbox of the browser needs rights that a test machine's container has not
    made = driver.chromium.launch(executable_path=chromium(), args=["--no-sandbox"])
    yield made
    made.close()


@pytest.fixture(scope="session")
def trial(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The built pages with a phone's page that lets tests at what its pages are given."""
    return cabs.trial(tmp_path_factory.mktemp("static"))


@pytest.fixture
def cab(tmp_path: Path, trial: Path) -> Iterator[cabs.Cab]:
    """A farm with one paddock and one rig card, and its service, in this process."""
    with cabs.served(tmp_path / "farm", trial) as made:
        yield made


@pytest.fixture(scope="module")
def phone(
    browser: Browser, trial: Path, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Onboard]:
    """A phone with a farm pack whose home is gone; every drive of it begins with an empty log."""
    folder = tmp_path_factory.mktemp("phone")
    with cabs.served(folder / "farm", trial) as cab, installed(browser, cab, folder) as ready:
        yield ready


@pytest.fixture
def handset(driver: Playwright, tmp_path: Path) -> Iterator[Handset]:
    """A phone's browser whose profile outlives it."""
    made = Handset(driver, chromium(), tmp_path / "profile")
    yield made
    made.kill()


@pytest.fixture(scope="session")
def house(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """The small farm, served and computed; tests leave it as they found it."""
    folder = tmp_path_factory.mktemp("farm")
    thistle.put_in(folder)
    with served(folder) as made:
        thistle.settled(made)
        yield made


@pytest.fixture
def empty(tmp_path: Path) -> Iterator[Served]:
    """A house in which nobody has done anything yet."""
    with served(tmp_path) as made:
        yield made


@pytest.fixture(scope="session")
def workshop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """A house to make things in; nobody may count on what else is there."""
    with served(tmp_path_factory.mktemp("workshop")) as made:
        yield made


@pytest.fixture
def look(browser: Browser) -> Iterator[Look]:
    """Opens a page: ``look(house, "/desk", width=360)``; nothing may be said on its console."""
    with looking(browser) as open_at:
        yield open_at
