"""Writes the cases of going back, product and time: ``python tests/vectors/repay.py``.

Turns are closed forms, orders are found by trying every one, product and time are added by hand.
The cases of ``worth`` are this engine's own, read over by hand: a change of them must be meant.
"""

from __future__ import annotations

import sys
from itertools import permutations, product
from math import asin, floor, hypot, pi, sqrt
from pathlib import Path
from statistics import fmean, stdev
from typing import Any

import numpy as np
import shapely
from shapely.geometry import MultiPolygon, Polygon

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from unsown.core.aim import Field, Reach
from unsown.core.price import Prices
from unsown.core.worth import Circumstances, worth
from vectors.going import patch_of
from vectors.made import box, case


def turn(name: str, why: str, end: list[float], radius: float, length: float, word: str) -> None:
    given = {"start": [0.0, 0.0, 0.0], "end": end, "radius_m": radius}
    case(f"dubins/{name}", why, given, {"length_m": length, "word": word}, {"metres": 1e-6})


def turns() -> None:
    why = "Dubins.jl test1: printed 8.2725"
    turn("published", why, [5.0, 0.0, 3.0], 1.0, 8.2725193250, "RSL")
    turn("quarter", "pi/2 + 3 sqrt 2", [4.0, 4.0, pi / 2], 1.0, pi / 2 + 3 * sqrt(2), "LSL")
    turn("reversal", "pi + 2 sqrt 5", [4.0, 4.0, pi], 1.0, pi + 2 * sqrt(5), "LSL")
    turn("far_run", "half a turn in two quarters and 4 m", [0.0, 24.0, pi], 10.0,
         10 * pi + 4, "LSL")  # fmt: skip
    for r, w in ((10.0, 12.0), (8.1, 8.1)):
        bulb = r * (3 * pi - 4 * asin((2 * r + w) / (4 * r)))
        turn(f"near_run_{w:g}", "a bulb turn: r (3 pi - 4 asin((2 r + w) / 4 r))",
             [0.0, w, pi], r, bulb, "RLR")  # fmt: skip


def scattered(seed: int, runs: int) -> dict[str, Any]:
    """Runs of 40 m at random on a square, from one corner to the opposite one, whole metres."""
    rng = np.random.default_rng(seed)
    a = rng.uniform(0, 400, (runs, 2))
    turned = rng.uniform(0, 2 * np.pi, runs)
    b = a + 40 * np.column_stack([np.cos(turned), np.sin(turned)])
    begin = np.stack([a, b], axis=1).reshape(-1, 2)
    end = np.stack([b, a], axis=1).reshape(-1, 2)

    def far(p: np.ndarray, q: np.ndarray) -> np.ndarray:
        return np.round(np.hypot(*(p[:, None] - q[None]).transpose(2, 0, 1)), 1)

    return {
        "start": far(np.zeros((1, 2)), begin)[0].tolist(),
        "between": far(end, begin).tolist(),
        "home": far(end, np.full((1, 2), 400.0))[:, 0].tolist(),
        "own": [40.0] * (2 * runs),
        "direct": 565.7,
    }


def tried(given: dict[str, Any]) -> tuple[list[int], float]:
    """The best of all orders of all runs from either end, one after the other."""
    n = len(given["start"]) // 2
    best: tuple[float, list[int]] = (float("inf"), [])
    for way in permutations(range(n)):
        for flips in product((0, 1), repeat=n):
            nodes = [2 * k + flip for k, flip in zip(way, flips, strict=True)]
            total = given["start"][nodes[0]] + given["home"][nodes[-1]]
            total += sum(given["between"][i][j] for i, j in zip(nodes, nodes[1:], strict=False))
            best = min(best, (total + sum(given["own"][i] for i in nodes), nodes))
    return best[1], best[0]


