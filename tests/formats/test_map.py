"""The map is valid, true to scale, and says each state without colour."""

from __future__ import annotations

import re
from dataclasses import replace
from xml.etree import ElementTree

import pytest
from shapely.geometry import Point, Polygon, box

import tallies
from unsown.formats.ink import DAY, NIGHT
from unsown.formats.labels import place_labels
from unsown.formats.map import draw
from unsown.formats.png import to_png
from unsown.formats.units import Units

SVG = "{http://www.w3.org/2000/svg}"


def parsed(**how: object) -> ElementTree.Element:
    day = how.pop("day", None) or tallies.day()
    keep_outs = [tallies.keep_out()]
    return ElementTree.fromstring(
        draw(day, tallies.PLANE, "Dry Ladle", keep_outs=keep_outs, **how)  # type: ignore[arg-type]
    )


def by_id(root: ElementTree.Element, ident: str) -> ElementTree.Element:
    found = [e for e in root.iter() if e.get("id") == ident]
    assert len(found) == 1, f"{len(found)} elements with id {ident}"
    return found[0]


def points(element: ElementTree.Element) -> list[tuple[float, float]]:
    return [
        (float(x), float(y))
        for x, y in re.findall(r"[ML](-?[\d.]+) (-?[\d.]+)", element.get("d", ""))
    ]


def shoelace(ring: list[tuple[float, float]]) -> float:
    return abs(
        sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(ring, ring[1:] + ring[:1], strict=True)) / 2
    )


def scale(root: ElementTree.Element) -> float:
    """Page units a metre, as the scale bar says it."""
    bar = by_id(root, "scale-bar")
    wide = float(next(bar.iter(f"{SVG}rect")).get("width", "0"))
    words = [t.text or "" for t in bar.iter(f"{SVG}text")]
    return wide / float(words[-1].removesuffix(" m"))


def test_the_picture_is_well_formed_with_each_id_once() -> None:
    root = parsed()
    ids = [e.get("id") for e in root.iter() if e.get("id")]
    assert root.tag == f"{SVG}svg"
    assert len(ids) == len(set(ids))


def test_every_paint_that_is_used_is_defined() -> None:
    root = parsed()
    defined = {e.get("id") for e in root.iter(f"{SVG}pattern")}
    used = {
        m.group(1)
        for e in root.iter()
        for m in [re.match(r"url\(#([^)]+)\)", e.get("fill", ""))]
        if m
    }
    assert used <= defined
    assert {"fill-twice", "fill-doubt", "fill-keep-out"} <= used


def test_the_scale_bar_is_true() -> None:
    root = parsed()
    ring = points(by_id(root, "fence"))
    # the fence's area on the page, by the bar's own scale, against the outline's area in metres
    assert shoelace(ring) / scale(root) ** 2 == pytest.approx(tallies.outline().area, rel=0.003)


def test_with_acres_the_bar_is_in_feet_and_as_true() -> None:
    root = parsed(units=Units(acres=True))
    bar = by_id(root, "scale-bar")
    wide = float(next(bar.iter(f"{SVG}rect")).get("width", "0"))
    feet = float([t.text or "" for t in bar.iter(f"{SVG}text")][-1].removesuffix(" ft"))
    ring = points(by_id(root, "fence"))
    area_m2 = shoelace(ring) / (wide / (feet * 0.3048)) ** 2
    assert area_m2 == pytest.approx(tallies.outline().area, rel=0.003)


def test_north_is_up_and_east_is_right() -> None:
    root = parsed()
    north_west = points(next(by_id(root, "patch-1").iter(f"{SVG}path")))
    east = points(next(by_id(root, "patch-4").iter(f"{SVG}path")))
    assert min(y for _, y in east) > max(y for _, y in north_west)
    assert min(x for x, _ in east) > max(x for x, _ in north_west)


def test_every_patch_has_its_rim_and_its_number() -> None:
    root = parsed()
    numbers = [t.text for t in root.iter(f"{SVG}text") if t.get("text-anchor") == "middle"]
    for patch in tallies.day().patches:
        shapes = list(by_id(root, f"patch-{patch.number}").iter(f"{SVG}path"))
        assert any(float(s.get("stroke-width", "0")) >= 2.5 for s in shapes)
        assert str(patch.number) in numbers


