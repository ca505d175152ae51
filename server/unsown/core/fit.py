"""What does not fit together: the card's width with the runs, the runs with the paddock."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from scipy.spatial import cKDTree

from unsown.core.picture import Stretch
from unsown.core.samples import AGO_S, SAMPLE_M, samples
from unsown.core.words import Floats, Tally

#: Neighbours are looked for this far to the side, in widths of the card; nearer is the same run.
_REACH, _SAME = 2.5, 0.3
#: Runs side by side differ in heading by less than this, rad.
_SIDE_RAD = 0.17
#: So much of all neighbours must lie within this part of the middle distance, and be so many.
_MOST, _WITHIN, _FEWEST = 0.5, 0.1, 60
#: Distances in widths that no driving by eye explains. From the upper end on every second run may
#: still be to come.
_CLOSE, _WIDE, _SKIPPED = 0.72, 1.2, 1.8
#: With less of what was swept inside, the boundary is of somewhere else.
_INSIDE = 0.05


def spacing(stretches: Sequence[Stretch]) -> list[str]:
    """A note where most neighbouring runs lie apart by another width than the card's."""
    widths = {x.width_m for x in stretches}
    if len(widths) != 1:
        return []
    (width,) = widths
    apart = _apart(stretches, width)
    if len(apart) < _FEWEST:
        return []
    middle = float(np.median(apart))
    ratio = middle / width
    alike = float(np.mean(np.abs(apart / middle - 1) < _WITHIN))
    if alike < _MOST or _CLOSE < ratio < _WIDE or ratio > _SKIPPED:
        return []
    return [
        f"most neighbouring runs lie about {middle:.2g} m apart, but the rig card says {width:g} m"
        " wide: check the width on the card"
    ]


def _apart(stretches: Sequence[Stretch], width_m: float) -> Floats:
    """Metres from each sample to the nearest run beside it, one value a side that has one."""
    s = samples([(x.run, x.leg, x.middle_m, x.width_m, x.poses) for x in stretches])
    places = np.c_[s.x_m, s.y_m]
    if not len(places):
        return np.zeros(0)
    pairs = cKDTree(places).query_pairs(_REACH * width_m, output_type="ndarray")
    a, b = np.r_[pairs[:, 0], pairs[:, 1]], np.r_[pairs[:, 1], pairs[:, 0]]
    turn = s.heading_rad[b] - s.heading_rad[a]
    dx, dy = (places[b] - places[a]).T
    cos, sin = np.cos(s.heading_rad[a]), np.sin(s.heading_rad[a])
    along, side = dx * cos + dy * sin, dy * cos - dx * sin
    beside = (np.abs(np.sin(turn)) < np.sin(_SIDE_RAD)) & (np.abs(along) <= SAMPLE_M)
    beside &= (np.abs(side) > _SAME * width_m) & (np.abs(s.t_s[b] - s.t_s[a]) > AGO_S)
    nearest = np.full((len(s), 2), np.inf)
    np.minimum.at(nearest, (a[beside], (side[beside] > 0).astype(int)), np.abs(side[beside]))
    found: Floats = nearest[np.isfinite(nearest)]
    return found


def elsewhere(tally: Tally) -> list[str]:
    """A note where next to nothing of what was sown lies in the paddock."""
    inside = tally.swept_ha - tally.outside_ha
    if tally.outside_ha <= 0 or inside > _INSIDE * tally.swept_ha:
        return []
    return [
        f"{tally.outside_ha:.2f} of {tally.swept_ha:.2f} ha swept with the tool down lie outside"
        " this paddock: give the paddock that was sown, or mend its boundary"
    ]
