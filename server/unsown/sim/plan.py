"""What the driver drives: headland laps, lands of runs, turns, fills; as one route."""

from __future__ import annotations

from math import ceil, pi

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from unsown.core.errors import DayError
from unsown.core.words import Floats, Rig
from unsown.sim import lands, laps, turns
from unsown.sim.drive import STEP_M
from unsown.sim.paddocks import Field
from unsown.sim.rigs import reach_m, settle_m
from unsown.sim.route import Route, Work, ahead, pose_at
from unsown.sim.story import Story
from unsown.sim.turns import Pose

_BIG_M2 = 1500.0
_LEAD_M = 3.0


def turning_room(rig: Rig, spacing_m: float) -> float:
    """Metres from the ends of runs to the fence that a turn to the next run wants."""
    radius = rig.tightest_m or 9.0
    start = (reach_m(rig) - rig.tool.rear_rank_m + 1.5, 0.0, 0.0)
    end = (reach_m(rig) - rig.tool.front_rank_m - settle_m(rig), spacing_m, pi)
    _length, word, parts = min(turns.words(start, end, radius), key=lambda w: w[0])
    return float(turns.draw(start, word, parts, radius, STEP_M)[:, 0].max()) + 2.5


class Planner:
    """Builds the route of one day, piece after piece."""

    def __init__(self, field: Field, rig: Rig, story: Story, rng: np.random.Generator) -> None:
        self.field, self.rig, self.story, self.rng = field, rig, story, rng
        self.width = rig.tool.width_m
        self.spacing = self.width - story.overlap_m
        self.radius = rig.tightest_m or 9.0
        self.front = reach_m(rig) - rig.tool.front_rank_m
        self.rear = reach_m(rig) - rig.tool.rear_rank_m
        big = [shape for _, shape in field.holes if shape.area > _BIG_M2]
        self.small: list[BaseGeometry] = [s for _, s in field.holes if s.area <= _BIG_M2]
        self.outline: Polygon = field.outline.difference(shapely.union_all(big))
        room = turning_room(rig, self.spacing)
        wanted = ceil((room - story.clearance_m - self.width) / self.spacing) + 1
        self.all_laps = max(story.laps, wanted)
        self.headland = story.clearance_m + self.width + (self.all_laps - 1) * self.spacing
        self.clockwise = bool(rng.random() < 0.5)
        free = field.outline.difference(shapely.union_all([s for _, s in field.holes]))
        self.route = Route(self.radius, free.buffer(-1.5), things=[*big, *self.small])
        middle = laps.rounded(field.outline.buffer(-0.55 * self.headland), 1.5 * self.radius)
        if isinstance(middle, Polygon) and not middle.is_empty:
            self.route.ring = LineString(middle.exterior.coords)
        self.gate_m = float(rng.uniform(0, 1000))
        self.wavers: dict[int, laps.Wavers] = {}
        self.row = 0
        self.backs: set[int] = set()
        self.away = False

    def plan(self) -> Route:
        """Laps first, then the inside, then what is left of the headland."""
        first = self.story.laps if self.story.style == "up-and-back" else self._round_laps()
        if self.story.style == "round":
            self.all_laps = max(first, self.all_laps)
            self.headland = self.story.clearance_m + self.width + (self.all_laps - 1) * self.spacing
        for k in range(first):
            self.lap(k)
        self.inside()
        for k in range(first, self.all_laps):
            self.lap(k)
        if not self.route.works:
            raise DayError("sim-too-small", "the paddock has no room for this rig's laps")
        return self.route

    def _round_laps(self) -> int:
        k = self.story.laps
        while k < 60:
            inner = self.outline.buffer(-(self.story.clearance_m + k * self.spacing))
            if inner.geom_type != "Polygon" or inner.area < 40 * self.width**2:
                break
            lost = inner.difference(laps.rounded(inner, self.radius).buffer(0.5))
            if max(shapely.area(shapely.get_parts(lost)), default=0.0) > 3 * self.width**2:
                break
            k += 1
        return k

    def lap(self, k: int) -> None:
        """Drives the k-th lap (0 is the outermost), and the k-th round each big keep-out."""
        distance = self.story.clearance_m + self.width / 2 + k * self.spacing
        bend = max(self.radius, float(np.hypot(self.width / 2 + 0.4, self.rig.tool.pin_to_axle_m)))
        rings = laps.rings_at(self.outline, distance, self.radius, bend)
        for i, (hole, line) in enumerate(rings):
            self._one_ring(k, i, hole, line)

    def _one_ring(self, k: int, i: int, hole: bool, line: LineString) -> None:
        clockwise = self.clockwise
        start = float(self.rng.uniform(0, line.length))
        if self.route.pieces:
            here = ahead(self.route.pose, 2.2 * self.radius)
            start = laps.place_on(line, here[:2], clockwise)
        beyond = _LEAD_M + self.rear + 6.0
        bare = laps.driven(line, start_m=start, clockwise=clockwise, beyond_m=beyond)
        length = self.story.steer_s * self.story.speed_m_s
        wavers = self.wavers.setdefault(i, laps.Wavers(self.rng, self.story.steer_m, length))
        inward = wavers.next(bare, 0.2 if k == 0 else None)
        if k == 0:
            inward = np.maximum(inward, -0.1 - self.story.clearance_m)
        left_is_in = clockwise if hole else not clockwise
        sideways = (1.0 if left_is_in else -1.0) * inward - self.rig.tool.offset_left_m
        sideways = sideways + laps.swerves(
            bare, self.small, self.width / 2 + 0.6, 1.4 * self.radius
        )
        xy = laps.driven(
            line, start_m=start, clockwise=clockwise, beyond_m=beyond, sideways=sideways
        )
        lift = self.story.corners == "lift" or (
            self.story.corners == "mixed" and self.rng.random() < 0.5
        )
        number = self.route.add("lap", xy)
        edge = ahead(pose_at(xy, at_end=False), _LEAD_M)
        self.route.works.append(
            Work("lap", (number, number), edge, edge, corners=lift, tags={"lap": k, "hole": hole})
        )

    def inside(self) -> None:
        """Lands of up-and-back runs inside the headland."""
        ground = self.outline.buffer(-self.headland, join_style="mitre", mitre_limit=3)
        if ground.is_empty:
            return
        angle = self._direction()
        rotation = lands.frame(angle)
        level = lands.turned(ground, rotation)
        small = [lands.turned(s, rotation) for s in self.small]
        nominal = lands.lands_of(lands.rows_of(level, self.width, self.spacing))
        nominal = [land for land in nominal if land]
        count = sum(len(land) for land in nominal)
        trips = self._some_rows(count, self.story.truck_trips)
        self.backs = self._some_rows(count, self.story.backs)
        mishaps = self._mishaps([len(land) for land in nominal])
        sower = lands.Sower(level, self.width, small, nominal, self.rng)
        while nominal:
            here = self._here(rotation)
            at = min(
                range(len(nominal)),
                key=lambda i: (sower.blocked(nominal[i][0]), _far(here, nominal[i][0])),
            )
            rows = sower.rows(nominal.pop(at), mishaps.pop(at))
            self._drive_land(rows, rotation, trips)

    def _drive_land(self, rows: list[list[lands.Row]], rotation: Floats, trips: set[int]) -> None:
        if not rows:
            return
        here = self._here(rotation)
        first, last = rows[0][0].place.a, rows[0][-1].place.b
        sense = 1 if abs(here[0] - first) <= abs(here[0] - last) else -1
        for parts in rows:
            for row in parts[::sense]:
                self._drive_row(row, sense, rotation)
            sense = -sense
            self.row += 1
            if self.row in trips:
                self._trip()

    def _drive_row(self, row: lands.Row, sense: int, rotation: Floats) -> None:
        begin, end = row.place.a, row.place.b
        begin, end = (begin, end) if sense > 0 else (end, begin)
        x_first = begin + sense * (self.front - settle_m(self.rig))
        x_last = end + sense * (self.rear + 1.5)
        n = max(8, int(abs(x_last - x_first) / 2.0))
        x = np.linspace(x_first, x_last, n)
        y = np.interp(x, row.x, row.y) - sense * self.rig.tool.offset_left_m
        xy = np.column_stack([x, y]) @ rotation
        if self.away:
            self.route.link(pose_at(xy, at_end=False), kind="road", pace=1.7)
            self.away = False
        turning = self.route.pieces and self.rng.random() < self.story.backing_turns
        if turning:
            self._backing_turn(pose_at(xy, at_end=False))
        across = 0.0 if sense > 0 else pi
        angle = float(np.arctan2(rotation[0, 1], rotation[0, 0]))
        line = np.array(
            [[begin, np.interp(begin, row.x, row.y)], [end, np.interp(end, row.x, row.y)]]
        )
        (ax, ay), (bx, by) = line @ rotation
        way = angle + across
        start, stop = (float(ax), float(ay), way), (float(bx), float(by), way)
        told = [
            (name, tuple(np.array([at, np.interp(at, row.x, row.y)]) @ rotation), size)
            for name, at, size in row.misses
        ]
        tags: dict[str, object] = {"misses": told}
        if self.row in self.backs and len(xy) > 60:
            cut = int(len(xy) * self.rng.uniform(0.3, 0.7))
            first = self.route.add("run", xy[: cut + 1])
            back = xy[cut - int(self.rng.integers(3, 7)) : cut + 1]
            self.route.add("back", back[::-1], gear=-1, pace=0.4)
            self._work(first, start, stop, row, {**tags, "stops": True})
            last = self.route.add("run", np.vstack([back[:1], xy[cut - len(back) + 2 :]]))
            self._work(last, start, stop, row, {**tags, "resumes": True})
        else:
            self._work(self.route.add("run", xy), start, stop, row, tags)

    def _work(
        self, piece: int, start: Pose, stop: Pose, row: lands.Row, tags: dict[str, object]
    ) -> None:
        self.route.works.append(
            Work("run", (piece, piece), start, stop, row=self.row, up=row.up, tags=tags)
        )

    def _backing_turn(self, to: Pose) -> None:
        """A quarter turn, a reverse, another quarter turn: only where the next run is near."""
        here = self.route.pose
        dx, dy = to[0] - here[0], to[1] - here[1]
        left = -dx * np.sin(here[2]) + dy * np.cos(here[2])
        back = 2 * self.radius - abs(left)
        opposite = np.cos(to[2] - here[2]) < -0.98
        if not opposite or not 1.0 < back < 2 * self.radius:
            return
        side = 1.0 if left > 0 else -1.0
        word = "L" if side > 0 else "R"
        quarter = turns.draw(here, word, np.array([pi / 2]), self.radius, STEP_M)
        out = np.vstack([[here[:2]], quarter])
        self.route.add("turn", out)
        corner = pose_at(out, at_end=True)
        far = ahead(corner, 2.0)
        self.route.add("turn", np.array([corner[:2], far[:2]]))
        near = ahead(corner, -back)
        self.route.add("back", np.array([far[:2], near[:2]]), gear=-1, pace=0.5)
        again = np.vstack(
            [
                [near[:2]],
                turns.draw((*near[:2], corner[2]), word, np.array([pi / 2]), self.radius, STEP_M),
            ]
        )
        self.route.add("turn", again)

    def _trip(self) -> None:
        """To the truck along the headland, a fill, and back to where the next run starts."""
        ring = self.route.ring
        if ring is None:
            return
        gate = self.gate_m + np.arange(0, 15, 3.0)
        xy = laps.along(ring, gate if self.rng.random() < 0.5 else gate[::-1])
        self.route.link(pose_at(xy, at_end=False), kind="road", pace=1.7)
        self.route.add("road", xy)
        self.route.halt(float(self.rng.uniform(400, 1500)))
        self.away = True

    def _some_rows(self, rows: int, wanted: int) -> set[int]:
        count = min(wanted, max(rows - 2, 0))
        if not count:
            return set()
        return {int(v) for v in self.rng.choice(np.arange(1, rows), count, replace=False)}

    def _mishaps(self, sizes: list[int]) -> list[lands.Habits]:
        story = self.story
        length = story.steer_s * story.speed_m_s
        out = [lands.Habits(self.spacing, story.steer_m, length, 1.4 * self.radius) for _ in sizes]
        places = [(i, k) for i, n in enumerate(sizes) for k in range(2, n - 1)]
        if not places:
            return out
        jumps = [story.lost_furrow_m] * (story.lost_furrow_m > 0)
        jumps += [self.spacing] * story.missed_runs
        picks = self.rng.permutation(len(places))
        for size, at in zip(jumps, picks, strict=False):
            i, k = places[at]
            out[i].jump_rows[k] = size
        rest = [places[at] for at in picks[len(jumps) :]]
        for i, k in rest[: story.up_runs]:
            out[i].up_rows.add(k)
        for at in self.rng.integers(0, len(places), story.wanders):
            i, k = places[at]
            length_m = float(self.rng.uniform(20, 60)) * story.speed_m_s
            size = float(self.rng.uniform(0.5, 2.5) * self.rng.choice([-1, 1]))
            spot = (float(self.rng.uniform(0.2, 0.8)), length_m, size)
            out[i].wander_rows.setdefault(k, []).append(spot)
        return out

    def _here(self, rotation: Floats) -> tuple[float, float]:
        if not self.route.pieces:
            return 0.0, 0.0
        x, y = rotation @ np.array(self.route.pose[:2])
        return float(x), float(y)

    def _direction(self) -> float:
        """Along the longest side, either way up."""
        ring = np.asarray(self.outline.exterior.simplify(3.0).coords)
        sides = np.diff(ring, axis=0)
        longest = sides[np.argmax(np.hypot(*sides.T))]
        flip = pi if self.rng.random() < 0.5 else 0.0
        return float(np.arctan2(longest[1], longest[0])) + flip


def _far(here: tuple[float, float], row: lands.Stretch) -> float:
    return min(float(np.hypot(here[0] - x, here[1] - row.y)) for x in (row.a, row.b))
