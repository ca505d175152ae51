"""The page stays with whoever touches it while a day is counted, however much the log holds.

Measured is what the page's own thread had of a processor, against a loop in the same run: neither
a busy machine nor a slow one shows in it.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

import cabs
import fields
from gates import counted
from onboard import Onboard, installed
from traced import traced
from unsown.sim import SimDay, day

#: Seeds that nothing is tuned on.
DAY = {"seed": 347, "rig": "demo", "preset": "typical", "area_ha": 5.0}
#: A hundred million products of pairs out of eight megabytes.
LOOP = """() => {
  const values = new Float64Array(1 << 20).map((_, i) => Math.sin(i));
  let sum = 0;
  for (let round = 0; round < 100; round++)
    for (let i = 0; i < values.length; i++) sum += values[i] * values[i ^ round];
  return sum;
}"""
#: Eleven hours of another rig a degree away and a week before: a tap a minute, its clock set back
#: by five minutes at noon.
ELSEWHERE = """async at => {
  const lines = [];
  const say = row => lines.push({v: 1, dev: 'elsewhere', seq: lines.length + 1, ...row});
  for (let k = 0; k < 40_000; k++) {
    const t_ms = at.t_ms + 1000 * k - (k < 20_000 ? 0 : 300_000);
    say({t_ms, kind: 'fix', lat_deg: at.lat_deg + k * 1.8e-5, lon_deg: at.lon_deg, acc_m: 3});
    if (k % 60 === 30) say({t_ms, kind: 'lever', lever: k % 120 === 30 ? 'down' : 'up'});
  }
  return (await window.unsown.cab.get().keeper.bring(lines)).kept;
}"""
WEEK_MS = 7 * 86_400_000


@cache
def made() -> SimDay:
    return day(**DAY)


@pytest.fixture(scope="module")
def phone(
    browser: Browser, trial: Path, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[tuple[Onboard, Path]]:
    """A phone with the day's farm pack whose home is gone, and the day as another phone's log."""
    folder = tmp_path_factory.mktemp("phone")
    pack, log = fields.write(made(), folder, None)
    with (
        cabs.served(folder / "farm", trial) as cab,
        installed(browser, cab, folder, pack) as ready,
    ):
        yield ready, log


@pytest.fixture
def page(phone: tuple[Onboard, Path]) -> Page:
    """The first page, with the day and a long one from elsewhere in the log."""
    ready, log = phone
    opened = ready.fresh(log=log)
    first = made().log.fixes
    at = {
        "t_ms": int(first.t_ms[0]) - WEEK_MS,
        "lat_deg": float(first.lat_deg[0]) + 1,
        "lon_deg": float(first.lon_deg[0]),
    }
    assert opened.evaluate(ELSEWHERE, at) == 40_667
    return opened


def test_no_task_of_the_gate_check_is_long_from_the_touch_to_the_whole_answer(page: Page) -> None:
    _, loop = traced(page, lambda: page.evaluate(LOOP))
    _, count = traced(page, lambda: counted(page))
    # a tenth of the loop when this was written
    assert 0 < count.longest < loop.longest, (count.longest, loop.longest, sorted(count.tasks)[-5:])
