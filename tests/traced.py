"""What the page's own thread had of a processor, task by task.

Neither a busy machine nor the browser's other threads show in it, as they do by the clock.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, TypeVar

from playwright.sync_api import Page

T = TypeVar("T")
#: Said in the page where a position is taken in, so that the task is known by it.
SIGN = "a position"
CATEGORIES = ["devtools.timeline", "disabled-by-default-devtools.timeline"]


@dataclass(frozen=True)
class Traced:
    """Tasks of the page's thread, in milliseconds of that thread."""

    #: Every task while it was traced.
    tasks: list[float]
    #: The calls in which a position was taken in.
    positions: list[float]

    @property
    def whole(self) -> float:
        """All tasks together."""
        return sum(self.tasks)

    @property
    def longest(self) -> float:
        """The longest one."""
        return max(self.tasks, default=0.0)


def traced(page: Page, act: Callable[[], T]) -> tuple[T, Traced]:
    """Does something, and what the page's thread had of a processor meanwhile."""
    browser = page.context.browser
    assert browser is not None
    browser.start_tracing(page=page, categories=CATEGORIES)
    try:
        made = act()
    finally:
        told = browser.stop_tracing()
    return made, _read(json.loads(told)["traceEvents"])


def _read(events: list[dict[str, Any]]) -> Traced:
    spans = [e for e in events if e.get("ph") == "X" and "tdur" in e]
    pages = {
        (e["pid"], e["tid"])
        for e in events
        if e["name"] == "thread_name" and e["args"]["name"] == "CrRendererMain"
    }
    busy: Counter[tuple[int, int]] = Counter()
    for e in spans:
        if e["name"] == "RunTask" and (e["pid"], e["tid"]) in pages:
            busy[e["pid"], e["tid"]] += e["tdur"]
    if not busy:
        return Traced([], [])
    (page, _), *_ = busy.most_common(1)
    own = [e for e in spans if (e["pid"], e["tid"]) == page]
    signs = sorted(
        e["ts"]
        for e in events
        if e["name"] == "TimeStamp" and e["args"]["data"].get("message") == SIGN
    )
    positions = []
    for e in own:
        if e["name"] != "TimerFire":
            continue
        if any(e["ts"] <= at <= e["ts"] + e["dur"] for at in signs):
            positions.append(e["tdur"] / 1000)
    tasks = [e["tdur"] / 1000 for e in own if e["name"] == "RunTask"]
    return Traced(tasks, positions)
