"""Two phones and two rigs asked by the vectors: ``python tests/vectors/rigs.py`` writes the cases.

Expected clocks, presses and offsets are what the drives were made with; seams are rows laid out by
hand. Nothing is frozen.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping, Sequence
from math import cos, sin
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
from numpy.testing import assert_allclose

sys.path.insert(0, str(Path(__file__).parents[1]))

from unsown.core.between import Part, laid_together, tested
from unsown.core.join import one_clock
from unsown.core.picture import PegVisit, Stretch
from unsown.core.plane import Plane
from unsown.core.settle import settle
from unsown.core.sweep import Poses
from unsown.core.words import Fixes, Log, Mark
from vectors.made import case

Case = Mapping[str, Any]
PLANE = Plane(49.73, -106.21)
T0_MS = 1_778_775_600_000


def joining(given: Case, expect: Case, tolerance: Case) -> None:
    """Two phones' positions and presses: by how much one clock is ahead, and which presses stay."""
    t, x, y = (np.concatenate([np.asarray(p[k]) for p in given["phones"]])
               for k in ("t_s", "x_m", "y_m"))  # fmt: skip
    lon, lat = PLANE.to_degrees(x, y)
    phone = np.repeat([0, 1], [len(p["t_s"]) for p in given["phones"]])
    none = np.full(len(t), np.nan)
    t_ms = T0_MS + np.round(1000 * t).astype(np.int64)
    fixes = Fixes(t_ms, lat, lon, none, none, none, phone, phone, ("a", "b"))
    marks = tuple(
        Mark(T0_MS + round(1000 * t_s), "lever", name, 1 + k, {"lever": word})
        for k, (name, t_s, word) in enumerate(given["presses"])
    )
    log, _ = one_clock(Log(fixes, marks))
    by = (t_ms - log.fixes.t_ms)[phone == 1] / 1000
    assert_allclose(by, expect["ahead_s"] or 0.0, atol=tolerance["seconds"])
    assert np.array_equal(log.fixes.t_ms[phone == 0], t_ms[phone == 0])
    left = [[m.phone, (m.t_ms - T0_MS) / 1000] for m in log.marks]
    assert [name for name, _ in left] == [name for name, _ in expect["presses"]]
    assert_allclose(
        [s for _, s in left], [s for _, s in expect["presses"]], atol=tolerance["seconds"]
    )


def seaming(given: Case, expect: Case, tolerance: Case) -> None:
    """Two rigs' rows: by how much the second picture is moved, and the seam between the two."""
    parts = []
    for leg, rig in enumerate(given["rigs"]):
        runs = [
            Stretch(i + 100 * leg, leg, 0.0, 0.0, rig["width_m"], poses(row))
            for i, row in enumerate(rig["rows"])
        ]
        pegs = tuple(PegVisit(leg=leg, **peg) for peg in rig["pegs"])
        how: Any = {"white_m": 0.1, "rate": np.nan, "pegs": pegs, "draws": 0, "move": False}
        picture = settle(runs, None, rng=np.random.default_rng(1), **how)
        parts.append(Part(picture, pegs, rig["accuracy_m"] or np.inf))
    whole = laid_together(parts, np.random.default_rng(1))
    second = whole.samples.leg == 1
    assert_allclose(whole.east_m[second], expect["moved_m"][0], atol=tolerance["metres"])
    assert_allclose(whole.north_m[second], expect["moved_m"][1], atol=tolerance["metres"])
    assert not np.any(whole.east_m[~second])
    assert not np.any(whole.north_m[~second])
    legs: Any = [SimpleNamespace(outfit=0), SimpleNamespace(outfit=1)]
    found = [seam.told for seam in tested(whole, legs, PLANE)]
    assert len(found) == len(expect["seams"])
    for seam, want in zip(found, expect["seams"], strict=True):
        assert seam.rigs == (0, 1)
        assert_allclose(seam.gap_m, want["gap_m"], atol=tolerance["metres"])
        assert_allclose(seam.length_m, want["length_m"], atol=tolerance["along_m"])
        assert seam.chance == float(want["gap_m"] > 0.3)


