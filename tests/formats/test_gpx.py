"""GPX read and written."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from formats.made import GPX_HEAD, START_MS, fixes, gpx, lever, log, same, trkpt
from unsown.core.errors import TrackError
from unsown.core.words import Fixes, Log, Mark
from unsown.formats import gpx as gpxfile
from unsown.formats import gpxtree


def ours(**fields: object) -> str:
    inside = "".join(f"<u:{k}>{v}</u:{k}>" for k, v in fields.items())
    return f"<extensions>{inside}</extensions>"


def skips(found: Log) -> dict[str, int]:
    return {s.reason: s.count for s in found.skipped}


def levers(found: Log) -> list[tuple[float, str]]:
    return [((m.t_ms - START_MS) / 1000, m.says["lever"]) for m in found.marks]


def test_fractional_seconds_and_zones_are_kept_to_the_millisecond():
    data = gpx(
        trkpt(0.25),
        trkpt(1.5),
        '<trkpt lat="1" lon="2"><time>2026-05-01T14:00:02.0005+02:00</time></trkpt>',
    )
    assert (gpxfile.read(data, "x").fixes.t_ms - START_MS).tolist() == [250, 1500, 2001]


def test_segments_are_numbered_over_tracks_and_empty_ones_left_out():
    seg = "<trkseg>{}</trkseg>".format
    data = (
        GPX_HEAD
        + "<trk>"
        + seg(trkpt(0))
        + seg("")
        + seg(trkpt(1))
        + "</trk><trk>"
        + seg(trkpt(2) + trkpt(3))
        + "</trk></gpx>"
    )
    assert gpxfile.read(data.encode(), "x").fixes.segment.tolist() == [0, 1, 2, 2]


def test_a_point_without_a_time_is_kept_out_and_counted():
    found = gpxfile.read(gpx(trkpt(0), trkpt(None), trkpt(2)), "x")
    assert len(found.fixes) == 2
    assert skips(found) == {"track point without a time": 1}


@pytest.mark.parametrize(
    ("lat", "lon", "kept"),
    [
        (90, 0.1, True),
        (-90, -180, True),
        (90.001, 0, False),
        (0.1, 179.99, True),
        (0.1, 180, False),
        (0.1, -180.01, False),
        ("nan", 0, False),
        ("abc", 0, False),
        ("", "", False),
        (0, 0, False),
    ],
)
@pytest.mark.parametrize("many", [5000, 0])
def test_a_place_outside_gpx_ranges_is_kept_out(lat, lon, kept, many, monkeypatch):
    monkeypatch.setattr(gpxtree, "MANY", many)
    found = gpxfile.read(gpx(trkpt(0, lat, lon), trkpt(1)), "x")
    assert len(found.fixes) == 1 + kept
    assert sum(skips(found).values()) == 1 - kept


def test_one_bad_number_does_not_cost_the_file():
    bad = "<hdop>good</hdop><sat>7.5</sat><fix>rtk</fix>"
    found = gpxfile.read(gpx(trkpt(0, more=bad), trkpt(1)), "x")
    assert len(found.fixes) == 2


def test_a_file_with_a_namespace_prefix_is_read():
    data = gpx(trkpt(0), trkpt(1)).decode()
    data = re.sub(r"<(/?)(gpx|trk|trkseg|trkpt|time)\b", r"<\1g:\2", data).replace(
        "xmlns=", "xmlns:g="
    )
    assert len(gpxfile.read(data.encode(), "x").fixes) == 2


def test_hdop_is_not_an_accuracy_and_our_extension_is():
    found = gpxfile.read(
        gpx(trkpt(0, more="<hdop>1.1</hdop>"), trkpt(1, more=ours(acc_m=3.5))), "x"
    )
    np.testing.assert_array_equal(found.fixes.acc_m, [np.nan, 3.5])


def test_speed_comes_from_gpx_1_0_and_from_extensions_by_local_name():
    old = '<gpx version="1.0" creator="t" xmlns="http://www.topografix.com/GPX/1/0"><trk><trkseg>'
    old += trkpt(0, more="<course>90</course><speed>2.5</speed>") + "</trkseg></trk></gpx>"
    found = gpxfile.read(old.encode(), "x").fixes
    assert (found.speed_m_s[0], found.course_deg[0]) == (2.5, 90)
    wrapped = '<extensions><o:Ext xmlns:o="http://o"><o:speed>1.5</o:speed></o:Ext></extensions>'
    assert gpxfile.read(gpx(trkpt(0, more=wrapped)), "x").fixes.speed_m_s[0] == 1.5
    loose = gpxfile.read(gpx(trkpt(0, more="<speed>1.25</speed>")), "x")
    assert loose.fixes.speed_m_s[0] == 1.25


@pytest.mark.parametrize("many", [5000, 0])
def test_the_lever_state_on_points_becomes_marks_at_its_changes(many, monkeypatch):
    monkeypatch.setattr(gpxtree, "MANY", many)
    states = ["down", "Down", "up", "", "down"]
    points = [trkpt(i, more=ours(lever=s) if s else "") for i, s in enumerate(states)]
    assert levers(gpxfile.read(gpx(*points), "x")) == [(0, "down"), (2, "up"), (4, "down")]


def test_a_lever_in_a_foreign_namespace_is_not_ours():
    foreign = '<extensions><o:lever xmlns:o="http://o">down</o:lever></extensions>'
    assert gpxfile.read(gpx(trkpt(0, more=foreign)), "x").marks == ()


def test_waypoints_named_or_typed_down_or_up_are_lever_marks():
    def wpt(t: str, inside: str) -> str:
        return f'<wpt lat="49.7" lon="-106.2">{t}{inside}</wpt>'

    time = "<time>2026-05-01T12:00:0{}Z</time>".format
    extra = (
        wpt(time(1), "<name>DOWN</name>")
        + wpt(time(2), "<name>7</name><type>up</type>")
        + wpt(time(3), "<name>gate</name>")
        + wpt("", "<name>down</name>")
    )
    found = gpxfile.read(gpx(trkpt(0), extra=extra), "x")
    assert levers(found) == [(1, "down"), (2, "up")]
    assert skips(found) == {
        "waypoint that is not named or typed down or up": 1,
        "waypoint down without a time": 1,
    }


def test_what_is_not_gpx_is_named():
    with pytest.raises(TrackError, match="<html> came"):
        gpxfile.read(b"<html><body/></html>", "x")


def test_more_points_than_memory_is_set_aside_for_are_refused(monkeypatch):
    monkeypatch.setattr(gpxtree, "MOST_POINTS", 2)
    with pytest.raises(TrackError, match="more than 2 points"):
        gpxfile.read(gpx(trkpt(0), trkpt(1), trkpt(2)), "x")


def test_written_gpx_keeps_the_order_of_the_schema():
    """Order of the elements as GPX 1.1's gpx.xsd has it (topografix.com, read there)."""
    text = gpxfile.write(log(3, lever(1.2, "down")))
    root = ET.fromstring(text)
    ns = "{http://www.topografix.com/GPX/1/1}"
    assert root.get("version") == "1.1"
    assert root.get("creator")
    order = [ns + n for n in ("metadata", "wpt", "rte", "trk", "extensions")]
    tops = [order.index(child.tag) for child in root]
    assert tops == sorted(tops)
    inner = [
        ns + n for n in ("ele", "time", "name", "cmt", "desc", "src", "sym", "type", "extensions")
    ]
    for point in [*root.iter(ns + "wpt"), *root.iter(ns + "trkpt")]:
        places = [inner.index(child.tag) for child in point]
        assert places == sorted(places)


