"""Many fixes a second -> one every half second, each the mean of its few.

At tractor speed that is about a metre: the mean of the fixes over it lies κs²/24 inside a turn,
5 mm at 9 m radius, and its quick noise is less. The rest of the engine then costs the same at
ten fixes a second as at two.
"""

from __future__ import annotations

import numpy as np

from unsown.core.words import Bools, Floats, Ints

#: Fixes closer together than the first are taken together over the second, s.
_DENSE_S, _TOGETHER_S = 0.26, 0.5


def gather(
    row: Ints,
    t_s: Floats,
    x_m: Floats,
    y_m: Floats,
    speed_m_s: Floats,
    course_rad: Floats,
    stands: Bools,
) -> tuple[Ints, Floats, Floats, Floats, Floats, Floats, Bools]:
    """The same columns, shorter where fixes are dense; all of shape (n,), times increasing.

    Speeds and courses are means of those given. First and last fix, and those that stand, are
    kept as they are. The row is that of the middle fix.
    """
    if len(t_s) < 3 or np.median(np.diff(t_s)) > _DENSE_S:
        return row, t_s, x_m, y_m, speed_m_s, course_rad, stands
    place = np.floor((t_s - t_s[0]) / _TOGETHER_S)
    alone = stands.copy()
    alone[[0, -1]] = True
    new = (np.diff(place) > 0) | alone[1:] | alone[:-1]
    first = np.flatnonzero(np.r_[True, new])
    count = np.diff(np.r_[first, len(t_s)])

    def mean(values: Floats) -> Floats:
        known = np.isfinite(values)
        total = np.add.reduceat(np.where(known, values, 0.0), first)
        number = np.add.reduceat(known.astype(np.float64), first)
        return np.where(number > 0, total / np.maximum(number, 1.0), np.nan)

    east, north = mean(np.cos(course_rad)), mean(np.sin(course_rad))
    return (
        row[first + count // 2],
        mean(t_s),
        mean(x_m),
        mean(y_m),
        mean(speed_m_s),
        np.arctan2(north, east),
        stands[first],
    )