STAGES: dict[str, Callable[[Case, Case, Case], None]] = {"join": joining, "between": seaming}


def poses(row: Case) -> Poses:
    """A straight row from its two ends."""
    (x, y), (u, v) = row["from"], row["to"]
    way = float(np.hypot(u - x, v - y))
    heading = float(np.arctan2(v - y, u - x))
    ends = np.asarray
    return Poses(ends([row["from_s"], row["to_s"]]), ends([x, u]), ends([y, v]),
                 ends([heading, heading]), ends([0.0, way]))  # fmt: skip


# the cases


def wound(seconds: range, ahead_s: float = 0.0, left_m: float = 0.0) -> dict[str, list[float]]:
    """A way that winds so that it is like itself at no other time, driven at some 2 m/s."""
    rows = [(s + ahead_s, 400 * sin(s / 200), 400 * (1 - cos(s / 200)) + 25 * sin(s / 23) + left_m)
            for s in seconds]  # fmt: skip
    return {k: [round(r[i], 2) for r in rows] for i, k in enumerate(("t_s", "x_m", "y_m"))}


def clocks() -> None:
    seconds = range(0, 1500, 4)
    ours = wound(seconds)
    taps = [["a", 100.0, "down"], ["a", 700.0, "up"]]
    near = {"seconds": 0.7}

    def told(name: str, why: str, other: Case, ahead_s: float | None, presses: Sequence[Any] = (),
             left: Sequence[Any] = (), first: Case = ours) -> None:  # fmt: skip
        given = {"phones": [first, other], "presses": [*taps, *presses]}
        marks = sorted([*(t[:2] for t in taps), *left], key=lambda t: t[1])
        case(f"join/{name}", why, given, {"ahead_s": ahead_s, "presses": marks}, near)

    ahead = wound(seconds, 240.0, 1.0)
    told("ahead", "The second phone's clock is 4 minutes ahead; its one press is its own.", ahead,
         240.0, [["b", 1140.0, "down"]], [["b", 900.0]])  # fmt: skip
    told("behind", "The second phone's clock is 10 minutes behind.", wound(seconds, -600.0), -600.0)
    told("agree", "Clocks that agree are left as stamped.", wound(seconds, 0.0, 1.0), None)
    told("again", "Presses that both phones have within 10 s of one clock are one lever.", ahead,
         240.0, [["b", 344.0, "down"], ["b", 937.0, "up"]])  # fmt: skip
    far = wound(seconds, 240.0, 90.0)
    told("apart", "The same way 90 m beside: not one cab, nothing is shifted.", far, None)
    straight = {"t_s": list(map(float, seconds)), "x_m": [2.0 * s for s in seconds],
                "y_m": [0.0] * len(seconds)}  # fmt: skip
    late = {**straight, "t_s": [t + 120 for t in straight["t_s"]]}
    told("straight", "A straight at one speed is like itself at every lag: nothing is shifted.",
         late, None, first=straight)  # fmt: skip
    told("later", "One phone goes on where the other ended: it keeps its clock.",
         wound(range(1504, 3000, 4)), None)  # fmt: skip


Row = dict[str, Any]


def rows(first: float, pitch: float, count: int, start_s: float, across: bool = False,
         at: tuple[float, float] = (0.0, 0.0), back: bool = False) -> list[Row]:  # fmt: skip
    """Rows of 240 m there and back; ``across`` northwards."""
    out = []
    for k in range(count):
        off, begun = first + pitch * k, start_s + 130.0 * k
        ends = [(0.0, off), (240.0, off)]
        if (k % 2 == 1) != back:
            ends.reverse()
        if across:
            ends = [(y, x) for x, y in ends]
        (x, y), (u, v) = ends
        out.append({"from_s": begun, "to_s": begun + 120.0, "from": [x + at[0], y + at[1]],
                    "to": [u + at[0], v + at[1]]})  # fmt: skip
    return out