def test_a_label_with_markup_survives():
    made = Log(fixes(2, phones=("a <b> & 'c'",)), (lever(0, "down", phone="a <b> & 'c'"),))
    same(gpxfile.read(gpxfile.write(made).encode(), "x"), made)


def test_a_mark_between_fixes_across_180_degrees_lies_between_them():
    made = fixes(2)
    made = Fixes(**{**vars(made), "lon_deg": np.array([179.9999, -179.9999])})
    text = gpxfile.write(Log(made, (lever(0.5, "down"),)))
    lon = float(re.search(r'<wpt lat="[^"]+" lon="([^"]+)"', text).group(1))
    assert abs(lon) > 179.9998


decimal = st.integers(-(10**8), 10**8).map(lambda n: n / 10**6)
numbers = st.one_of(st.just(float("nan")), st.floats(0, 30))


@st.composite
def logs(draw: st.DrawFn) -> Log:
    n = draw(st.integers(1, 12))
    phones = draw(st.sampled_from([("phone",), ("cab", "spare")]))
    who = np.sort(np.array(draw(st.lists(st.integers(0, len(phones) - 1), min_size=n, max_size=n))))
    parts = np.cumsum(np.array(draw(st.lists(st.booleans(), min_size=n, max_size=n))))
    column = lambda s: np.array(draw(st.lists(s, min_size=n, max_size=n)), dtype=np.float64)  # noqa: E731
    lat = np.clip(column(decimal), -90, 90)
    made = Fixes(
        np.array(
            draw(st.lists(st.integers(0, 2 * 10**12), min_size=n, max_size=n)), dtype=np.int64
        ),
        np.where(lat == 0, 1e-6, lat),
        column(st.integers(-18 * 10**7, 18 * 10**7 - 1).map(lambda k: k / 10**6)),
        column(numbers),
        column(numbers),
        column(st.floats(0, 359.99)),
        who,
        np.unique(parts * 2 + who, return_inverse=True)[1],
        phones,
    )
    order = np.lexsort((parts, who))
    made = Fixes(**{k: (v if k == "phones" else v[order]) for k, v in vars(made).items()})
    seg = np.concatenate([[0], np.cumsum(np.diff(made.segment) != 0)])
    words = draw(
        st.lists(st.tuples(st.integers(0, 2 * 10**12), st.sampled_from(["down", "up"])), max_size=4)
    )
    marks = tuple(Mark(t, "lever", phones[0], says={"lever": w, "how": "pad"}) for t, w in words)
    return Log(Fixes(**{**vars(made), "segment": seg}), marks)


@given(logs())
@settings(max_examples=40, deadline=None)
def test_what_is_written_reads_back_the_same(made: Log):
    same(gpxfile.read(gpxfile.write(made).encode(), "x"), made)


@given(logs())
@settings(max_examples=40, deadline=None)
def test_long_files_are_read_as_gpxpy_reads_them(made: Log):
    text = gpxfile.write(made).encode()
    by_gpxpy = gpxfile.read(text, "x")
    keep, gpxtree.MANY = gpxtree.MANY, 0
    try:
        same(gpxfile.read(text, "x"), by_gpxpy)
    finally:
        gpxtree.MANY = keep


def test_words_that_would_hold_gpxpy_up_are_refused():
    """gpxpy looks for the end of a declaration from every `` xmlns``: quadratic in their number."""
    with pytest.raises(TrackError, match="declares nothing"):
        gpxfile.read(gpx(trkpt(0, more="<cmt>" + " xmlns" * 20_000 + "</cmt>")), "x")
    each = '<extensions><o:a xmlns:o="http://o">1</o:a></extensions>'
    assert len(gpxfile.read(gpx(*[trkpt(i, more=each) for i in range(150)]), "x").fixes) == 150
