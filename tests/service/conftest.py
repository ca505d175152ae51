"""Works are computed without the rest that they are given while their log streams in."""

from __future__ import annotations

import pytest

from unsown.service import queue


@pytest.fixture(autouse=True)
def _no_rest(monkeypatch: pytest.MonkeyPatch, request: pytest.FixtureRequest) -> None:
    if request.module.__name__.endswith("test_queue"):
        return
    monkeypatch.setattr(queue, "QUIET_S", 0.05)
    monkeypatch.setattr(queue, "REST", 0.0)
