"""Options of the test run: ``--soak`` adds the long counts that ``make soak`` makes."""

from __future__ import annotations

import os

# before numpy is loaded anywhere: its threads only wait for each other on small systems
for _threads in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(_threads, "1")

from collections.abc import Iterator  # noqa: E402

import pytest  # noqa: E402
from playwright.sync_api import Playwright, sync_playwright  # noqa: E402


@pytest.fixture(scope="session")
def driver() -> Iterator[Playwright]:
    """What drives browsers: one for the whole run, since two cannot run beside each other."""
    with sync_playwright() as made:
        yield made


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--soak", action="store_true", help="run the long counts too")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    if config.getoption("--soak"):
        return
    skip = pytest.mark.skip(reason="a long count: make soak runs it")
    for item in items:
        if item.get_closest_marker("soak"):
            item.add_marker(skip)
