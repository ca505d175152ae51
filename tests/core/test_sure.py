"""How sure: what the draws make of long strips, of patches and of the total."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose
from shapely.geometry import box

from unsown.core.cover import EMPTY, Poses
from unsown.core.picture import Picture, Stretch
from unsown.core.samples import samples
from unsown.core.sure import Sure, count_draws, nearer

#: Two runs of 300 m, 9 m wide, with a strip of 3 m bare between them.
NET, STRIP = box(0, 0, 300, 21), box(0, 9, 300, 12)


def picture(draws: int, tau_s: float = 100.0) -> Picture:
    """The two runs at 2 m/s as believed, drift 0.8 m, in draws that all agree."""
    stretches = []
    for run, y in enumerate((4.5, 16.5)):
        way = np.arange(0.0, 301.0, 2.0)
        poses = Poses(400.0 * run + way / 2, way, np.full(151, y), np.zeros(151), way)
        stretches.append(Stretch(run, 0, 0.0, 0.0, 9.0, poses))
    s = samples([(x.run, x.leg, x.middle_m, x.width_m, x.poses) for x in stretches])
    none, zero = np.zeros((draws, len(s))), np.zeros(len(s))
    return Picture(tuple(stretches), s, none, none, {"tau_s": tau_s}, 0.8, zero, zero)


def counted(p: Picture, most: float) -> Sure:
    rng = np.random.default_rng(1)
    return count_draws(p, NET, EMPTY, 900.0, [STRIP], np.array([most]), rng, lambda part: None)


@pytest.mark.parametrize("most", [0.0, 0.25, 0.5, 1.0])
def test_a_strip_is_there_in_as_many_draws_as_its_width_lets_be_believed(most: float) -> None:
    sure = counted(picture(40), most)
    assert_allclose(np.mean(sure.bare_m2 > 450), most)
    assert_allclose(sure.chances, [most])
    assert_allclose(sure.picture_m2, most * 900.0, atol=1.0)
    assert_allclose(sure.best_m2, most * 900.0, rtol=0.02, atol=1.0)


def test_the_band_reaches_from_a_doubtful_strip_left_out_to_the_strip_kept() -> None:
    low, high = counted(picture(40), 0.5).band_m2
    assert low == 0.0
    assert high >= 900.0


def test_a_patch_half_covered_in_a_draw_is_not_there_in_a_settled_picture() -> None:
    p = picture(20)
    aside = np.where(p.samples.run == 0, 1.2, 0.0) * np.ones((20, 1))
    for info, chance in ((p.info, 0.0), (None, 1.0)):
        moved = replace(p, north_draws=aside, info=info)
        assert_allclose(counted(moved, 1.0).chances, [chance])


def test_drift_leaves_less_of_a_gap_the_longer_it_has_time_to_wander() -> None:
    p = picture(1)
    assert_allclose(p.gap_m(1.0), np.sqrt(2) * 0.8, rtol=0.01)
    # far longer than the drift lasts: the variance of a mean is 2 tau / T of the drift's own
    assert_allclose(p.gap_m(40_000.0), np.sqrt(2) * 0.8 * np.sqrt(2 * 100 / 20_000), rtol=0.01)
    assert replace(p, info=None).gap_m(100.0) == 0.0


@pytest.mark.parametrize("width_m", [1.0, 3.0, 12.0])
def test_a_strip_beside_doubt_is_no_surer_than_the_border_of_the_doubt(width_m: float) -> None:
    # once the doubt lay where the picture has it in every draw, and slivers between two strips of
    # doubt were called surely bare, half of them sown
    p = picture(80)
    doubt, strip = box(0, 9 + width_m, 300, 25), box(0, 9, 300, 9 + width_m)
    net = box(0, 0, 300, 25)
    p = replace(p, stretches=p.stretches[:1])

    def chance(of: Picture) -> float:
        rng = np.random.default_rng(1)
        most, vague = np.ones(1), nearer(doubt, of)
        sure = count_draws(
            *(of, net, doubt, 300 * width_m, [strip], most, rng, lambda part: None), vague=vague
        )
        assert_allclose(sure.bare_m2, 300 * width_m, rtol=1e-6)  # as much may lie beyond it
        return float(sure.chances[0])

    # a third of it lies within the pushed border at 0.39, 1.25 and 5 spreads of 0.8 m
    assert chance(p) == pytest.approx({1.0: 5 / 8, 3.0: 7 / 8, 12.0: 1.0}[width_m])
    assert chance(replace(p, info=None)) == 1.0


def test_where_nothing_is_doubt_nothing_is_nearer() -> None:
    assert nearer(EMPTY, picture(2)) == []
