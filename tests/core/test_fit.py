"""What of a day does not fit together is said; what fits is not."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tallies import day
from unsown.core.cover import Poses
from unsown.core.fit import elsewhere, spacing
from unsown.core.picture import Stretch


def rows(apart_m: float, card_m: float, count: int = 8) -> list[Stretch]:
    """Runs of 300 m east and west in turn, wavering a little by a fixed generator."""
    rng = np.random.default_rng(3)
    way = np.arange(0.0, 300.0, 2.0)
    out = []
    for k in range(count):
        back = k % 2 == 1
        x = way[::-1] if back else way
        y = np.full(len(way), k * apart_m) + rng.normal(0, 0.15)
        heading = np.full(len(way), np.pi if back else 0.0)
        poses = Poses(400.0 * k + way / 2, x, y, heading, way)
        out.append(Stretch(k, 0, 0.0, 0.0, card_m, poses))
    return out


@pytest.mark.parametrize(("apart", "card", "says"), [(17.6, 12.0, "18 m"), (11.7, 18.0, "12 m")])
def test_runs_that_lie_apart_by_another_width_than_the_card_s_are_said(apart, card, says):
    (note,) = spacing(rows(apart, card))
    assert f"about {says} apart" in note
    assert f"the rig card says {card:g} m" in note


@pytest.mark.parametrize(("apart", "card"), [(11.7, 12.0), (12.9, 12.0), (10.0, 12.0)])
def test_runs_driven_by_eye_with_a_right_card_say_nothing(apart, card):
    assert spacing(rows(apart, card)) == []


def test_every_second_run_still_to_come_is_no_wrong_width():
    assert spacing(rows(23.5, 12.0)) == []


def test_some_runs_missed_among_others_are_no_wrong_width():
    some = rows(11.7, 12.0, 12)
    assert spacing([x for k, x in enumerate(some) if k not in (3, 7)]) == []


def test_too_few_runs_or_none_or_two_widths_say_nothing():
    assert spacing(rows(17.6, 12.0, 2)) == []
    assert spacing([]) == []
    mixed = rows(17.6, 12.0)
    assert spacing([replace(mixed[0], width_m=9.0), *mixed[1:]]) == []


def test_a_day_swept_outside_the_paddock_is_said_and_one_beside_its_fence_is_not():
    made = day()
    (note,) = elsewhere(replace(made, swept_ha=23.3, outside_ha=23.27))
    assert "23.27 of 23.30 ha swept" in note
    assert elsewhere(replace(made, swept_ha=23.3, outside_ha=2.0)) == []
    assert elsewhere(replace(made, swept_ha=0.0, outside_ha=0.0)) == []
