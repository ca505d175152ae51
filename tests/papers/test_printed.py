"""The papers as Chromium prints them: pages, sizes, what lies where, what can be read."""

from __future__ import annotations

import itertools
import json
import os
import shutil
import subprocess
import sys
import unicodedata
from collections.abc import Callable, Mapping
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

import tallies
from papers import given
from unsown.papers import STYLE, STYLE_PATH, handover, sheet, slip

PX_MM = 96 / 25.4
PX_PT = 96 / 72
SAMPLES = Path(__file__).resolve().parents[2] / "sample_tracks"
MADE_MS = given.T_MS + 86_400_000


@cache
def sample(name: str) -> dict[str, Any]:
    return given.from_folder(SAMPLES / name)


def sheet_of(made: Mapping[str, Any], settings: Mapping[str, Any] = given.SETTINGS) -> str:
    return sheet.page(made["work"], made["paddock"], made["rig"], settings, MADE_MS)


def slip_of(*makes: Mapping[str, Any], settings: Mapping[str, Any] = given.SETTINGS) -> str:
    rows = [given.today(made) | {"id": f"p{n}"} for n, made in enumerate(makes)]
    return slip.page({"day": "2025-05-03", "paddocks": rows}, settings, MADE_MS)


def handover_of(made: Mapping[str, Any], settings: Mapping[str, Any] = given.SETTINGS) -> str:
    return handover.page(made["work"], made["paddock"], settings, MADE_MS)


SHEETS: Mapping[str, Callable[[], str]] = {
    "sheet-by-hand": lambda: sheet_of(given.by_hand()),
    "sheet-acres": lambda: sheet_of(given.by_hand(), given.ACRES),
    "sheet-crowded": lambda: sheet_of(given.crowded()),
    "sheet-questions": lambda: sheet_of(sample("forgotten-taps")),
    "sheet-corners": lambda: sheet_of(sample("corners-lifted")),
    "sheet-180": lambda: sheet_of(sample("far-south")),
    "sheet-begun-not": lambda: sheet_of(given.nothing("none")),
    "sheet-failed": lambda: sheet_of(given.nothing("failed", "There is no rig card.")),
    "sheet-tall": lambda: sheet_of(given.nothing("none", scale=(0.25, 1.4))),
    "sheet-wide": lambda: sheet_of(given.nothing("none", scale=(1.4, 0.25))),
    "sheet-weighed": lambda: sheet_of(given.with_upshot(given.by_hand())),
    "sheet-weighed-crowded": lambda: sheet_of(given.with_upshot(given.crowded())),
    "sheet-no-rig": lambda: sheet_of(given.by_hand() | {"rig": None}),
}
SLIPS: Mapping[str, Callable[[], str]] = {
    "slip-one": lambda: slip_of(given.by_hand()),
    "slip-one-crowded": lambda: slip_of(given.crowded()),
    "slip-two": lambda: slip_of(given.crowded(), sample("forgotten-taps")),
    "slip-three": lambda: slip_of(given.crowded(), given.by_hand(), given.crowded()),
    "slip-five": lambda: slip_of(*[given.crowded()] * 5),
    "slip-thirty": lambda: slip_of(*[given.crowded()] * 30),
    "slip-none": slip_of,
    "slip-weighed": lambda: slip_of(given.with_upshot(given.by_hand())),
    "slip-weighed-crowded": lambda: slip_of(given.with_upshot(given.crowded())),
    "slip-weighed-two": lambda: slip_of(*[given.with_upshot(given.crowded())] * 2),
    "slip-weighed-three": lambda: slip_of(*[given.with_upshot(given.crowded())] * 3),
}
HANDOVERS: Mapping[str, Callable[[], str]] = {
    "handover-one": lambda: handover_of(given.with_upshot(given.by_hand())),
    "handover-acres": lambda: handover_of(given.with_upshot(given.by_hand()), given.ACRES),
    "handover-crowded": lambda: handover_of(given.with_upshot(given.crowded())),
    "handover-nothing": lambda: handover_of(given.nothing("none")),
}
ALL = [*SHEETS, *SLIPS, *HANDOVERS]


