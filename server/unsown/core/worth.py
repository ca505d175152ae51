"""Which bare patches repay the trip, and in what order to drive them (job paper 3.13).

Value is the crop that a patch would still bear; cost is the ground sown twice on the way, the
time and the fuel. *worth it* is more than a small sum to the good, *your call* about nothing,
*leave* less; *look first* where nobody can tell whether the patch is there, but a look is cheap
beside what it may hold; *ask first* where it repays only if an open answer leaves it bare. It
knows no slopes, wires or soft ground: those are the driver's to judge.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import shapely
from shapely.geometry import Point
from shapely.geometry.base import BaseGeometry

from unsown.core.aim import Aim, Field, Plan, Reach, plans
from unsown.core.hangs import may_close
from unsown.core.order import order
from unsown.core.price import Prices
from unsown.core.ways import BLOCKED_M, Legs, Route, costs_of, route
from unsown.core.words import Patch

Label = Literal["worth it", "ask first", "your call", "leave", "look first"]

#: More to the good than this is worth it, money; a chance below this wants a look first.
_CALL, _CHANCE = 3.0, 0.6
#: A look at one place takes this long, and lifting or lowering once, s.
LOOK_S, LEVER_S = 60.0, 3.0
#: Ways round what blocks are looked for so many times.
_LOOKS = 12
#: What stands on an edge counts as inside, m.
_EDGE_M = 0.01


@dataclass(frozen=True)
class Circumstances:
    """Where one is and goes, and how.

    ``start`` and ``gate`` are the tractor's rear axle, metres on the plane; ``speed_m_s`` the
    working speed, also taken for turning. ``road_s`` is what coming back from outside costs: the
    road, folding and unfolding.
    """

    start: tuple[float, float, float]
    gate: tuple[float, float]
    speed_m_s: float
    road_s: float = 0.0


@dataclass(frozen=True)
class Group:
    """Patches finished together: by what runs, what that is worth and costs, and the label.

    ``seconds`` is the time it adds to the way; ``left_m2`` bare ground of its patches that no run
    reaches.
    """

    patches: tuple[int, ...]
    runs: tuple[Aim, ...]
    value: float
    cost: float
    seconds: float
    twice_m2: float
    left_m2: float
    label: Label

    @property
    def net(self) -> float:
        """Value less cost."""
        return self.value - self.cost


@dataclass(frozen=True)
class Worth:
    """What to go back for: groups with their labels, and the way through those worth it.

    ``stops`` are places in ``groups``, in driving order, with the run driven; ``net`` is what all
    of it is worth less what it costs, the road included. Where that does not repay the road there
    are no stops and no group is worth it; ``route``, ``seconds`` and ``net`` tell what it would be.
    ``sure_s`` is the time without the stops that are to be asked about first.
    """

    groups: tuple[Group, ...]
    stops: tuple[tuple[int, Aim], ...]
    route: Route
    seconds: float
    net: float
    sure_s: float


def worth(
    patches: Sequence[Patch],
    headings: Sequence[float],
    field: Field,
    r: Reach,
    prices: Prices,
    here: Circumstances,
) -> Worth:
    """Value, cost and label of every patch, and the way through those that repay it.

    Args:
        patches: the bare patches, outlines on the plane.
        headings: of the runs beside each, radians.
        field: where one may drive.
        r: the rig's reach.
        prices: the farm's own.
        here: where one is.
    """
    return weighed(patches, plans(patches, headings, field, r), field, r, prices, here)


def weighed(
    patches: Sequence[Patch],
    tried: Sequence[Plan],
    field: Field,
    r: Reach,
    prices: Prices,
    here: Circumstances,
) -> Worth:
    """The same with the plans that are worth trying (``aim.plans``), which hold from anywhere."""
    by = {p.number: p for p in patches}
    choices = [_group(plan, by, prices, here, r) for plan in tried]
    trip = _Trip(_chosen(choices, by, prices), by, prices, here)
    groups, legs, nodes = trip.settled(_room(field, here, r), r)
    path = route(legs, nodes)
    going = sorted({trip.owner[node // 2] for node in nodes})
    seconds = _seconds(path.length_m, len(nodes), here)
    stops = tuple((trip.owner[n // 2], run) for n, run in zip(nodes, path.runs, strict=True))
    road = here.road_s / 3600 * prices.tractor_h
    net = sum(groups[i].net for i in going) - (road if going else 0.0)
    if going and net <= _CALL:  # each repays its own way, but all together not the road
        label: Label = "your call" if net >= -_CALL else "leave"
        groups = [replace(g, label=label) if i in going else g for i, g in enumerate(groups)]
        stops = stops if label == "your call" else ()
    groups = [_asked(g, by) for g in groups]
    sure = [node for node in nodes if groups[trip.owner[node // 2]].label != "ask first"]
    legs.looked(sure)
    sure_s = _seconds(legs.plain.total(sure), len(sure), here) if sure != nodes else seconds
    return Worth(tuple(groups), stops, path, seconds, net, sure_s)


class _Trip:
    """The groups that have runs, in what order they are driven to, and what each adds to the way.

    ``owner`` is the group of each run, ``may`` the groups that can become worth it.
    """

    def __init__(
        self,
        groups: list[Group],
        by: Mapping[int, Patch],
        prices: Prices,
        here: Circumstances,
    ) -> None:
        self.groups, self.by, self.prices, self.here = groups, by, prices, here
        likely = [i for i, g in enumerate(groups) if g.runs and _chance(g, by) >= _CHANCE]
        self.owner = [i for i in likely for _ in groups[i].runs]
        # not even for nothing would the others be worth it
        self.may = {i for i in likely if groups[i].value - _material(groups[i], by, prices) > _CALL}

    def settled(self, room: BaseGeometry, r: Reach) -> tuple[list[Group], Legs, list[int]]:
        """The groups with what they add to the way, and the order through those worth it.

        With its share of the way a group may cease to be worth it, and one that is nearly on the
        way may become so: one by one, each at most once.
        """
        runs = [run for i in sorted(set(self.owner)) for run in self.groups[i].runs]
        together = [i if i not in self.may else -1 for i in self.owner]
        legs = costs_of(runs, self.here.start, self.here.gate, room, r, together)
        going = {i for i in self.may if self.groups[i].label == "worth it"}
        ceased: set[int] = set()
        while True:
            nodes = self._order(legs, going)
            self._share(legs, nodes, going)
            for i in ceased | self._stuck(legs, nodes):
                if self.groups[i].label == "worth it":
                    self.groups[i] = replace(self.groups[i], label="your call")
            worth_it = {i for i in self.may if self.groups[i].label == "worth it"}
            if going - worth_it:
                worst = min(going - worth_it, key=self._net)
                ceased.add(worst)
                going.remove(worst)
            elif worth_it - going:
                going.add(max(worth_it - going, key=self._net))
            else:
                return self.groups, legs, nodes

    def _net(self, i: int) -> tuple[float, int]:
        return self.groups[i].net, -i

    def _order(self, legs: Legs, going: set[int]) -> list[int]:
        some = [k for k, i in enumerate(self.owner) if i in going]
        for _ in range(_LOOKS):
            local, _ = order(legs.costs.of(some))
            nodes = [2 * some[node // 2] + node % 2 for node in local]
            if not legs.looked(nodes):
                break
        return nodes

    def _share(self, legs: Legs, nodes: list[int], going: set[int]) -> None:
        """Each group with the time that it adds: what leaving it out saves, or taking it in costs.

        One that no free way leads to stays as it was reckoned.
        """
        for i in sorted(set(self.owner)):
            own = [k for k, owner in enumerate(self.owner) if owner == i]
            if i in going:
                rest = [node for node in nodes if node // 2 not in own]
                legs.looked(rest)
                added = legs.plain.total(nodes) - legs.plain.total(rest)
            else:
                taken = nodes
                for k in own:
                    taken = legs.costs.with_one(taken, k)
                free = legs.costs.total(nodes) + BLOCKED_M / 2
                if legs.costs.total(taken) > free:
                    legs.looked(taken)
                if legs.costs.total(taken) > free:
                    continue
                added = legs.plain.total(taken) - legs.plain.total(nodes)
            seconds = _seconds(max(added, 0.0), len(own), self.here)
            told = replace(self.groups[i], seconds=seconds)
            self.groups[i] = _priced(told, self.by, self.prices)

    def _stuck(self, legs: Legs, nodes: list[int]) -> set[int]:
        """Of every two groups between which no free way is, the one worth less."""
        out = set()
        for a, b in legs.blocked(nodes):
            if a >= 0 and b >= 0:
                two = [self.owner[a // 2], self.owner[b // 2]]
                out.add(min(two, key=lambda i: self.groups[i].net))
        return out


def _room(field: Field, here: Circumstances, r: Reach) -> BaseGeometry:
    """Where one may drive, with the ground about where one stands now and about the gate."""
    ends = [Point(here.start[:2]), Point(here.gate)]
    near = shapely.union_all([end.buffer(max(2 * r.turn_m, r.width_m)) for end in ends])
    # a gate lies on the fence itself, and must not fall outside by a rounding
    clear = shapely.buffer(field.clear, _EDGE_M, join_style="mitre")
    room = shapely.union(field.room, shapely.intersection(near, clear))
    shapely.prepare(room)
    return room


def _group(
    plan: Plan, by: Mapping[int, Patch], prices: Prices, here: Circumstances, r: Reach
) -> Group:
    """A plan on its own: driven up to by one wide turn."""
    way = sum(run.length_m + r.lead_m for run in plan.runs)
    turning = 3.5 * r.turn_m * len(plan.runs)
    seconds = (way + turning) / here.speed_m_s + 2 * LEVER_S * len(plan.runs)
    return _priced(
        Group(
            tuple(sorted(plan.covers)),
            plan.runs,
            sum(by[n].chance * a for n, a in plan.covers.items()) / 1e4 * prices.bare_ha(),
            0.0,
            seconds,
            plan.twice_m2,
            sum(max(by[n].area_m2 - a, 0.0) for n, a in plan.covers.items()),
            "leave",
        ),
        by,
        prices,
    )


def _material(g: Group, by: Mapping[int, Patch], prices: Prices) -> float:
    """Seed, fertiliser and fuel on ground that is sown already, or may be."""
    for_nothing = sum((1 - by[n].chance) * a for run in g.runs for n, a in run.covers.items())
    a_ha = prices.seed_and_fertiliser_ha + prices.fuel_l_ha * prices.fuel_price_l
    return (g.twice_m2 + for_nothing) / 1e4 * a_ha


def _priced(g: Group, by: Mapping[int, Patch], prices: Prices) -> Group:
    """The group with the cost of its ground and its time, and its label."""
    cost = _material(g, by, prices) + g.seconds / 3600 * prices.tractor_h
    priced = replace(g, cost=cost)
    return replace(priced, label=label_of(priced, by, prices))


def _chance(g: Group, by: Mapping[int, Patch]) -> float:
    """The chance of a group's patches, by their area."""
    area = sum(by[n].area_m2 for n in g.patches)
    return sum(by[n].chance * by[n].area_m2 for n in g.patches) / max(area, 1e-9)