def orders() -> None:
    why = "The shortest of all orders, every one tried"
    for seed, runs in ((2, 1), (3, 3), (4, 5)):
        given = scattered(seed, runs)
        nodes, total = tried(given)
        case(f"order/{runs}_runs", why, given, {"total": total, "nodes": nodes}, {"metres": 1e-6})
    one_way = scattered(6, 4)
    one_way["own"] = [40.0, 1e6] * 4
    nodes, total = tried(one_way)
    case("order/one_way_only", why + "; none can be driven backwards", one_way,
         {"total": total, "nodes": nodes}, {"metres": 1e-6})  # fmt: skip
    # 14 runs of 10 m one after the other on a straight: nothing is shorter than driving it
    begin = [[20.0 * k, 20.0 * k + 10] for k in range(14)]
    first = [v for pair in begin for v in pair]
    last = [v for pair in begin for v in reversed(pair)]
    row = {
        "start": first,
        "between": [[abs(b - a) for b in first] for a in last],
        "home": [280.0 - a for a in last],
        "own": [10.0] * 28,
        "direct": 280.0,
    }
    case("order/fourteen_in_a_row", "More than are ordered exactly, in a row along a straight way.",
         row, {"total": 280.0, "nodes": list(range(0, 28, 2))}, {"metres": 1e-6})  # fmt: skip
    none: dict[str, Any] = {"start": [], "between": [], "home": [], "own": [], "direct": 12.0}
    case("order/none", "Nothing to drive: straight to the gate.", none,
         {"total": 12.0, "nodes": []}, {"metres": 1e-6})  # fmt: skip


#: The invented farm and its rig (job paper 7 and 3.1).
FARM = {
    **{"seed_kg_ha": 118.0, "seed_price_kg": 0.46, "fert_kg_ha": 105.0, "fert_price_kg": 0.88},
    **{"fuel_l_ha": 5.2, "fuel_price_l": 1.35, "tractor_h": 58.0, "yield_t_ha": 2.4},
    **{"grain_price_t": 330.0, "weed_penalty_ha": 150.0},
}
REACH = {"width_m": 8.4, "ahead_m": 6.65, "half_m": 1.2, "lead_m": 15.23, "turn_m": 10.63}
HERE = {"start": [350.0, 350.0, 0.3], "gate": [5.0, 20.0], "speed_m_s": 2.0}
SQUARE = box(0, 0, 700, 700)


def repay(name: str, why: str, patches: list[dict[str, Any]], **how: Any) -> None:
    given = {
        "patches": patches,
        "headings_rad": how.get("headings", [0.0] * len(patches)),
        "reach": REACH,
        "boundary": how.get("boundary", SQUARE),
        "keep_outs": how.get("keep_outs", []),
        "prices": FARM,
        "here": {**HERE, "road_s": 0.0, **how.get("here", {})},
    }
    r = Reach(**REACH)
    made = [patch_of(k + 1, said) for k, said in enumerate(patches)]
    bare = shapely.union_all([p.outline for p in made])
    out = MultiPolygon([Polygon(ring) for ring in given["keep_outs"]])
    field = Field.of(Polygon(given["boundary"]), out, bare, r)
    here = Circumstances(**given["here"])
    w = worth(made, given["headings_rad"], field, r, Prices(**FARM), here)
    groups = [
        {
            **{"patches": list(g.patches), "runs": len(g.runs), "label": g.label},
            **{"value": round(g.value, 3), "cost": round(g.cost, 3)},
            **{"seconds": round(g.seconds, 2), "twice_m2": round(g.twice_m2, 2)},
            "left_m2": round(g.left_m2, 2),
        }
        for g in w.groups
    ]
    stops = [
        {"group": k, "start": [round(v, 3) for v in run.start],
         "end": [round(v, 3) for v in run.end]}
        for k, run in w.stops
    ]  # fmt: skip
    expect = {
        # 2.4 t at 330 less 54.28 and 92.40 of seed and fertiliser, and 150 of weeds
        **{"bare_ha": 2.4 * 330 - 54.28 - 92.40 + 150, "groups": groups, "stops": stops},
        **{"length_m": round(w.route.length_m, 3), "blocked": w.route.blocked},
        **{"seconds": round(w.seconds, 2), "net": round(w.net, 3)},
    }
    if w.sure_s != w.seconds:
        expect["sure_s"] = round(w.sure_s, 2)
    case(f"worth/{name}", f"Frozen. {why}", given, expect,
         {"metres": 0.01, "part": 0.005, "money": 0.02})  # fmt: skip


def bare(ring: list[tuple[float, float]], chance: float = 0.97, *asks: int) -> dict[str, Any]:
    return {"ring": ring, "chance": chance, **({"asks": list(asks)} if asks else {})}