@pytest.fixture(scope="session")
def printed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder with every paper as NAME.html, NAME.pdf and NAME.json."""
    chromium = os.environ.get("UNSOWN_CHROMIUM") or shutil.which("chromium")
    if chromium is None:
        words = "no chromium on the PATH: apt-get install chromium, or set UNSOWN_CHROMIUM"
        if os.environ.get("CI"):
            pytest.fail(words)
        pytest.skip(words)
    folder = tmp_path_factory.mktemp("papers")
    shutil.copy(STYLE, folder / "paper.css")
    for name, make in {**SHEETS, **SLIPS, **HANDOVERS}.items():
        text = make()
        assert text.count(STYLE_PATH) == 1
        (folder / f"{name}.html").write_text(text.replace(STYLE_PATH, "paper.css"), "utf-8")
    printer = Path(__file__).with_name("printer.py")
    subprocess.run([sys.executable, str(printer), chromium, str(folder)], check=True, timeout=300)
    return folder


@cache
def _measured(path: Path) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    return found


def measured(folder: Path, name: str) -> dict[str, Any]:
    return _measured(folder / f"{name}.json")


def words(folder: Path, name: str, page: int = 0) -> str:
    """The text of a page as a program finds it in the PDF, in one line."""
    text = PdfReader(folder / f"{name}.pdf").pages[page].extract_text()
    for joined in "ﬀﬁﬂﬃﬄ":
        text = text.replace(joined, unicodedata.normalize("NFKC", joined))
    return " ".join(text.split())


def wide(box: list[float]) -> float:
    return box[2] - box[0]


def apart(a: list[float], b: list[float], slack: float = 0.0) -> bool:
    return (
        a[2] <= b[0] + slack or b[2] <= a[0] + slack or a[3] <= b[1] + slack or b[3] <= a[1] + slack
    )


@pytest.mark.parametrize("name", ALL)
def test_a_sheet_is_two_a4_pages_and_a_slip_one(printed: Path, name: str) -> None:
    pages = PdfReader(printed / f"{name}.pdf").pages
    assert len(pages) == (2 if name in SHEETS else 1)
    for page in pages:
        size = (float(page.mediabox.width), float(page.mediabox.height))
        assert size == pytest.approx((210 / 25.4 * 72, 297 / 25.4 * 72), abs=1)


@pytest.mark.parametrize("name", ALL)
def test_nothing_is_cut_off(printed: Path, name: str) -> None:
    found = measured(printed, name)
    assert [page["over"] for page in found["pages"]] == [[0, 0]] * len(found["pages"])
    for text in found["texts"]:
        for box in text["boxes"]:
            inside = any(
                box[0] >= p["box"][0] - 1
                and box[2] <= p["box"][2] + 1
                and box[1] >= p["box"][1] - 1
                and box[3] <= p["box"][3] + 1
                for p in found["pages"]
            )
            assert inside, text["text"]


@pytest.mark.parametrize("name", ALL)
def test_no_letter_is_smaller_than_nine_points(printed: Path, name: str) -> None:
    small = {t["text"]: t["size"] / PX_PT for t in measured(printed, name)["texts"]}
    assert min(small.values()) >= 8.99, min(small, key=lambda text: small[text])


@pytest.mark.parametrize("name", ALL)
def test_no_two_lines_of_text_lie_on_each_other(printed: Path, name: str) -> None:
    lines = [
        (text["text"], box)
        for text in measured(printed, name)["texts"]
        if not text["svg"]
        for box in text["boxes"]
    ]
    for (one, a), (other, b) in itertools.combinations(lines, 2):
        # letters of neighbouring lines keep clear of each other; their boxes touch a little
        assert apart(a, b, slack=3.0), f"{one!r} and {other!r}"


@pytest.mark.parametrize("name", SHEETS)
def test_the_map_is_sixteen_centimetres_wide_and_its_bar_is_true(printed: Path, name: str) -> None:
    found = measured(printed, name)
    assert wide(found["map"]) >= 160 * PX_MM
    west, _, east, _ = _extent(name)
    length, unit = found["barText"].split()
    metres = float(length) * {"m": 1.0, "ft": 0.3048}[unit]
    # the bar on the paper for its own length, against the fence on the paper for its true width
    on_paper = wide(found["fence"]) / (east - west)
    assert wide(found["bar"]) / metres == pytest.approx(on_paper, rel=0.005)


def _extent(name: str) -> tuple[float, float, float, float]:
    """West, south, east, north of the paddock on its plane, m, straight from what was given."""
    from unsown.core.plane import Plane
    from unsown.formats.boundary import read_paddock

    made = {
        "sheet-questions": lambda: SAMPLES / "forgotten-taps",
        "sheet-corners": lambda: SAMPLES / "corners-lifted",
        "sheet-180": lambda: SAMPLES / "far-south",
    }.get(name)
    if made is not None:
        area = read_paddock((made() / "paddock.geojson").read_bytes(), name).area
        lon, lat = zip(*[p for part in area.geoms for p in part.exterior.coords], strict=True)
        plane = Plane.around(lon, lat)
        bounds: tuple[float, float, float, float] = plane.shape_to_xy(area).bounds
        return bounds
    scale = {"sheet-tall": 0.25, "sheet-wide": 1.4}.get(name, 1.0)
    west, south, east, north = tallies.outline().bounds
    middle, half = (west + east) / 2, (east - west) / 2 * scale
    return middle - half, south, middle + half, north


@pytest.mark.parametrize("name", SHEETS)
def test_the_sticker_can_be_cut_out_without_hurting_the_back(printed: Path, name: str) -> None:
    found = measured(printed, name)
    front, back = (page["box"] for page in found["pages"])
    top = found["sticker"][1] - front[1]
    assert found["free"][1] - back[1] <= top + 1
    for text in found["texts"]:
        for box in text["boxes"]:
            below = box[1] - back[1] > top
            assert not below or text["text"].startswith("Left free"), text["text"]


@pytest.mark.parametrize("name", ["sheet-by-hand", "sheet-questions", "sheet-corners", "slip-one"])
def test_the_numbers_of_the_patches_keep_off_each_other(printed: Path, name: str) -> None:
    discs = measured(printed, name)["discs"]
    assert len(discs) >= 4 or name.startswith("slip")
    for a, b in itertools.combinations(discs, 2):
        assert apart(a, b, slack=0.25 * wide(a))


def test_the_front_says_what_to_do_next_and_how_sure(printed: Path) -> None:
    text = words(printed, "sheet-by-hand")
    for needed in (
        *("Dry Ladle", "Ninepost Coulee", "season 2025", "printed 4 May 2025 08:10"),
        "Go back for 3 bare patches",
        *(
            "2 sure and 1 likely",
            "Look at the furrow at patch 3",
            "Ask the driver first: 1 question",
        ),
        *("low wire", "Only what was marked is here", "gate", "filled 3 May 08:10: seed 2400 kg"),
        *("count 4 after the phone crosses", "3½ s before the phone crosses"),
        *("Look where you drive", "3 m (10 ft) from any line", "Never under a raised tool"),
    ):
        assert needed in text, needed


def test_the_back_has_a_grid_to_draw_on_and_six_columns_for_fills(printed: Path) -> None:
    text = words(printed, "sheet-by-hand", 1)
    for head in ("Time", "Seed in, kg", "Fertiliser in, kg", "Fuel in, L", "Where", "Who"):
        assert head in text
    assert "one square is 50 m by 50 m, 0.25 ha" in text
    assert "one square is 1 ac" in words(printed, "sheet-acres", 1)


def test_the_slip_says_sown_twice_bare_and_next(printed: Path) -> None:
    text = words(printed, "slip-one")
    for needed in ("Saturday 3 May 2025", "sown", "sown twice", "bare", "doubt", "Go back for"):
        assert needed in text, needed
    assert "No position" not in text  # the question's kind in short, with boxes to tick
    assert "?1 3 May 08:10 to 08:12: no position the tool was down up unsure" in text


def test_a_day_with_many_paddocks_says_how_many_more_there_are(printed: Path) -> None:
    assert "and 10 more paddocks" in words(printed, "slip-thirty")
    assert "Nothing was logged on this day" in words(printed, "slip-none")


def test_the_handover_says_what_to_do_where_and_what_to_read_out(printed: Path) -> None:
    text = words(printed, "handover-one")
    for needed in (
        *("Handover: Dry Ladle", "Go back for", "worth it", "The way: tick when done"),
        *("seed about 800 kg", "lasts at least 6.4 ha", "openers stopped", "new today: wire"),
        *("on the map: B pole", "Read out over the radio", "New hazard: wire."),
        *("not where to steer", "3 m (10 ft)", "morning to"),
    ):
        assert needed in text, needed
    assert "ft from the" in words(printed, "handover-acres")
    blank = words(printed, "handover-nothing")
    assert "Not begun" in blank
    assert "radio" not in blank


def test_the_slip_shows_the_causes_with_the_band_and_what_is_one_s_own_choice(
    printed: Path,
) -> None:
    text = words(printed, "slip-weighed")
    for needed in (
        *("Sown again", "3.22 ha (3.08 to 3.38 ha)", "5.4 % of the sown ground", "380 kg seed"),
        *("between runs", "2.43 ha C$ 4", "not explained", "0.04 ha", "2.24 ha (C$"),
        *("your own choice", "worth it"),
    ):
        assert needed in text, needed
    assert "example" not in text
    assert "The map, drawn from places that wander, shows 1.55 ha" in text
    total = words(printed, "slip-weighed-two")
    assert "sown twice on the map 3.09 ha, by width times way 6.44 ha, C$" in total


@pytest.mark.parametrize("name", ALL)
def test_no_rim_lies_on_the_edge_where_a_printer_would_take_it(printed: Path, name: str) -> None:
    paper = 190 * PX_MM
    for page in measured(printed, name)["pages"]:
        assert wide(page["box"]) <= paper - 1


@pytest.mark.parametrize(
    "name", ["sheet-crowded", "slip-two", "slip-five", "slip-thirty", "handover-crowded"]
)
def test_a_long_name_stands_whole_so_that_two_that_begin_alike_are_told_apart(
    printed: Path, name: str
) -> None:
    whole = given.crowded()["paddock"]["name"]
    shown = whole if name != "slip-thirty" else whole[:40]
    assert shown in words(printed, name)


@pytest.mark.parametrize("name", ALL)
def test_no_script_runs_on_paper(printed: Path, name: str) -> None:
    assert measured(printed, name)["scripts"] == 0