def _if_real(g: Group, by: Mapping[int, Patch], prices: Prices) -> float:
    """Net of a group of one patch if that is bare for certain."""
    (number,) = g.patches
    real = {number: replace(by[number], chance=1.0)}
    area = by[number].area_m2 - g.left_m2
    return _priced(replace(g, value=area / 1e4 * prices.bare_ha()), real, prices).net


def label_of(g: Group, by: Mapping[int, Patch], prices: Prices) -> Label:
    """The label of a group with its value, its cost and what its runs leave.

    Args:
        g: the group.
        by: its patches by their numbers.
        prices: the farm's own.
    """
    area = sum(by[n].area_m2 for n in g.patches)
    chance = _chance(g, by)
    if chance < _CHANCE:
        may_hold = area / 1e4 * chance * prices.bare_ha()
        return "look first" if may_hold > LOOK_S / 3600 * prices.tractor_h else "leave"
    if not g.runs:  # no straight run reaches it: backing in is for the driver to judge
        return "leave"
    if g.net > _CALL:
        return "worth it"
    return "your call" if g.net >= -_CALL else "leave"


def _asked(g: Group, by: Mapping[int, Patch]) -> Group:
    """The group, to be asked about first where without what an answer may close it is no go."""
    part = may_close([by[n] for n in g.patches])
    hangs = part > 0 and g.label == "worth it" and g.net - part * g.value <= _CALL
    return replace(g, label="ask first") if hangs else g


