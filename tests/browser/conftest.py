"""Chromium and farms for it to look at: a small one with a question in it, and an empty one.

The browser is the one that is installed (``chromium`` on the PATH, or UNSOWN_CHROMIUM). Where
there is none these tests are skipped and say so; on a machine that decides a landing (CI is set)
they fail.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, sync_playwright

import thistle
from browsing import Look, looking
from served import Served, served


def chromium() -> str:
    """The installed browser's path; without one the test is skipped, or fails in CI."""
    path = os.environ.get("UNSOWN_CHROMIUM") or shutil.which("chromium")
    if path is None:
        words = "no chromium on the PATH: apt-get install chromium, or set UNSOWN_CHROMIUM"
        if os.environ.get("CI"):
            pytest.fail(words)
        pytest.skip(words)
    return path


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    path = chromium()
    with sync_playwright() as driver:
        # the sandbox of the browser needs rights that a test machine's container has not
        made = driver.chromium.launch(executable_path=path, args=["--no-sandbox"])
        yield made
        made.close()


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
