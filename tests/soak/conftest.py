"""The quick tests of this folder run always: only the mark makes a test long, not the folder."""

from __future__ import annotations

from pathlib import Path

import pytest

HERE = Path(__file__).parent


@pytest.hookimpl(trylast=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Take the skip off again that tests get for lying in a folder named like the mark."""
    for item in items:
        if HERE in item.path.parents and item.get_closest_marker("soak") is None:
            item.own_markers = [
                m for m in item.own_markers if "long count" not in str(m.kwargs.get("reason"))
            ]