def test_a_patch_that_cannot_be_told_is_not_drawn_as_bare() -> None:
    root = parsed()
    for patch in tallies.day().patches:
        shapes = list(by_id(root, f"patch-{patch.number}").iter(f"{SVG}path"))
        dashed = any(s.get("stroke-dasharray") for s in shapes)
        filled = any(s.get("fill") == DAY.bare for s in shapes)
        assert (dashed, filled) == ((True, False) if patch.number == 3 else (False, True))


def test_the_states_that_do_not_occur_are_not_in_the_legend() -> None:
    words = " ".join(t.text or "" for t in parsed().iter(f"{SVG}text"))
    assert "can't reach" not in words
    assert "doubt 0.34 ha" in words
    nothing = replace(tallies.day(), doubt_ha=0.0, patches=())
    words = " ".join(t.text or "" for t in parsed(day=nothing).iter(f"{SVG}text"))
    assert "doubt" not in words
    assert "can't tell" not in words


def test_the_letters_are_large_enough_for_a_phone() -> None:
    sizes = [float(e.get("font-size", "99")) for e in parsed().iter() if e.get("font-size")]
    # 720 page units on a phone 390 px wide: 20 units are 10.8 px
    assert min(sizes) >= 20


def test_the_night_map_has_no_bright_ground() -> None:
    root = parsed(night=True)
    page = next(root.iter(f"{SVG}rect")).get("fill")
    paints = {e.get("fill") for e in root.iter()} | {e.get("stroke") for e in root.iter()}
    assert page is not None
    assert "#FFFFFF" not in paints
    assert any(e.get("fill") == NIGHT.ground and e.get("width") == "720" for e in root.iter())


def test_names_cannot_break_the_document() -> None:
    nasty = '<script>&"\x07\x1b]]>'
    root = ElementTree.fromstring(draw(tallies.day(), tallies.PLANE, nasty))
    assert not list(root.iter(f"{SVG}script"))


def test_an_empty_day_can_be_drawn() -> None:
    empty = Polygon()
    bare = replace(
        tallies.day().ground, sown=empty, part=empty, twice=empty, doubt=empty, keep_out=empty
    )
    ElementTree.fromstring(
        draw(tallies.day(ground=bare, patches=(), sown_ha=0.0), tallies.PLANE, "Nothing yet")
    )


def test_the_smallest_patch_of_a_large_paddock_is_still_drawn() -> None:
    tiny = (tallies.patch(1, box(0, 0, 2, 3)),)
    large = replace(tallies.day().ground, net=box(-5000, -5000, 5000, 5000))
    root = parsed(day=tallies.day(ground=large, patches=tiny))
    assert points(next(by_id(root, "patch-1").iter(f"{SVG}path")))


def test_keep_outs_of_one_name_share_a_letter() -> None:
    keep_outs = [tallies.keep_out(), tallies.keep_out()]
    text = draw(tallies.day(), tallies.PLANE, "Dry Ladle", keep_outs=keep_outs)
    assert text.count(">North slough<") == 1
    assert text.count(">A<") == 3  # on the map twice, once in the legend


def test_the_png_is_the_picture_at_its_width() -> None:
    image = to_png(draw(tallies.day(), tallies.PLANE, "Dry Ladle"), 360)
    assert image[:8] == b"\x89PNG\r\n\x1a\n"
    assert int.from_bytes(image[16:20], "big") == 360


def test_numbers_do_not_cover_one_another() -> None:
    crowd = [box(x, y, x + 3, y + 3) for x in range(100, 400, 45) for y in range(100, 400, 45)]
    labels = place_labels(crowd, 13, (0, 0, 600, 600))
    gaps = [
        ((a.x - b.x) ** 2 + (a.y - b.y) ** 2) ** 0.5
        for i, a in enumerate(labels)
        for b in labels[:i]
    ]
    assert min(gaps) >= 2 * 13


def test_a_number_stays_on_the_page_beside_its_patch() -> None:
    corner = Polygon([(0, 0), (20, 0), (0, 20)])
    (label,) = place_labels([corner], 17, (0, 0, 500, 500))
    assert 17 <= label.x <= 483
    assert 17 <= label.y <= 483
    assert corner.covers(Point(label.at_x, label.at_y))
