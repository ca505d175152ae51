"""Laws that hold whatever the day: areas add up; moved, turned, mirrored, split, doubled days."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from shapely import affinity
from shapely.geometry import Polygon, box

from drives import (
    DRAGGED,
    PLAIN,
    PLANE,
    RIGID,
    START_MS,
    WHOLE,
    Drive,
    drive,
    fixes,
    headland,
    marks,
    paddock,
    picked,
    runs,
    straight,
    sums,
    turn,
)
from unsown.core.day import find
from unsown.core.plane import Plane
from unsown.core.words import Log, PhonePlace, Rig, Tally
from unsown.formats.track import join

quick = settings(
    max_examples=12,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.too_slow],
)
few = settings(quick, max_examples=6)


@dataclass(frozen=True, repr=False)
class Small:
    """A small day on its plane: what was driven, in which ground, with which rig."""

    drive: Drive
    ground: Polygon
    rig: Rig
    told: bool

    def __repr__(self) -> str:
        ends = self.drive.x_m[-1], self.drive.y_m[-1], self.drive.levers
        return f"{self.rig.name}, told {self.told}, {len(self.drive.t_s)} fixes, ends {ends}"

    def log(self, plane: Plane = PLANE) -> Log:
        return Log(fixes(self.drive, plane, told=self.told), marks(self.drive.levers))

    def tally(self, plane: Plane = PLANE) -> Tally:
        return counted(self.log(plane), self, plane)


def counted(log: Log, small: Small, plane: Plane = PLANE) -> Tally:
    return find(log, paddock(small.ground, plane), [small.rig], PLAIN)[0]


@st.composite
def small_days(draw: st.DrawFn) -> Small:
    """A lap and a few runs up and back, some too wide apart, some ending early."""
    length = draw(st.floats(110, 200))
    count = draw(st.integers(2, 4))
    spacing = draw(st.floats(13, 22))
    radius = draw(st.floats(8, 14))
    height = count * spacing + 50.0
    parts = headland(length, height, radius)
    parts += straight(draw(st.floats(5, 30))) + turn(12.0, 90) + turn(12.0, -90)
    parts += runs(count, length - draw(st.floats(70, 95)), spacing / 2)
    bend = draw(st.floats(-np.pi, np.pi))
    d = drive(parts, at=(radius, 4.0, 0.0), speed=draw(st.sampled_from([1.5, 2.0, 2.6])))
    ground = box(0.0, 0.0, length, height + 8.0)
    rig = draw(st.sampled_from([RIGID, DRAGGED, WHOLE]))
    return turned(Small(d, ground, rig, draw(st.booleans())), bend)


def turned(small: Small, bend: float) -> Small:
    d = small.drive
    c, s = np.cos(bend), np.sin(bend)
    x, y = c * d.x_m - s * d.y_m, s * d.x_m + c * d.y_m
    moved = replace(d, x_m=x, y_m=y, heading_rad=d.heading_rad + bend)
    ground = affinity.rotate(small.ground, bend, origin=(0, 0), use_radians=True)
    return replace(small, drive=moved, ground=ground)


def mirrored(small: Small) -> Small:
    d = small.drive
    flipped = replace(d, x_m=-d.x_m, heading_rad=np.pi - d.heading_rad)
    phone = PhonePlace(small.rig.phone.ahead_of_axle_m, -small.rig.phone.left_of_centre_m)
    tool = replace(small.rig.tool, offset_left_m=-small.rig.tool.offset_left_m)
    ground = affinity.scale(small.ground, -1, 1, origin=(0, 0))
    return Small(flipped, ground, replace(small.rig, phone=phone, tool=tool), small.told)


def same_answer(a: Tally, b: Tally, *, within_m2: float = 1.0) -> None:
    for name in ("net", "sown", "part", "bare", "twice", "again", "doubt", "outside"):
        there, here = getattr(a, f"{name}_ha"), getattr(b, f"{name}_ha")
        assert abs(there - here) * 1e4 < within_m2, (name, there, here)
    assert_allclose(a.swept_ha, b.swept_ha, rtol=1e-4)
    assert_allclose(a.down_km, b.down_km, rtol=1e-4)
    ours = sorted(p.area_m2 for p in a.patches if p.area_m2 > 10)
    theirs = sorted(p.area_m2 for p in b.patches if p.area_m2 > 10)
    assert_allclose(ours, theirs, atol=within_m2)


def exactly(a: Tally, b: Tally) -> None:
    for name in ("net", "sown", "part", "bare", "twice", "again", "doubt", "swept"):
        assert getattr(a, f"{name}_ha") == getattr(b, f"{name}_ha"), name
    assert [p.area_m2 for p in a.patches] == [p.area_m2 for p in b.patches]
    assert a.runs == b.runs


@quick
@given(small_days())
def test_areas_add_up(small: Small) -> None:
    t = small.tally()
    assert abs(sums(t)) < 1.0
    assert t.again_ha >= t.twice_ha - 1e-9
    assert t.sown_ha <= t.net_ha
    # what was swept lies somewhere: once, again, or outside
    laid = t.sown_ha + t.part_ha + t.outside_ha + t.again_ha
    assert t.swept_ha * 0.97 < laid < t.swept_ha * 1.06
    assert sum(p.area_m2 for p in t.patches) / 1e4 <= t.bare_ha + 1e-9


@quick
@given(small_days())
def test_a_mirrored_day_is_the_same_day(small: Small) -> None:
    same_answer(small.tally(), mirrored(small).tally())


@quick
@given(small_days(), st.floats(-3.1, 3.1))
def test_a_turned_day_is_the_same_day(small: Small, bend: float) -> None:
    same_answer(small.tally(), turned(small, bend).tally())


@quick
@given(
    small_days(),
    st.sampled_from([(-33.9, 151.0), (49.73, 180.0), (-16.5, -179.9995), (0.0, 0.0), (64.0, 21.0)]),
)
def test_a_day_moved_to_another_place_is_the_same_day(
    small: Small, place: tuple[float, float]
) -> None:
    same_answer(small.tally(), small.tally(Plane(*place)))


@few
@given(small_days(), st.integers(-(10**9), 10**9))
def test_a_day_at_another_time_is_the_same_day(small: Small, later_ms: int) -> None:
    log = small.log()
    moved = Log(
        replace(log.fixes, t_ms=log.fixes.t_ms + later_ms),
        tuple(replace(m, t_ms=m.t_ms + later_ms) for m in log.marks),
    )
    exactly(counted(log, small), counted(moved, small))


def halves(log: Log, share: float) -> tuple[Log, Log]:
    cut = int(share * len(log.fixes))
    at_ms = log.fixes.t_ms[min(cut, len(log.fixes) - 1)]
    rows = np.arange(len(log.fixes))
    return (
        Log(picked(log.fixes, rows[:cut]), tuple(m for m in log.marks if m.t_ms < at_ms)),
        Log(picked(log.fixes, rows[cut:]), tuple(m for m in log.marks if m.t_ms >= at_ms)),
    )


@few
@given(small_days(), st.floats(0.05, 0.95))
def test_a_file_split_in_two_and_joined_is_the_whole(small: Small, share: float) -> None:
    whole = small.log()
    exactly(counted(join([whole]), small), counted(join(halves(whole, share)), small))


@few
@given(small_days(), st.floats(0.05, 0.95))
def test_the_order_of_files_does_not_matter(small: Small, share: float) -> None:
    first, second = halves(small.log(), share)
    exactly(counted(join([first, second]), small), counted(join([second, first]), small))


@few
@given(small_days())
def test_the_same_entries_twice_change_nothing(small: Small) -> None:
    whole = small.log()
    exactly(counted(join([whole]), small), counted(join([whole, whole, whole]), small))


@few
@given(small_days(), st.floats(0.1, 0.6), st.floats(0.4, 0.9))
def test_files_that_overlap_in_time_are_the_whole(small: Small, a: float, b: float) -> None:
    whole = small.log()
    early, late = halves(whole, max(a, b))[0], halves(whole, min(a, b))[1]
    exactly(counted(join([whole]), small), counted(join([late, early]), small))


@few
@given(small_days(), st.floats(0.0, 1.0))
def test_a_tool_lifted_for_a_while_never_sows_more(small: Small, share: float) -> None:
    log = small.log()
    end_s = (int(log.fixes.t_ms[-1]) - START_MS) / 1000
    lifted = [(t, s) for t, s in small.drive.levers if t < share * end_s]
    if not lifted:
        return
    less = counted(Log(log.fixes, marks([*lifted, (share * end_s, "up")])), small)
    assert less.sown_ha <= counted(log, small).sown_ha + 1e-6
