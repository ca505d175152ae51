"""Days whose seams are too few to tell the drift: small paddocks, rows between others' rows."""

from __future__ import annotations

import numpy as np
import pytest
from shapely.geometry.base import BaseGeometry

from soak.judge import brought, shares
from unsown.core.day import find
from unsown.core.drift import Heard, few, learn
from unsown.core.samples import no_gaps, samples
from unsown.core.words import Tally
from unsown.sim import trial

#: A patch of which less is bare is not there.
REAL = 0.4


def small(seed: int, preset: str) -> tuple[Tally, BaseGeometry, list[float]]:
    """A day on one hectare: what is said, what is bare, how much of each sure patch."""
    day = trial(seed, area_ha=1.0, rig="demo", laps=1, keep_outs=0).logged(preset)
    tally, plane = find(day.log, day.paddock, [day.rig])
    sure = [p.outline for p in tally.patches if p.call == "sure"]
    return tally, day.truth.bare, list(shares(brought(sure, plane, day.plane), day.truth.bare))


@pytest.mark.parametrize("seed", [71101, 71106])
@pytest.mark.parametrize("preset", ["typical", "poor"])
def test_nothing_is_sure_on_a_small_paddock_that_drift_may_have_made(
    seed: int, preset: str
) -> None:
    # such a picture was once taken as it was logged, and every third sure patch was sown
    tally, bare, real = small(seed, preset)
    assert tally.settle is not None
    assert min(real, default=1.0) >= REAL
    assert tally.bare_high_ha - tally.bare_low_ha > 0.005
    assert 0.6 * tally.bare_low_ha < bare.area / 1e4 < 1.4 * tally.bare_high_ha


def test_a_track_that_does_not_wander_is_left_as_it_was_logged_though_its_seams_are_few() -> None:
    tally, bare, real = small(71101, "rtk")
    assert tally.settle is None
    assert min(real) >= REAL
    assert tally.bare_ha == pytest.approx(bare.area / 1e4, abs=0.003)


def test_without_seams_the_drift_is_as_open_as_phones_are_and_as_the_fixes_tell() -> None:
    s, none = samples([]), no_gaps()
    assert few(none)
    open_ = learn(s, none, Heard(0.1))
    assert open_.sigma_m == pytest.approx(1.0, rel=0.1)
    assert np.ptp(np.log(open_.spread[:, 0])) > np.log(10)
    assert learn(s, none, Heard(0.1, 0.01, 1e-5)).sigma_m < 0.2
    assert learn(s, none, Heard(0.1, 0.4, 0.01)).sigma_m > 1.5
    # a rate that is hardly heard says hardly anything
    assert learn(s, none, Heard(0.1, 0.01, 1.0)).sigma_m == pytest.approx(open_.sigma_m, rel=0.1)