def repays() -> None:
    repay("a_pocket", "One pocket as wide as the tool, in the open.",
          [bare(box(400, 400, 424, 407.8), 1.0)])  # fmt: skip
    repay("look_first", "A run perhaps missed is worth a look at one in ten; a speck is not.",
          [bare(box(20, 300, 680, 308.1), 0.1), bare(box(500, 100, 504, 105), 0.1)])  # fmt: skip
    repay("from_outside", "The same pocket does not repay 56 minutes of road.",
          [bare(box(400, 400, 424, 407.8), 1.0)],
          here={"road_s": 3360.0, "start": [12.0, 30.0, 0.8]})  # fmt: skip
    line = [[(0.0, 0.0), (9.0, 1.0), (10.0, 11.0), (1.0, 9.0)]] * 4
    corners = [
        bare([(x + d, y + d) for x, y in ring])
        for ring, d in zip(line, (200.0, 209.0, 218.0, 227.0), strict=True)
    ]
    repay("corners_in_line", "Four corners on a diagonal are finished by one run.", corners)
    slough = [(418.0, 392.0), (442.0, 394.0), (445.0, 415.0), (431.0, 421.0), (416.0, 412.0)]
    repay("round_a_slough", "Three strips about a keep-out: no run and no way crosses it.",
          [bare(box(330, 400, 380, 407.8)), bare(box(470, 400, 523, 407.8)),
           bare(box(330, 480, 520, 487.8))], keep_outs=[slough])  # fmt: skip
    repay("a_corner_of_the_fence", "No straight run reaches all of a corner: what is left is said.",
          [bare(box(0, 0, 15, 12), 1.0)], here={"gate": [350.0, 10.0]})  # fmt: skip
    repay("a_wedge", "A right triangle: fewest runs lie along its longest side.",
          [bare([(300, 300), (364, 300), (300, 348)], 1.0)], headings=[1.2])  # fmt: skip
    repay("beside_a_slough", "Runs are moved aside where their middle would be too near.",
          [bare(box(446.5, 380, 454, 430), 1.0)], keep_outs=[slough], headings=[1.5])  # fmt: skip
    repay("nearly_on_the_way", "One of 49 m2 is worth it as the way leads past it.",
          [bare(box(400, 400, 424, 407.8), 1.0), bare(box(520, 400, 527, 407), 1.0),
           bare(box(600, 400, 630, 407.8), 1.0)],
          here={"start": [300.0, 404.0, 0.0], "gate": [690.0, 404.0]})  # fmt: skip
    open_ = [bare(box(400, 400, 424, 407.8), 0.8, 2), bare(box(520, 300, 544, 307.8), 1.0)]
    repay("ask_first", "One of two may be closed by an answer: it stays on the way, the time "
          "without it is told.", open_)  # fmt: skip
    beside = [(x + 24.0, y) for x, y in box(400, 400, 406, 407.8)]
    repay("asked_about_in_part", "What is worth it without the patch that an answer may close is.",
          [bare(box(400, 400, 424, 407.8), 1.0), bare(beside, 0.8, 1)])  # fmt: skip
    wall = [(350.0, 200.0), (356.0, 200.0), (356.0, 420.0), (350.0, 420.0)]
    repay("round_a_wall", "No way of three parts is free: one past a place beside is found.",
          [bare(box(300, 300, 330, 308), 1.0)], keep_outs=[wall],
          here={"start": [400.0, 304.0, 3.14], "gate": [700.0, 304.0]})  # fmt: skip
    narrow = [(0.0, 0.0), (500.0, 0.0), (80.0, 190.0), (0.0, 120.0)]
    repay("in_a_narrow_corner", "Out of an acute corner a way round is looked for.",
          [bare(box(330, 12, 372, 30), 1.0), bare(box(60, 100, 90, 112), 1.0)],
          boundary=narrow, headings=[0.0, 0.4],
          here={"start": [120.0, 60.0, 3.0], "gate": [0.0, 60.0]})  # fmt: skip
    rng = np.random.default_rng(12)
    some = []
    for k in range(7):
        x, y = rng.uniform(60, 640, 2).round(1)
        long, wide = rng.uniform(14, 60), rng.uniform(2.2, 7.5)
        wide_ring = box(float(x), float(y), float(x + long), float(y + wide))
        some.append(bare([(round(a, 1), round(b, 1)) for a, b in wide_ring], 0.99 - 0.1 * (k % 5)))
    repay("seven_about_the_paddock", "Seven patches of different size and chance.", some,
          headings=[0.0, 1.2, 0.0, 0.4, 0.0, 0.0, 1.0])  # fmt: skip