def moved(many: Sequence[Row], east: float, north: float) -> list[Row]:
    return [{**r, **{k: [round(r[k][0] + east, 4), round(r[k][1] + north, 4)]
                     for k in ("from", "to")}} for r in many]  # fmt: skip


def peg(name: str, x: float, y: float) -> dict[str, Any]:
    return {"name": name, "t_s": 5.0, "x_m": x, "y_m": y}


def rig(width_m: float, rows_: Sequence[Row], pegs: Sequence[Any] = (),
        accuracy_m: float | None = 4.0) -> dict[str, Any]:  # fmt: skip
    return {"width_m": width_m, "rows": list(rows_), "pegs": list(pegs), "accuracy_m": accuracy_m}


def seams() -> None:
    near = {"metres": 0.01, "along_m": 24.0}
    # the big one sows 8.4 m northwards from the south, the small one 6 m southwards towards it
    big = rows(0.0, 8.1, 4, 0.0)

    def small(gap_m: float) -> list[Row]:
        top = 3 * 8.1 + 4.2 + gap_m + 3.0
        return rows(top + 2 * 5.8, -5.8, 3, 200.0, back=True)

    def told(name: str, why: str, rigs: Any, moved_m: Any, gap_m: float, length_m: float = 240.0,
             tolerance: Any = near) -> None:  # fmt: skip
        seams_ = [{"gap_m": gap_m, "length_m": length_m}]
        case(f"between/{name}", why, {"rigs": rigs}, {"moved_m": moved_m, "seams": seams_},
             tolerance)  # fmt: skip

    told("open", "Nothing ties the phones together: no picture is moved, the gap stands as logged.",
         [rig(8.4, big), rig(6.0, small(1.2))], [0, 0], 1.2)  # fmt: skip
    told("overlap", "The same with an overlap of 0.4 m.",
         [rig(8.4, big), rig(6.0, small(-0.4))], [0, 0], -0.4)  # fmt: skip
    shifted = moved(small(0.5), 1.5, 2.0)
    told("peg", "A peg that both visited takes out what the second phone is off by.",
         [rig(8.4, big, [peg("gate", 10.0, -20.0)]), rig(6.0, shifted, [peg("gate", 11.5, -18.0)])],
         [-1.5, -2.0], 0.5)  # fmt: skip
    pegs = [peg("gate", 10.0, -20.0), peg("tree", 50.0, 80.0)]
    theirs = [peg("gate", 11.4, -18.2), peg("tree", 51.6, 82.2), peg("well", 0.0, 0.0)]
    told("pegs", "Two pegs are averaged; one that only one of them visited says nothing.",
         [rig(8.4, big, pegs), rig(6.0, shifted, theirs)], [-1.5, -2.0], 0.5)  # fmt: skip
    fine = [rig(8.4, big, (), 0.02), rig(6.0, small(0.9), (), 0.02)]
    told("fine", "Phones that report centimetres are taken at their word.", fine, [0, 0], 0.9)
    land = (400.0, 0.0)
    ours = [*rows(0.0, 15.6, 5, 0.0), *rows(0.0, 15.6, 5, 2000.0, across=True, at=land)]
    turns = [*rows(7.8, 15.6, 4, 60.0), *rows(7.8, 15.6, 4, 2060.0, across=True, at=land)]
    told("turns", "Every other row each, in two lands across each other: seams tell the offset.",
         [rig(8.0, ours), rig(8.0, moved(turns, 1.5, 2.0))], [-1.5, -2.0], -0.2,
         14 * 240.0, {"metres": 0.13, "along_m": 400.0})  # fmt: skip
    one = [*rows(0.0, 15.6, 6, 0.0)]
    told("one-way", "In one land only nothing tells the offset along the rows: it is left.",
         [rig(8.0, one), rig(8.0, moved(rows(7.8, 15.6, 5, 60.0), 0.0, 0.0))], [0, 0], -0.2,
         10 * 240.0, {"metres": 0.01, "along_m": 400.0})  # fmt: skip


if __name__ == "__main__":
    clocks()
    seams()
