"""The pages as HTML: black on white, no script, true to the place, nothing made up."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from html.parser import HTMLParser
from typing import Any

import numpy as np
import pytest
from shapely.geometry import Point, Polygon

import tallies
from papers import given
from unsown.core.errors import PaddockError
from unsown.formats.frame import Frame
from unsown.papers import STYLE, sheet, slip
from unsown.papers.scene import scene_of
from unsown.papers.signs import peg_spots

MADE_MS = given.T_MS + 86_400_000


def page(made: dict[str, Any]) -> str:
    return sheet.page(made["work"], made["paddock"], made["rig"], given.SETTINGS, MADE_MS)


def day(made: dict[str, Any]) -> str:
    rows = [given.today(made)] if made["work"]["tally"] else []
    return slip.page({"day": "2025-05-03", "paddocks": rows}, given.SETTINGS, MADE_MS)


def plain(html: str) -> str:
    body = html.partition("<main>")[2]
    return " ".join(re.sub(r"<[^>]+>", " ", body).replace("&nbsp;", " ").split())


def points(html: str, ident: str) -> np.ndarray:
    path = re.search(rf'id="{ident}"[^>]* d="([^"]+)"', html)
    assert path is not None
    return np.array(
        [[float(a), float(b)] for a, b in re.findall(r"(-?[\d.]+) (-?[\d.]+)", path[1])]
    )


PAGES: list[Callable[[dict[str, Any]], str]] = [page, day]


@pytest.mark.parametrize("make", PAGES)
def test_the_pages_need_neither_script_nor_style_of_their_own(make: Any) -> None:
    class Reader(HTMLParser):
        def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
            assert tag not in ("script", "style", "iframe", "object")
            for name, _ in attrs:
                assert name != "style"
                assert not name.startswith("on")

    html = make(given.crowded())
    Reader().feed(html)
    assert html.count("<link") == 1


@pytest.mark.parametrize("make", PAGES)
def test_only_black_white_and_one_grey_are_used(make: Any) -> None:
    colours = set(re.findall(r"#[0-9a-fA-F]{3,6}\b", make(given.crowded())))
    colours |= set(re.findall(r"#[0-9a-fA-F]{3,6}\b", STYLE.read_text(encoding="utf-8")))
    assert {c.lower() for c in colours} <= {"#000000", "#ffffff", "#777777", "#000", "#fff", "#888"}


@pytest.mark.parametrize("make", PAGES)
def test_every_id_stands_once_and_every_pattern_that_is_used_is_there(make: Any) -> None:
    html = make(given.crowded())
    ids = re.findall(r' id="([^"]+)"', html)
    assert len(ids) == len(set(ids))
    assert set(re.findall(r"url\(#([^)]+)\)", html)) <= set(ids)


@pytest.mark.parametrize("make", PAGES)
def test_names_cannot_become_markup(make: Any) -> None:
    made = given.by_hand()
    evil = '<img src=x onerror="alert(1)">&'
    made["paddock"]["name"] = evil
    made["work"]["pegs"][0]["name"] = evil
    made["work"]["fills"][0]["product"] = evil
    made["work"]["runs"][0]["phone"] = evil
    made["paddock"]["geojson"]["features"][2]["properties"] |= {"name": evil, "note": evil}
    made["rig"] = given.rig_json(given.CARD.replace("Long drill", evil.replace('"', "'")))
    html = make(made)
    assert "<img" not in html
    assert "&lt;img" in html


def test_a_page_of_which_nothing_is_computed_has_no_number_of_ground() -> None:
    for state in ("none", "computing", "failed"):
        text = plain(page(given.nothing(state)))
        front = text.partition("By hand:")[0]
        assert not re.search(r"\d (?:ha|m²|ac)\b", front.partition("Long drill")[0]), state
        assert "100 m" in front or "200 m" in front  # the scale bar


def test_what_is_in_the_bins_is_left_to_the_pen() -> None:
    html = page(given.by_hand())
    bins = html.partition("<dt>Bins</dt>")[2].partition("</dd>")[0]
    assert bins.count('class="blank') == 9
    assert not re.search(r"\d", re.sub(r'<[^>]+>|class="[^"]*"', "", bins).partition("filled")[0])


def test_the_arrow_ends_where_the_openers_came_out() -> None:
    html = page(given.by_hand())
    fence = points(html, "map-fence")
    outline = tallies.outline().bounds
    scale = (fence[:, 0].max() - fence[:, 0].min()) / (outline[2] - outline[0])
    left, top = fence[:, 0].min(), fence[:, 1].min()
    tip = [left + (40 - outline[0]) * scale, top + (outline[3] - 68) * scale]
    head = re.search(r'id="map-last-run".*?<path d="M([\d.]+) ([\d.]+)L', html, re.S)
    assert head is not None
    arrow = html.partition('id="map-last-run"')[2].partition("</g>")[0]
    corners = re.findall(r"M([\d.]+) ([\d.]+)", arrow)
    assert any(np.hypot(float(x) - tip[0], float(y) - tip[1]) < 1.0 for x, y in corners)
    assert "going east" in plain(html)
    assert "middle, 20 m in from the fence" in plain(html)


def test_the_map_keeps_the_paddocks_shape_and_its_hazards() -> None:
    html = page(given.by_hand())
    fence = Polygon(points(html, "map-fence"))
    drawn = fence.area / (fence.bounds[2] - fence.bounds[0]) ** 2
    outline = tallies.outline()
    true = outline.area / (outline.bounds[2] - outline.bounds[0]) ** 2
    assert drawn == pytest.approx(true, rel=0.005)
    kept = points(html, "map-kept-out")
    assert len(kept) > 10
    assert "url(#map-fill-keep-out)" in html


def test_a_gate_stands_on_the_map_and_on_the_grid_where_it_is_and_in_the_legend() -> None:
    made = given.by_hand()
    assert 'class="gate"' not in page(made)
    outline = tallies.outline().bounds
    (lon,), (lat,) = tallies.PLANE.to_degrees([outline[0]], [outline[3]])
    gate = {"type": "Point", "coordinates": [lon, lat]}
    made["paddock"]["geojson"]["features"].append(
        {"type": "Feature", "geometry": gate, "properties": {"kind": "gate"}}
    )
    html = page(made)
    fence = points(html, "map-fence")
    signs = re.findall(r'class="gate"><path d="M([\d.]+) ([\d.]+)h6v12h-6zM([\d.]+) ', html)
    assert len(signs) == 2  # front and back
    middle = (float(signs[0][0]) + 6 + float(signs[0][2])) / 2
    assert middle == pytest.approx(fence[:, 0].min(), abs=0.5)
    assert float(signs[0][1]) + 6 == pytest.approx(fence[:, 1].min(), abs=0.5)
    assert plain(html).count(" gate ") > plain(page(given.by_hand())).count(" gate ")


def test_a_seasonal_keep_out_is_drawn_only_while_it_holds() -> None:
    made = given.nothing("none")
    wet = made["paddock"]["geojson"]["features"][1]
    wet["properties"]["until"] = "2025-05-01"
    before = scene_of("x", made["paddock"]["geojson"], None, at_ms=given.T_MS - 10 * 86_400_000)
    after = scene_of("x", made["paddock"]["geojson"], None, at_ms=given.T_MS)
    assert before.keep_out.area - after.keep_out.area == pytest.approx(
        Polygon(tallies.PLANE.shape_to_xy(tallies.keep_out().area).geoms[0]).area, rel=0.01
    )


def test_a_boundary_that_cannot_be_read_is_told() -> None:
    made = given.by_hand()
    made["paddock"]["geojson"] = {"type": "FeatureCollection", "features": []}
    with pytest.raises(PaddockError):
        page(made)


def test_an_unknown_zone_is_told_in_utc() -> None:
    made = given.by_hand()
    text = plain(
        sheet.page(
            made["work"], made["paddock"], made["rig"], {**given.SETTINGS, "zone": "Mars/Ares"},
            MADE_MS,
        )
    )  # fmt: skip
    assert "printed 4 May 2025 14:10" in text


def test_what_another_rig_sowed_is_hatched_the_other_way_and_the_legend_says_whose_it_is() -> None:
    made = given.by_hand()
    runs = [f for f in made["work"]["ground"]["features"] if f["properties"]["state"] == "run"]
    for run in runs:
        run["properties"] |= {"phone": "b", "width_m": 8.0}
    assert 'id="map-ground-theirs"' not in page(made)
    rigs = [{"name": "Big <1>", "phones": ["a"], "sown_ha": 30.0}]
    made["work"]["tally"]["rigs"] = [*rigs, {"name": "Small", "phones": ["b"], "sown_ha": 3.0}]
    html = page(made)
    assert 'id="map-ground-theirs"' in html
    assert "sown by Big &lt;1&gt;" in html
    assert "sown by Small" in html
    theirs = Polygon(points(html, "map-ground-theirs"))
    assert 0 < theirs.area < Polygon(points(html, "map-fence")).area / 2


def test_the_name_of_a_peg_at_a_gate_stands_outside_the_paddock_and_beyond_the_posts() -> None:
    made = given.by_hand()
    ground = made["work"]["ground"]
    bare = scene_of("x", made["paddock"]["geojson"], ground, at_ms=given.T_MS)
    frame = Frame.fit(bare.whole, 14, 14, 700, 400)
    west, south, east, north = bare.whole.bounds
    for x in (west, east):
        fence = bare.whole.boundary
        point = fence.interpolate(fence.project(Point(x, (south + north) / 2)))
        scene = replace(bare, gates=(point,), pegs=(("morning peg", point),))
        ((_, spot),) = peg_spots(scene, frame, 760)
        at, inside = frame.place(point, exact=True), frame.place(bare.whole, exact=True)
        assert spot.words.distance(at) > 18
        assert spot.words.intersection(inside).area < spot.words.area / 2