def weigh(name: str, why: str, card: float, used: list[tuple[float, float]], **how: Any) -> None:
    """Rates weighed by their variance, one after another; then what is left, all by hand."""
    given = {
        **{"card_kg_ha": card, "used": used, "level_kg": 2418.0, "seeded_ha": 0.0},
        **{"level_sigma_kg": 40.0, "width_m": 8.4, "round_m": 3000.0, "ha_per_h": 6.3},
        **how,
    }
    r, sigma, shared = card, 0.05 * card, 0.0
    for used_kg, ha in used:
        seen, known = used_kg / ha, sqrt(2) * 40 / ha
        part = sigma**2 / (sigma**2 + known**2)
        r, sigma = r + part * (seen - r), sqrt((1 - part) * sigma**2)
        sigma = hypot(sigma, 0.01 * r)  # the next fill may flow a per cent differently
        shared = part * 40**2 / ha  # too full a bin told too high a rate
    level, spread, gone = given["level_kg"], given["level_sigma_kg"], given["seeded_ha"]
    kg = level - r * gone
    ha = kg / r
    whole = gone + max(ha, 0.0)
    ha_sigma = sqrt(spread**2 + (sigma * whole) ** 2 + 2 * whole * shared) / r
    kg_sigma = sqrt(spread**2 + (sigma * gone) ** 2 + 2 * gone * shared)
    way, way_sigma = ha * 1e4 / given["width_m"], ha_sigma * 1e4 / given["width_m"]
    out = level / r
    out_sigma = sqrt(spread**2 + (sigma * out) ** 2 + 2 * out * shared) / r
    expect = {
        **{"kg_ha": r, "sigma_kg_ha": sigma, "shared": shared, "kg": kg, "kg_sigma": kg_sigma},
        **{"ha": ha, "ha_sigma": ha_sigma, "way_m": way, "way_sigma_m": way_sigma},
        **{
            "minutes": ha / given["ha_per_h"] * 60,
            "minutes_sigma": ha_sigma / given["ha_per_h"] * 60,
        },
        **{"rounds": max(floor((way - 1.2816 * way_sigma) / given["round_m"]), 0)},
        **{"out_at_ha": out, "out_from_ha": max(out - 1.645 * out_sigma, 0.0)},
        **{"out_to_ha": out + 1.645 * out_sigma},
    }
    case(f"balance/{name}", why, given, expect, {"part": 1e-9})


def weighs() -> None:
    weigh("full_bin", "job paper 3.17: 2,418 kg at 118 kg/ha are 20.5 ha.", 118.0, [])
    weigh("fertiliser", "job paper 3.17: 2,185 kg at 105 are 20.8 ha.", 105.0, [], level_kg=2185.0)
    weigh("after_a_fill", "What went out tells the rate better than the card.", 118.0,
          [(2280.0, 20.0)], seeded_ha=6.4)  # fmt: skip
    weigh("after_three_fills", "Each fill weighs by the ground it was spread on.", 118.0,
          [(2280.0, 20.0), (1100.0, 9.0), (2310.0, 19.6)], seeded_ha=12.0)  # fmt: skip
    weigh("nearly_empty", "Too little for a round.", 118.0, [], level_kg=2418.0, seeded_ha=20.2)
    weigh("past_empty", "More was sown than there was seed for: it ran out behind.", 118.0,
          [(2350.0, 20.0)], seeded_ha=21.4)  # fmt: skip


def rated(name: str, why: str, of: str, numbers: list[float], want: float, within: float) -> None:
    given = {"of": of, "numbers": numbers}
    case(f"rate/{name}", why, given, {"numbers": [want]}, {"numbers": within})


def rates() -> None:
    rated("cereal", "Agriland (Ireland), seeding rate: 183 kg/ha.", "plants",
          [300, 51.9, 0.85], 183.0, 0.5)  # fmt: skip
    rated("wheat_table", "New Zealand sowing rates: 117 kg/ha.", "plants",
          [200, 50, 0.95 * 0.90], 117.0, 0.5)  # fmt: skip
    rated("canola", "Birchip Cropping Group: 2.23 kg/ha.", "seeds", [40, 211_400, 0.85], 2.23, 5e-3)
    rated("tray_ground", "20 turns x 2.00 m x 12 m = 480 m².", "area", [20, 2.0, 12.0], 0.048, 1e-9)
    rated("slip", "48 turns of 2.00 m over 100 m driven: 0.96 of it.", "field",
          [118, 48, 2.0, 100], 113.28, 1e-9)  # fmt: skip
    rated(
        "row", "Grain Guide 2018: 55 g over 10 m at 0.25 m.", "row", [55, 10.0, 0.25], 220.0, 1e-9
    )
    rated("stand", "9 plants/m at 18 cm: 50.0 /m².", "count", [9, 1.0, 0.18], 50.0, 1e-9)
    rated("came_up", "200 plants of 250 seeds: 0.8.", "survival", [200.0, 105.0, 42.0], 0.8, 1e-9)
    # mean 3.82; deviations -0.1, 0, 0.1: standard deviation 0.1
    case("rate/three_catches", "Mean over ground; spread with n - 1.",
         {"of": "tray", "catches_kg": [3.72, 3.82, 3.92], "area_ha": 0.048},
         {"numbers": [3.82 / 0.048, 0.1 / 3.82, 0.0]}, {"numbers": 1e-9})  # fmt: skip
    case("rate/catch_again", "Catches that spread by more than 5 % are not trusted.",
         {"of": "tray", "catches_kg": [3.5, 3.8, 4.1], "area_ha": 0.048},
         {"numbers": [3.8 / 0.048, 0.3 / 3.8, 1.0]}, {"numbers": 1e-9})  # fmt: skip