def _chosen(choices: Sequence[Group], by: Mapping[int, Patch], prices: Prices) -> list[Group]:
    """Greedy cover: the best group first, each patch in one group; the rest each on its own.

    What must be looked at first is looked at patch by patch, and its runs are those that would
    finish it best if it is there.
    """
    left = set(by)
    out: list[Group] = []
    for group in sorted(choices, key=lambda g: -g.net):
        likely = _chance(group, by) >= _CHANCE
        if likely and group.net > -_CALL and set(group.patches) <= left:
            out.append(group)
            left -= set(group.patches)
    alone: dict[int, Group] = {}
    for group in choices:
        if len(group.patches) == 1 and group.patches[0] in left:
            number = group.patches[0]
            if number not in alone or _if_real(group, by, prices) > _if_real(
                alone[number], by, prices
            ):
                alone[number] = group
    for number in sorted(left):
        patch = by[number]
        none = Group((number,), (), 0.0, 0.0, 0.0, 0.0, patch.area_m2, "leave")
        group = alone.get(number, none)
        out.append(replace(group, label=label_of(group, by, prices)))
    return sorted(out, key=lambda g: g.patches)


def _seconds(way_m: float, runs: int, here: Circumstances) -> float:
    return way_m / here.speed_m_s + 2 * LEVER_S * runs
