"""Nothing that was acknowledged is lost, however the browser dies."""

from __future__ import annotations

import json
import random
import time

import pytest
from playwright.sync_api import Page

from cabs import Cab
from handset import Handset, until

#: Logs at a rate until it dies: says every number once it is acknowledged, with what was written.
LOGS = """([ms, burst, from]) => {
  const log = window.unsown.cab.get().keeper;
  let n = from;
  const once = () => {
    const t_ms = 1777636800000 + n;
    const entry = n % 7 === 3
      ? {kind: 'lever', t_ms, lever: n % 2 ? 'down' : 'up', how: 'pad'}
      : {kind: 'fix', t_ms, lat_deg: 49.73 + n * 1e-7, lon_deg: -106.21, acc_m: 2.5};
    n += 1;
    log.append(entry).then(
      seq => console.log('ack ' + seq + ' ' + t_ms),
      error => console.log('lost ' + error));
  };
  for (let i = 0; i < burst; i++) once();
  setInterval(once, ms);
}"""
READ = "async () => (await window.unsown.cab.get().keeper.export()).text()"
READY = "window.unsown && window.unsown.cab.get().keeper && window.unsown.cab.get().writes"


def opened(handset: Handset, url: str) -> Page:
    page = handset.start(url)
    until(page, READY)
    return page


def lines(page: Page) -> list[dict[str, object]]:
    return [json.loads(line) for line in page.evaluate(READ).splitlines()]


def killed(
    cab: Cab, handset: Handset, times: int, rates_ms: tuple[int, ...], chance: random.Random
) -> int:
    """Logs and kills again and again on one profile; how many entries were acknowledged in all."""
    acknowledged: dict[int, int] = {}
    for round_ in range(times):
        page = opened(handset, cab.url)
        said: list[str] = []
        page.on("console", lambda message, said=said: said.append(message.text))
        burst = chance.randrange(0, 700) if round_ % 2 else 0
        page.evaluate(LOGS, [rates_ms[round_ % len(rates_ms)], burst, 1_000_000 * round_])
        page.wait_for_timeout(chance.uniform(300, 3_000))
        handset.kill()
        assert not [text for text in said if text.startswith("lost")]
        new = {int(s.split()[1]): int(s.split()[2]) for s in said if s.startswith("ack ")}
        assert not new.keys() & acknowledged.keys(), "a number was given twice"
        acknowledged |= new
    page = opened(handset, cab.url)
    kept = lines(page)
    assert [entry["seq"] for entry in kept] == list(range(1, len(kept) + 1))
    held = {int(str(entry["seq"])): entry["t_ms"] for entry in kept}
    wrong = {seq for seq, t_ms in acknowledged.items() if held.get(seq) != t_ms}
    assert not wrong, (
        f"{len(wrong)} of {len(acknowledged)} acknowledged entries are gone or changed"
    )
    return len(acknowledged)


def test_no_acknowledged_entry_is_lost_when_the_browser_is_killed(
    cab: Cab, handset: Handset
) -> None:
    acknowledged = killed(cab, handset, 5, (1_000, 100), random.Random(5))
    assert acknowledged > 100


@pytest.mark.soak
def test_no_acknowledged_entry_is_lost_in_a_hundred_kills(cab: Cab, handset: Handset) -> None:
    seed = time.time_ns()
    print(f"seed {seed}")
    assert killed(cab, handset, 100, (1_000, 100), random.Random(seed)) > 1_000