def pace(name: str, why: str, hours: tuple[float, float, float, float], **how: Any) -> None:
    given: dict[str, Any] = {
        **dict(zip(("sowing_h", "turning_h", "standing_h", "filling_h"), hours, strict=True)),
    }
    given = {
        "hours": given,
        **{"width_m": 8.4, "speed_km_h": 7.5, "area_ha": 43.0, "recent_ha": 9.4, "recent_h": 2.0},
        **{"usual_ha_h": 4.2, "left_ha": 19.6, "fills": 1.0, "fill_stop_h": 0.5},
        "half_hours": [4.4, 5.2, 3.6, 4.8],
        **how,
    }
    # so many whole half hours, and ten minutes before them
    some = given.pop("half_hours")
    given |= {"from_s": 3000.0, "to_s": 3600.0 + 1800 * len(some)}
    given["t_s"] = [0.0, 3000.0, *(3600.0 + 1800 * k for k in range(len(some) + 1))]
    given["ha"] = [0.0, 0.0, *(0.7 + sum(some[:k]) / 2 for k in range(len(some) + 1))]
    total, theoretical = sum(hours), given["width_m"] * given["speed_km_h"] / 10
    done = given["area_ha"] / total / theoretical
    n = given["recent_h"]
    usual = given["usual_ha_h"]
    drawn = (given["recent_ha"] + 2 * usual) / (n + 2) if n > 0 else usual
    lost = {
        k: h / total for k, h in zip(("turning", "standing", "filling"), hours[1:], strict=True)
    }
    expect = {
        **{"theoretical_ha_h": theoretical, "efficiency": done, "pace_ha_h": drawn},
        **{f"lost_{k}": v for k, v in lost.items()},
        "lost_overlap": 1 - sum(lost.values()) - done,
        "hours_left": given["left_ha"] / drawn + given["fills"] * given["fill_stop_h"],
        **{f"pace_{k}": v for k, v in enumerate(some)},
    }
    if len(some) >= 3:
        of = 0.5 / expect["hours_left"] + 1 / len(some)
        part = hypot(stdev(some) / fmean(some) * sqrt(of), 0.06)
        expect["spread_h"] = 1.2816 * expect["hours_left"] * part
    case(f"capacity/{name}", why, given, expect, {"part": 1e-9})


def paces() -> None:
    usual = "Width x speed / 10; area over hours; pace drawn to the season's by 2 h."
    pace("a_day", usual, (7.6, 1.5, 0.8, 0.6))
    pace("no_recent_hours", "Nothing sown yet today: the season's pace.", (6.0, 1.0, 0.5, 0.5),
         recent_h=0.0, recent_ha=0.0, half_hours=[])  # fmt: skip
    pace("half_an_hour", "Half an hour weighs a fifth.", (3.0, 0.5, 0.2, 0.1),
         recent_h=0.5, recent_ha=2.9, area_ha=16.0, half_hours=[5.8])  # fmt: skip
    pace("no_fill_to_come", "Nothing to fill any more.", (7.0, 1.0, 0.2, 0.6), fills=0.0)
    pace("a_wide_drill", "12 m at 8 km/h: 9.6 ha/h.", (5.0, 1.2, 0.4, 0.7),
         width_m=12.0, speed_km_h=8.0, area_ha=47.0)  # fmt: skip


if __name__ == "__main__":
    turns()
    orders()
    repays()
    weighs()
    rates()
    paces()
