"""Worth, waste, bins, rates, prices and the handover at the desk, as somebody uses them."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import UTC, datetime
from typing import Any

import pytest
from playwright.sync_api import Page, expect

import farms
import thistle
from browsing import Look, plain, too_small, too_wide, violations
from served import Served, served

#: So much on a hectare that a bin of the small paddock is read closely enough.
RATE, FIRST_KG = 1000, 500


@pytest.fixture(scope="module")
def shed(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """The small farm with a rate, a wished overlap and one fill that runs out on the way."""
    folder = tmp_path_factory.mktemp("shed")
    with farms.farm_in(folder) as farm:
        card = farms.CARD | {"tool": {"width_m": 8, "overlap_wish_m": 0.3}}
        farm.save_settings(
            {"currency": "C$", "prices": {"seed_kg_ha": RATE, "seed_price_kg": 0.05}}, 0
        )
        farm.save_rig(None, card, None)
        farm.save_paddock(None, thistle.shape(), None)
        day = farms.day()
        start = {"t_ms": day[0]["t_ms"] + 500, "kind": "fill", "product": "seed", "kg": FIRST_KG}
        farm.take_file(
            "cab.jsonl", farms.body([*day, {"v": 1, "dev": "cab", "seq": len(day) + 1, **start}])
        )
    with served(folder) as made:
        thistle.settled(made)
        yield made


def work(house: Served) -> dict[str, Any]:
    thistle.settled(house)
    path = f"/api/work/{thistle.paddock(house)}?season={farms.SEASON}"
    found: dict[str, Any] = json.loads(house.ask("GET", path)[2])
    return found


def opened(look: Look, house: Served, path: str, **how: Any) -> Page:
    return look(house, path.format(id=thistle.paddock(house)), **how)


def fit(page: Page) -> None:
    assert violations(page) == []
    assert too_wide(page) == []
    assert too_small(page) == []


@pytest.mark.parametrize(("width", "dark"), [(1366, False), (360, True)])
def test_the_sheet_says_what_is_worth_going_back_for_and_draws_the_way(
    look: Look, shed: Served, width: int, dark: bool
) -> None:
    page = opened(look, shed, "/desk/paddock/{id}", width=width, dark=dark)
    expect(page.locator(".worth-sum")).to_contain_text("1 patch is worth it")
    worth = work(shed)["worth"]
    group = worth["now"]["groups"][0]
    said = plain(page, "#patch-1 .worth")
    assert said.startswith("Worth it · net C$ ")
    assert f"brings C$ {group['value']:.0f}" in said
    expect(page.get_by_text("is yours to judge. Nothing here steers. You decide.")).to_be_visible()
    expect(page.get_by_text("From outside later, with 56 min of road and folding")).to_be_visible()
    expect(page.get_by_text("9 figures are an invented farm's")).to_be_visible()
    page.get_by_text("The way in words").click()
    expect(page.locator("details[open] .lines li").first).to_contain_text("1. Patch 1: ")
    last = page.locator("details[open] .lines li").last
    expect(last).to_contain_text("No gate is set: where the rig first came in is taken.")
    box = page.get_by_label("The way back")
    expect(box).to_be_checked()
    box.uncheck()
    expect(page.locator("#patch-1")).to_be_visible()
    box.check()
    fit(page)


def test_the_day_and_the_season_say_why_ground_was_sown_again_and_what_to_order(
    look: Look, shed: Served
) -> None:
    waste = work(shed)["waste"]
    for path in (f"/desk/day/{farms.DAY}", f"/desk/season/{farms.SEASON}"):
        page = opened(look, shed, path)
        expect(page.locator(".causes")).to_be_visible()
        rows = plain(page, ".causes")
        assert "Not explained" in rows
        assert rows.count("±") == rows.count("C$") - 1  # beside each cause, not what none explains
        assert f"C$ {round(waste['cost']['unexplained']['money'])}" in rows.replace("−", "")
        assert f"{waste['again_ha']:.2f} ha" in plain(page, ".again .spent")
        fit(page)
    order = page.locator("section.panel", has_text="To order for next season")
    expect(order).to_contain_text("seed at 1000.0")
    expect(order).to_contain_text("No rate is set for fertiliser, fuel")


def test_a_price_is_the_farm_s_once_it_is_set_and_an_example_until_then(
    look: Look, shed: Served
) -> None:
    page = opened(look, shed, "/desk/settings/prices")
    field = page.get_by_label("Grain, price of a tonne")
    expect(field).to_have_value("")
    under = page.locator("#why-grain_price_t")
    expect(under).to_have_text("Not set. An invented farm's 330 stands in.")
    bare = plain(page, ".sums")
    field.fill("a lot")
    page.get_by_role("button", name="Save prices").click()
    expect(page.get_by_role("alert")).to_contain_text("Grain, price of a tonne: a number")
    field.fill("400,5")
    assert plain(page, ".sums") != bare  # it is reckoned while one types
    page.get_by_role("button", name="Save prices").click()
    expect(under).to_have_text("Yours.")
    kept = json.loads(shed.ask("GET", "/api/settings")[2])
    assert kept["prices"]["grain_price_t"] == 400.5
    assert kept["prices"]["tractor_h"] is None
    field.fill("")
    page.get_by_role("button", name="Save prices").click()
    expect(under).to_contain_text("stands in")
    thistle.settled(shed)


def test_where_the_bin_ran_out_is_marked_as_doubt_and_bare_and_taken_back(
    look: Look, shed: Served
) -> None:
    before = work(shed)
    out = before["bins"][0]["fills"][0]["out"]
    assert out["from_ms"] < out["at_ms"] < out["to_ms"]
    page = opened(look, shed, "/desk/paddock/{id}/bins")
    panel = page.locator("section.panel", has_text="It ran out behind you")
    expect(panel).to_be_visible()
    panel.get_by_label("It was found empty at").fill("noon")
    panel.get_by_role("button", name="Mark that ground").click()
    expect(panel.get_by_role("alert")).to_contain_text("A time such as 14:20")
    last = before["runs"][-1]["up_ms"]
    found = datetime.fromtimestamp((last + 60_000) / 1000, UTC)
    panel.get_by_label("It was found empty at").fill(f"{found:%H:%M}")
    panel.get_by_role("button", name="Mark that ground").click()
    expect(page.get_by_text("Marked. The day is computed anew.")).to_be_visible()
    after = work(shed)["tally"]
    assert after["doubt_ha"] > before["tally"]["doubt_ha"] + 0.05
    assert after["bare_ha"] > before["tally"]["bare_ha"] + 0.1
    page.get_by_role("button", name="Undo").click()
    expect(page.get_by_text("Taken back. The day is computed anew.")).to_be_visible()
    assert work(shed)["tally"]["bare_ha"] == before["tally"]["bare_ha"]


def test_a_fill_is_typed_in_with_what_was_left_and_tells_the_real_rate(
    look: Look, shed: Served
) -> None:
    last = work(shed)["runs"][-1]["up_ms"]
    at = datetime.fromtimestamp((last + 60_000) / 1000, UTC)
    page = opened(look, shed, "/desk/paddock/{id}/bins")
    page.get_by_text("Add fills").click()
    page.get_by_label("Time", exact=True).fill(f"{at:%H:%M}")
    page.get_by_role("button", name="Keep this fill").click()
    expect(page.get_by_role("alert").last).to_contain_text("an amount above 0")
    page.get_by_label("Filled in").fill("700")
    page.get_by_label("Left in the bin before").fill("20")
    page.get_by_role("button", name="Keep this fill").click()
    expect(page.get_by_text("Fill kept. The day is computed anew.")).to_be_visible()
    (seed,) = work(shed)["bins"]
    assert [f["amount"] for f in seed["fills"]] == [FIRST_KG, 700]
    assert seed["fills"][1]["used"] == FIRST_KG - 20
    assert seed["now"]["kg"] == pytest.approx(720, abs=2)
    expect(page.get_by_text("Really ")).to_be_visible()
    expect(page.locator("table tbody tr")).to_have_count(2)
    fit(page)
    page.get_by_role("button", name="Undo").click()
    expect(page.locator("table tbody tr")).to_have_count(1)


def test_rates_are_reckoned_with_their_formula_while_one_types(look: Look, shed: Served) -> None:
    page = opened(look, shed, "/desk/settings/rate-test", width=360)
    tray = page.locator("section", has_text="Turns of the drive wheel")
    expect(tray.locator("output")).to_have_text("Fill in the numbers above.")
    page.get_by_label("Turns of the drive wheel").fill("25")
    page.get_by_label("Way of the wheel in one turn, m").fill("2,0")
    page.get_by_label("Width of the outlets caught, m").fill("5")
    page.get_by_label("Catches, kg, one after another").fill("2.9 3.0 3.1")
    # 25 x 2 x 5 / 10000 = 0.025 ha; 3 kg on it are 120 kg/ha; 0.1 of 3 is 3.3 %
    expect(tray.locator("output")).to_contain_text("120.0")
    expect(tray.locator("output")).to_contain_text("differ by 3.3")
    expect(tray.locator("output")).not_to_contain_text("catch again")
    expect(tray.locator("output")).to_contain_text("turns × way × width ÷ 10,000")
    page.get_by_label("Catches, kg, one after another").fill("2.4 3.0 3.6")
    expect(tray.locator("output")).to_contain_text("More than 5 %: catch again.")
    target = page.locator("section", has_text="Plants wanted on a square metre")
    for name, value in (
        ("Plants wanted on a square metre", "250"),
        ("Germination, %", "95"),
        ("Establishment, %", "80"),
    ):
        page.get_by_label(name).fill(value)
    target.get_by_label("Weight of 1000 seeds, g").fill("38")
    expect(target.locator("output")).to_contain_text("125.0")  # 250 x 38 / (0.95 x 0.8) / 100
    fit(page)


def test_planning_figures_stand_with_their_formula_and_its_source(look: Look, shed: Served) -> None:
    page = opened(look, shed, "/desk/settings/planning", width=360)

    def answer(title: str, **fields: str) -> str:
        panel = page.locator("section", has=page.get_by_role("heading", name=title, exact=True))
        for label, value in fields.items():
            field = panel.locator(f"#rate-{label}")
            if field.evaluate("e => e.tagName") == "SELECT":
                field.select_option(value)
            else:
                field.fill(value)
        return " ".join(panel.locator("output").inner_text().split())

    said = answer("Diesel", kw="150")
    assert said.startswith("33 (22 to 45) L an hour")  # 0.223 x 150 = 33.45
    assert "ASAE EP496.3" in said
    said = answer("Diesel", load="80", pace="6,72", tank="320")
    assert said.startswith("41 (27 to 55) L an hour")  # (0.22 x 0.8 + 0.096) x 150 = 40.8
    assert "6.1 (3.9 to 8.2) L on a hectare" in said
    assert "A tank lasts about 7.8 h, 53 ha" in said
    said = answer("What a bin holds", crop="barley", volume="124", sow="100")
    assert said.startswith("77 (73 to 81) t m³ × 0.62 t/m³")
    assert "Enough for about 770 ha" in said
    said = answer("What a product brings", product="DAP", rate="100")
    assert said.startswith("N 18.0 kg/ha, P2O5 46.0 kg/ha (20.1 kg/ha as P)")
    said = answer("Two products for nitrogen and phosphate", needN="50", needP="85", first="DAP")
    assert said.startswith("DAP 184.8 kg/ha, urea 36.4 kg/ha")
    said = answer("Two products for nitrogen and phosphate", needN="20")
    assert "urea 0.0 kg/ha" in said
    assert "13.3 kg/ha of nitrogen more than wanted" in said
    said = answer("Turn at the end of a run", radius="10", apart="12", tool="12")
    # 57.16 m long, 22 m deep; back and forth 39.4 m
    assert said.startswith("Loop: 57.2 m long, 22.0 m deep, 28.0 m with the tool's outer half")
    assert "Fishtail (quarter turn, back, quarter turn): 39.4 m long, 10.0 m deep" in said
    said = answer("Turn at the end of a run", apart="24")
    assert said.startswith("Half circle: 35.4 m long, 10.0 m deep")
    assert "Fishtail" not in said
    fit(page)


def test_the_handover_at_home_says_the_eight_lines_and_prints(look: Look, shed: Served) -> None:
    page = opened(look, shed, "/desk/paddock/{id}/handover")
    expect(page.locator("h1")).to_contain_text("Handover: ")
    h = work(shed)["handover"]
    for name, text in h["lines"]:
        if name in ("Ground", "Restart", "Hazards"):
            assert text in plain(page, ".eight")
    assert h["script"] in plain(page, ".script")
    address = page.get_by_role("link", name="Print the handover").get_attribute("href")
    assert address is not None
    status, _, body = shed.ask("GET", address)
    assert status == 200
    assert b"Read out over the radio" in body
    fit(page)
