"""Runners of the stages that come after the day: going back, product and time."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
import pytest
import shapely
from shapely.geometry import MultiPolygon, Point, Polygon

from unsown.core import capacity, rate
from unsown.core.aim import Field, Reach
from unsown.core.balance import Rate, left, ran_out
from unsown.core.bare import call_of
from unsown.core.dubins import dubins
from unsown.core.hangs import hanging, may_close
from unsown.core.order import EXACT, Costs, order
from unsown.core.price import Prices
from unsown.core.words import Patch, Question, Run
from unsown.core.worth import Circumstances, worth

Case = Mapping[str, Any]


def turning(given: Case, expect: Case, tolerance: Case) -> None:
    way = dubins(tuple(given["start"]), tuple(given["end"]), given["radius_m"])
    assert way.length_m == pytest.approx(expect["length_m"], abs=tolerance["metres"])
    last = way.poses(0.1)[-1]
    assert np.hypot(last[0] - given["end"][0], last[1] - given["end"][1]) < 1e-6
    if "word" in expect:
        assert way.word == expect["word"]


def ordering(given: Case, expect: Case, tolerance: Case) -> None:
    names = ("start", "between", "home", "own")
    costs = Costs(*(np.asarray(given[n], dtype=np.float64) for n in names), given["direct"])
    nodes, total = order(costs, given.get("exact", EXACT))
    assert total == pytest.approx(expect["total"], abs=tolerance["metres"])
    assert costs.total(nodes) == pytest.approx(total)
    assert sorted(n // 2 for n in nodes) == list(range(len(given["start"]) // 2))
    if "nodes" in expect:
        assert nodes == expect["nodes"]


def patch_of(number: int, said: Case) -> Patch:
    """A patch from its ring and its chance; what going back does not ask for is made up."""
    shape, chance = Polygon(said["ring"]), said["chance"]
    return Patch(number, shape, shape.area, 1.0, 1.0, "pocket", chance, call_of(chance),
        Point(0, 0), asks=tuple(said.get("asks", ())))  # fmt: skip


def asking(given: Case, expect: Case, tolerance: Case) -> None:
    del tolerance  # numbers of questions are right or wrong
    runs = [
        Run(k + 1, r["on_s"], r["off_s"], r["on_s"], r["off_s"], outfit=r["outfit"])
        for k, r in enumerate(given["runs"])
    ]
    questions = [
        Question(k + 1, "blind", q["from_ms"], q["to_ms"], 0.0, 0.0, "", {}, phone=q["phone"])
        for k, q in enumerate(given["questions"])
    ]
    found = hanging(
        [patch_of(k + 1, said) for k, said in enumerate(given["patches"])],
        MultiPolygon([Polygon(ring) for ring in given["doubt"]]),
        [[Polygon(ring) for ring in r["doubt"]] for r in given["runs"]],
        runs,
        questions,
        given["t0_ms"],
        given["outfits"],
    )
    assert [list(p.asks) for p in found] == expect["asks"]
    assert may_close(found) == pytest.approx(expect["may_close"])


def repaying(given: Case, expect: Case, tolerance: Case) -> None:
    r = Reach(**given["reach"])
    patches = [patch_of(k + 1, said) for k, said in enumerate(given["patches"])]
    bare = shapely.union_all([p.outline for p in patches])
    keep_out = MultiPolygon([Polygon(ring) for ring in given["keep_outs"]])
    field = Field.of(Polygon(given["boundary"]), keep_out, bare, r)
    prices = Prices(**given["prices"])
    here = Circumstances(
        **{k: tuple(v) if isinstance(v, list) else v for k, v in given["here"].items()}
    )
    assert prices.bare_ha() == pytest.approx(expect["bare_ha"], abs=tolerance["money"])
    w = worth(patches, given["headings_rad"], field, r, prices, here)
    assert [list(g.patches) for g in w.groups] == [g["patches"] for g in expect["groups"]]
    for got, want in zip(w.groups, expect["groups"], strict=True):
        assert got.label == want["label"]
        assert len(got.runs) == want["runs"]
        near = {"rel": tolerance["part"], "abs": tolerance["money"]}
        assert got.value == pytest.approx(want["value"], **near)
        assert got.cost == pytest.approx(want["cost"], **near)
        assert got.seconds == pytest.approx(want["seconds"], rel=tolerance["part"], abs=0.1)
        assert got.twice_m2 == pytest.approx(want["twice_m2"], rel=tolerance["part"], abs=0.1)
        assert got.left_m2 == pytest.approx(want["left_m2"], rel=tolerance["part"], abs=0.1)
    assert [index for index, _ in w.stops] == [s["group"] for s in expect["stops"]]
    for (_, run), want in zip(w.stops, expect["stops"], strict=True):
        assert [*run.start, *run.end] == pytest.approx(
            [*want["start"], *want["end"]], abs=tolerance["metres"]
        )
    assert w.route.length_m == pytest.approx(expect["length_m"], rel=tolerance["part"])
    assert w.route.blocked is expect["blocked"]
    assert w.seconds == pytest.approx(expect["seconds"], rel=tolerance["part"])
    sure_s = expect.get("sure_s", expect["seconds"])
    assert w.sure_s == pytest.approx(sure_s, rel=tolerance["part"])
    assert w.net == pytest.approx(expect["net"], rel=tolerance["part"], abs=tolerance["money"])


def weighing(given: Case, expect: Case, tolerance: Case) -> None:
    known = Rate.calibrated(given["card_kg_ha"])
    for used_kg, seeded_ha in given["used"]:
        known = known.after(used_kg, seeded_ha)
    on = left(given["level_kg"], given["seeded_ha"], known, given["level_sigma_kg"])
    way, way_sigma = on.way_m(given["width_m"])
    minutes, minutes_sigma = on.minutes(given["ha_per_h"])
    out = ran_out(given["level_kg"], known, given["level_sigma_kg"])
    got = {
        **{"kg_ha": known.kg_ha, "sigma_kg_ha": known.sigma_kg_ha, "shared": known.shared},
        "kg": on.kg,
        **{"kg_sigma": on.kg_sigma, "ha": on.ha, "ha_sigma": on.ha_sigma, "way_m": way},
        **{"way_sigma_m": way_sigma, "minutes": minutes, "minutes_sigma": minutes_sigma},
        **{"rounds": on.rounds(given["round_m"], given["width_m"])},
        **{"out_at_ha": out.at_ha, "out_from_ha": out.from_ha, "out_to_ha": out.to_ha},
    }
    assert got == pytest.approx(expect, rel=tolerance["part"])


def rating(given: Case, expect: Case, tolerance: Case) -> None:
    asked = {
        "plants": rate.plants_rate_kg_ha,
        "seeds": rate.seeds_rate_kg_ha,
        "area": rate.tray_area_ha,
        "field": rate.field_rate_kg_ha,
        "row": rate.row_rate_kg_ha,
        "count": rate.plants_m2,
        "survival": rate.survival,
    }
    if given["of"] == "tray":
        found = rate.tray(given["catches_kg"], given["area_ha"])
        got = [found.rate_kg_ha, found.cv, float(found.again)]
    else:
        got = [asked[given["of"]](*given["numbers"])]
    assert got == pytest.approx(expect["numbers"], abs=tolerance["numbers"])


def pacing(given: Case, expect: Case, tolerance: Case) -> None:
    hours = capacity.Hours(**given["hours"])
    theoretical = capacity.theoretical_ha_h(given["width_m"], given["speed_km_h"])
    pace = capacity.pace_ha_h(given["recent_ha"], given["recent_h"], given["usual_ha_h"])
    left = capacity.hours_left(given["left_ha"], pace, given["fills"], given["fill_stop_h"])
    columns = (np.asarray(given[k]) for k in ("t_s", "ha"))
    some = capacity.paces_ha_h(*columns, given["from_s"], given["to_s"])
    spread = capacity.spread_h(left, some)
    got = {
        **({} if spread is None else {"spread_h": spread}),
        **{f"pace_{k}": v for k, v in enumerate(some)},
        "theoretical_ha_h": theoretical,
        "efficiency": hours.efficiency(given["area_ha"], theoretical),
        **{f"lost_{k}": v for k, v in hours.lost(given["area_ha"], theoretical).items()},
        "pace_ha_h": pace,
        "hours_left": left,
    }
    assert got == pytest.approx(expect, rel=tolerance["part"])


STAGES: dict[str, Callable[[Case, Case, Case], None]] = {
    "dubins": turning,
    "order": ordering,
    "worth": repaying,
    "hangs": asking,
    "balance": weighing,
    "rate": rating,
    "capacity": pacing,
}
