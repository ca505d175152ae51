"""Hours in the paddock, and those that the rest takes."""

from __future__ import annotations

from dataclasses import fields as columns
from dataclasses import replace

import numpy as np
import pytest

from unsown.core.day import find
from unsown.service.calendar import Calendar
from unsown.service.hours import hours
from unsown.sim import day


def test_the_rest_of_a_long_day_is_told_with_its_spread() -> None:
    made = day(41, rig="demo", preset="none", area_ha=20.0)
    fixes, t0 = made.log.fixes, int(made.log.fixes.t_ms.min())
    until = t0 + 0.7 * (int(fixes.t_ms.max()) - t0)
    keep = fixes.t_ms <= until
    some = {f.name: getattr(fixes, f.name)[keep] for f in columns(fixes) if f.name != "phones"}
    marks = tuple(m for m in made.log.marks if m.t_ms <= until)
    log = replace(made.log, fixes=replace(fixes, **some), marks=marks)
    found = find(log, made.paddock, [made.rig])
    pace = found[0].sown_ha / found[0].hours
    told = hours(log, found, np.arange(keep.sum()), Calendar("UTC", "04:00"), 8.4, 2.2, pace)
    assert told is not None
    assert 0.1 * 20 < told["rest_ha"] < 0.5 * 20
    assert told["rest_h"] == pytest.approx(told["rest_ha"] / pace, abs=0.01)
    assert 0.01 * told["rest_h"] < told["rest_spread_h"] < 0.6 * told["rest_h"]
