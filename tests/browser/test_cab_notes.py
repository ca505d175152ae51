"""What of a day does not fit together is said at the gate, with no home to say it."""

from __future__ import annotations

import re
import time
from pathlib import Path

from playwright.sync_api import Browser, expect

import smallday
from browsing import too_wide, violations
from cabs import Cab
from handing import day, phones

#: Rows of 8 m are driven closer by this; the clock ran an hour ahead until the fourth ended.
CLOSER, AHEAD_MS, UNTIL = 2 / 3, 3_600_000, 3


def test_a_width_that_does_not_fit_and_a_clock_that_was_set_are_said_at_the_gate(
    browser: Browser, cab: Cab, tmp_path: Path
) -> None:
    made = day()
    plane, ups = smallday.PLANE, [k for k, e in enumerate(made) if e.get("lever") == "up"]
    for k, entry in enumerate(made):
        if entry["kind"] == "fix":
            (x,), (y,) = plane.to_xy([entry["lon_deg"]], [entry["lat_deg"]])
            (lon,), (lat,) = plane.to_degrees([float(x)], [float(y) * CLOSER])
            entry |= {"lon_deg": float(lon), "lat_deg": float(lat)}
        if k <= ups[UNTIL]:
            entry["t_ms"] += AHEAD_MS
    with phones(browser, tmp_path) as (phone, _):
        phone.begin(cab)
        cab.go()
        phone.context.set_offline(True)
        phone.write([*made, {**made[-2], "t_ms": round(time.time() * 1000)}])
        page = phone.page
        page.set_viewport_size({"width": 360, "height": 640})
        phone.to("gate")
        expect(page.locator("#foot")).to_be_visible(timeout=60_000)
        said = page.locator(".said").first.inner_text().replace("\u00a0", " ")
        assert said.startswith("Most runs lie about 5 m apart, but the rig card says 8.0 m")
        asof = page.locator("#asof").inner_text().replace("\u00a0", " ")
        assert re.search(r"At \d\d:\d\d the clock was set back by 60 minutes", asof)
        assert too_wide(page) == []
        assert violations(page) == []
