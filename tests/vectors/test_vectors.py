"""Every file of this folder is a test: what a stage must answer, in any language.

README.md beside this file says what each stage's ``given`` and ``expect`` hold.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose
from shapely.geometry import MultiPolygon, Polygon

from unsown.core.bare import patches
from unsown.core.clean import clean
from unsown.core.cover import EMPTY, Poses, ground, strip
from unsown.core.cue import cue, margin
from unsown.core.infer import infer
from unsown.core.lever import runs_from_taps
from unsown.core.picture import PegVisit, Stretch
from unsown.core.plane import Plane
from unsown.core.raster import cover_quads, grid_over, polygon_cells
from unsown.core.settle import settle
from unsown.core.strain import worst_deg
from unsown.core.sun import height_deg, is_night
from unsown.core.told import tapped
from unsown.core.tow import bar, tow
from unsown.core.trail import trail
from unsown.core.words import Cart, Mark, PhonePlace, Rig, Times, Tool
from vectors import again, going, planning, rigs, saying

FOLDER = Path(__file__).parent
CASES = sorted(p.relative_to(FOLDER).as_posix() for p in FOLDER.glob("*/*.json"))
STEPS = ("join", "bridge", "stand", "blind")

Case = Mapping[str, Any]


def numbers(values: list[float | None]) -> np.ndarray:
    return np.array([np.nan if v is None else v for v in values], dtype=np.float64)


def plane(given: Case, expect: Case, tolerance: Case) -> None:
    made = Plane(given["lat0_deg"], given["lon0_deg"])
    lon, lat = numbers(given["lon_deg"]), numbers(given["lat_deg"])
    x, y = made.to_xy(lon, lat)
    assert_allclose(x, expect["x_m"], rtol=0, atol=tolerance["metres"])
    assert_allclose(y, expect["y_m"], rtol=0, atol=tolerance["metres"])
    back = made.to_degrees(numbers(expect["x_m"]), numbers(expect["y_m"]))
    turned = (back[0] - lon + 180) % 360 - 180
    assert_allclose(turned * np.cos(np.radians(lat)), 0.0, atol=tolerance["metres"] / 111e3)
    assert_allclose(back[1], lat, rtol=0, atol=tolerance["metres"] / 111e3)


def cleaning(given: Case, expect: Case, tolerance: Case) -> None:
    track = clean(
        numbers(given["t_s"]),
        numbers(given["x_m"]),
        numbers(given["y_m"]),
        acc_m=numbers(given["acc_m"]),
        speed_m_s=numbers(given["speed_m_s"]),
        course_rad=numbers(given["course_rad"]),
    )
    assert track.row.tolist() == expect["rows"]
    assert [STEPS[s] for s in track.step] == expect["steps"]
    assert track.backing.tolist() == expect["backing"]
    assert dict(track.dropped) == expect["dropped"]
    m = track.motion
    assert_allclose(m.x_m, expect["x_m"], rtol=0, atol=tolerance["metres"])
    assert_allclose(m.y_m, expect["y_m"], rtol=0, atol=tolerance["metres"])
    speeds = {"rtol": 0, "atol": tolerance["metres_per_second"]}
    assert_allclose(m.speed_m_s, expect["speed_m_s"], **speeds)
    assert_allclose(m.heading_rad, expect["heading_rad"], rtol=0, atol=tolerance["radians"])


def towing(given: Case, expect: Case, tolerance: Case) -> None:
    card = given["rig"]
    rig = Rig(
        name="vector",
        kind=card["kind"],
        tool=Tool(**card["tool"]),
        phone=PhonePlace(**card["phone"]),
        axle_to_pin_m=card["axle_to_pin_m"],
        cart=None if card["cart"] is None else Cart(**card["cart"]),
    )
    x, y, course = (numbers(given[k]) for k in ("x_m", "y_m", "course_rad"))
    tool_x, tool_y, heading, _ = bar(rig, x, y, course)
    at = expect.get("at", list(range(len(x))))
    assert_allclose(tool_x[at], expect["tool_x_m"], rtol=0, atol=tolerance["metres"])
    assert_allclose(tool_y[at], expect["tool_y_m"], rtol=0, atol=tolerance["metres"])
    turned = np.asarray(heading[at]) - numbers(expect["heading_rad"])
    turned = (turned + np.pi) % (2 * np.pi) - np.pi
    assert_allclose(turned, 0.0, atol=tolerance["radians"])


def settling(given: Case, expect: Case, tolerance: Case) -> None:
    stretches = [
        Stretch(
            r["run"],
            r["leg"],
            given["front_m"],
            given["rear_m"],
            given["width_m"],
            Poses(*(numbers(r[k]) for k in ("t_s", "x_m", "y_m", "heading_rad", "path_m"))),
        )
        for r in given["runs"]
    ]
    picture = settle(
        stretches,
        None if given["boundary"] is None else Polygon(given["boundary"]),
        white_m=given["white_m"],
        rate=np.nan if given["rate"] is None else given["rate"],
        rate_error=given.get("rate_error", np.nan),
        pegs=[PegVisit(**p) for p in given["pegs"]],
        draws=2,
        rng=np.random.default_rng(1),
    )
    assert (picture.info is not None) == expect["settled"]
    if picture.info is not None:
        assert abs(picture.info["overlap_m"] - expect["overlap_m"]) < tolerance["metres"]
    assert_allclose(picture.east_m[::6], expect["east_m"], rtol=0, atol=tolerance["metres"])
    assert_allclose(picture.north_m[::6], expect["north_m"], rtol=0, atol=tolerance["metres"])


def bare(given: Case, expect: Case, tolerance: Case) -> None:
    ground = MultiPolygon([Polygon(rings[0], rings[1:]) for rings in given["polygons"]])
    found = patches(ground)
    assert len(found) == len(expect["patches"])
    for patch, want in zip(found, expect["patches"], strict=True):
        assert abs(patch.area_m2 - want["area_m2"]) < tolerance["square_metres"]
        assert abs(patch.width_m - want["width_m"]) < tolerance["metres"]
        assert abs(patch.length_m - want["length_m"]) < tolerance["metres"]


def lever(given: Case, expect: Case, tolerance: Case) -> None:
    rig = Rig("vector", "mounted", Tool(given["width_m"]), times=Times(**given["times"]))
    marks = [
        Mark(round(t * 1000), "lever", seq=i, says={"lever": word})
        for i, (t, word) in enumerate(given["taps"])
    ]
    taps, _ = tapped(marks, 0)
    doubts: list[tuple[float, float, str]] = []
    asked: list[tuple[str, float, float]] = []
    if "t_s" in given:
        x, y = numbers(given["x_m"]), numbers(given["y_m"])
        none = np.full(len(x), np.nan)
        track = clean(numbers(given["t_s"]), x, y, acc_m=none, speed_m_s=none, course_rad=none)
        found = infer(track, trail(track, rig), rig, taps)
        runs = [(r.down_s, r.up_s, r.on_s, r.off_s) for r in found.runs]
        doubts = [(d.from_s, d.to_s, d.why) for d in found.doubts]
        asked = [(q.kind, q.from_s, q.to_s) for q in found.questions]
    else:
        words = [(round(t.t_s * 1000), "down" if t.down else "up") for t in taps]
        timed = runs_from_taps(words, [rig], 0, words[-1][0])
        runs = [(r.down_s, r.up_s, r.on_s, r.off_s) for r in timed]
    near = tolerance["seconds"]
    assert len(runs) == len(expect["runs"])
    assert_allclose(runs, expect["runs"], rtol=0, atol=near)
    assert [d[2] for d in doubts] == [d[2] for d in expect["doubts"]]
    assert [q[0] for q in asked] == [q[0] for q in expect["questions"]]
    for got, want in zip(doubts, expect["doubts"], strict=True):
        assert_allclose(got[:2], want[:2], rtol=0, atol=near)
    for q, wanted in zip(asked, expect["questions"], strict=True):
        assert_allclose(q[1:], wanted[1:], rtol=0, atol=near)


def link(given: Case, expect: Case, tolerance: Case) -> None:
    heading = tow(
        numbers(given["x_m"]),
        numbers(given["y_m"]),
        given["length_m"],
        backing=np.asarray(given["backing"]),
        fresh=np.asarray(given["fresh"]),
        reset_in_reverse=given["reset"],
    )
    turned = (heading - numbers(expect["heading_rad"]) + np.pi) % (2 * np.pi) - np.pi
    assert_allclose(turned, 0.0, atol=tolerance["radians"])


def covering(given: Case, expect: Case, tolerance: Case) -> None:
    columns = ("t_s", "x_m", "y_m", "heading_rad", "path_m")
    bar_of = (given["front_rank_m"], given["rear_rank_m"], given["width_m"])
    strips = [
        strip(i, [Poses(*(numbers(r[k]) for k in columns))], *bar_of)
        for i, r in enumerate(given["runs"])
    ]
    shapes = [Polygon(given[k]) if given[k] else EMPTY for k in ("keep_out", "unreachable")]
    states, again = ground(strips, Polygon(given["boundary"]), *shapes)
    for word, area in expect.items():
        got = again if word == "again" else getattr(states, word).area
        assert abs(got - area) < tolerance["square_metres"], word


def rastering(given: Case, expect: Case, tolerance: Case) -> None:
    grid = grid_over(Polygon(given["net"]), given["heading_rad"], given["cell_m"])
    assert (grid.rows, grid.columns) == (expect["rows"], expect["columns"])
    assert polygon_cells(grid, Polygon(given["polygon"])).tolist() == expect["polygon_cells"]
    x, y = numbers([p[0] for p in given["quad"]]), numbers([p[1] for p in given["quad"]])
    u, v = grid.turned(x, y)
    covered = cover_quads(grid, u[:, None], v[:, None])
    spans = zip(covered.first.tolist(), covered.end.tolist(), strict=True)
    assert [k for a, b in spans for k in range(a, b)] == expect["quad_cells"]


def card_of(card: Case) -> Rig:
    """A rig card from the keys that the vectors of ``cue`` have."""
    return Rig(
        name="vector",
        kind=card["kind"],
        tool=Tool(
            width_m=card["width_m"],
            pin_to_axle_m=card["pin_to_axle_m"],
            front_rank_m=card["front_rank_m"],
            rear_rank_m=card["rear_rank_m"],
        ),
        phone=PhonePlace(ahead_of_axle_m=card["phone_ahead_m"]),
        axle_to_pin_m=card["axle_to_pin_m"],
        cart=None if card["cart"] is None else Cart(**card["cart"]),
        times=Times(**card["times"]),
    )


def cueing(given: Case, expect: Case, tolerance: Case) -> None:
    wished = margin(given["bare"], given["twice"], given["spread_m"])
    made = cue(card_of(given["rig"]), given["speed_m_s"], wished)
    assert made.margin_m == pytest.approx(expect["margin_m"], abs=tolerance["metres"])
    assert made.lift_m == pytest.approx(expect["lift_m"], abs=tolerance["metres"])
    assert made.lower_m == pytest.approx(expect["lower_m"], abs=tolerance["metres"])
    assert made.lift_s == pytest.approx(expect["lift_s"], abs=tolerance["seconds"])
    assert made.lower_s == pytest.approx(expect["lower_s"], abs=tolerance["seconds"])


def sunlight(given: Case, expect: Case, tolerance: Case) -> None:
    at = given["t_ms"], given["lat_deg"], given["lon_deg"]
    assert height_deg(*at) == pytest.approx(expect["height_deg"], abs=tolerance["degrees"])
    assert is_night(*at) is expect["night"]


def strain(given: Case, expect: Case, tolerance: Case) -> None:
    found = worst_deg(Tool(**given["tool"]), given["turn_rad_s"], given["speed_m_s"])
    assert found == pytest.approx(expect["worst_deg"], abs=tolerance["degrees"])


STAGES: dict[str, Callable[[Case, Case, Case], None]] = {
    "plane": plane,
    "clean": cleaning,
    "trail": towing,
    "settle": settling,
    "bare": bare,
    "lever": lever,
    "cue": cueing,
    "sun": sunlight,
    "strain": strain,
    "tow": link,
    "cover": covering,
    "raster": rastering,
    "waste": again.asked,
    **going.STAGES,
    **planning.STAGES,
    **rigs.STAGES,
    **saying.STAGES,
}


@pytest.mark.parametrize("name", CASES)
def test_the_engine_answers_as_the_vector_says(name: str) -> None:
    stage = STAGES.get(name.split("/", maxsplit=1)[0])
    if stage is None:
        pytest.skip(f"no runner here for the stage of {name}")
    case = json.loads((FOLDER / name).read_text(encoding="utf-8"))
    assert set(case) == {"why", "given", "expect", "tolerance"}
    stage(case["given"], case["expect"], case["tolerance"])


@pytest.mark.parametrize("stage", STAGES)
def test_every_stage_has_cases(stage: str) -> None:
    assert sum(name.startswith(f"{stage}/") for name in CASES) >= 5
