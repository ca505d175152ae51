"""Options of the test run: ``--soak`` adds the long counts that ``make soak`` makes."""

from __future__ import annotations

import os

# before numpy is loaded anywhere: its threads only wait for each other on small systems
for _threads in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(_threads, "1")

import pytest  # noqa: E402


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--soak", action="store_true", help="run the long counts too")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    if config.getoption("--soak"):
        return
    skip = pytest.mark.skip(reason="a long count: make soak runs it")
    for item in items:
        if item.get_closest_marker("soak"):
            item.add_marker(skip)
