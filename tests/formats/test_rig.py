"""The rig card read and written."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from formats.made import CARD
from unsown.core.errors import RigError
from unsown.core.words import Cart, PhonePlace, Rig, Times, Tool
from unsown.formats.limits import LIMITS
from unsown.formats.rig import read_rig, write_rig


def read(text: str) -> Rig:
    return read_rig(text.encode(), "rig.toml")


def with_(table: str, *lines: str, card: str = CARD) -> str:
    """The card with lines added to one of its tables."""
    head = f"[{table}]"
    added = head + "\n" + "\n".join(lines)
    return card.replace(head, added) if head in card else card + "\n" + added + "\n"


def test_the_shortest_card_has_stated_defaults():
    rig = read(CARD)
    assert rig.tool == Tool(width_m=8.4, pin_to_axle_m=6.1)
    assert rig.times == Times()
    assert (rig.phone, rig.axle_to_pin_m, rig.from_ms) == (PhonePlace(0.9, 0.0), 1.05, None)
    assert "no times on the card: seed is taken to land at the tap" in rig.notes
    assert any("no ranks" in note for note in rig.notes)


def test_feet_and_inches_are_taken_for_metres():
    """1 ft = 0.3048 m and 1 in = 0.0254 m, exact: international yard and pound agreement 1959."""
    text = CARD.replace("width_m = 8.4", "width_ft = 28").replace(
        "axle_to_pin_m = 1.05", "axle_to_pin_in = 41"
    )
    rig = read(text)
    assert rig.tool.width_m == pytest.approx(8.5344, abs=1e-12)
    assert rig.axle_to_pin_m == pytest.approx(1.0414, abs=1e-12)


def test_one_rank_alone_stands_for_both():
    assert read(with_("tool", "rear_rank_m = -0.7")).tool.front_rank_m == -0.7
    assert read(with_("tool", "front_rank_m = 1.7")).tool.rear_rank_m == 1.7


def test_a_mounted_tool_needs_no_pin_and_does_not_use_one():
    card = CARD.replace("towed", "mounted")
    rig = read(card)
    assert (rig.axle_to_pin_m, rig.tool.pin_to_axle_m) == (0.0, 0.0)
    assert sum("is not used" in note for note in rig.notes) == 2
    assert any("rear axle" in note for note in rig.notes)


def test_a_cart_between_is_read_and_a_cart_on_another_kind_refused():
    between = with_("cart", "pin_to_axle_m = 4.2", "axle_to_pin_m = 1.1")
    assert read(between.replace("towed", "cart-between")).cart == Cart(4.2, 1.1)
    with pytest.raises(RigError, match=r"has a \[cart\]") as told:
        read(between)
    assert "cart-between" in told.value.hint


def test_a_later_card_has_its_time():
    assert read("from = 2026-05-01T12:00:00Z\n" + CARD).from_ms == 1_777_636_800_000
    assert read("from = 2026-05-01T14:00:00+02:00\n" + CARD).from_ms == 1_777_636_800_000
    for bad in ("2026-05-01", "2026-05-01T12:00:00", '"2026-05-01T12:00:00Z"'):
        with pytest.raises(RigError, match="with its zone"):
            read(f"from = {bad}\n" + CARD)


@pytest.mark.parametrize(
    "key",
    ["name =", "kind =", "width_m", "ahead_of_axle_m", "axle_to_pin_m", "pin_to_axle_m"],
)
def test_what_the_kind_needs_is_asked_for_by_name(key):
    lines = [line for line in CARD.splitlines() if not line.startswith(key)]
    with pytest.raises(RigError) as told:
        read("\n".join(lines))
    assert told.value.code == "rig-missing"
    assert key.split(" ", maxsplit=1)[0] in told.value.message


@pytest.mark.parametrize(
    ("wrong", "near"),
    [("lower", "lower_s"), ("raise_sec", "raise_s"), ("fil_s", "fill_s"), ("drain_S", "drain_s")],
)
def test_a_slip_of_the_pen_is_refused_with_the_nearest_key(wrong, near):
    with pytest.raises(RigError, match="Unknown key") as told:
        read(with_("times", f"{wrong} = 2"))
    assert f"'{near}'" in told.value.hint


def test_a_key_outside_its_table_is_sent_there():
    with pytest.raises(RigError) as told:
        read("width_m = 8.4\n" + CARD)
    assert "[tool]" in told.value.hint


def test_a_key_in_two_units_is_refused():
    with pytest.raises(RigError, match="gives 'width_ft' and 'width_m'"):
        read(with_("tool", "width_ft = 28"))


@pytest.mark.parametrize("value", ["nan", "inf", "-inf", "1e400", "true", '"8"', "[8]", "1e308"])
@pytest.mark.parametrize("key", ["phone.left_of_centre_m", "times.lower_s", "tool.openers"])
def test_what_is_no_plain_number_is_refused(key, value):
    table, _, leaf = key.partition(".")
    with pytest.raises(RigError) as told:
        read(with_(table, f"{leaf} = {value}"))
    assert told.value.code in ("rig-number", "rig-range")


@pytest.mark.parametrize("key", sorted(LIMITS))
@pytest.mark.parametrize("side", [0, 1])
def test_an_implausible_value_is_refused_with_what_was_expected(key, side):
    table, _, leaf = key.partition(".")
    low, high, what = LIMITS[key]
    value = (low - 1, high + 1)[side]
    card = "\n".join(line for line in CARD.splitlines() if not line.startswith(leaf + " ="))
    card = card.replace("towed", "cart-between") if table == "cart" else card
    with pytest.raises(RigError, match="was expected to be") as told:
        read(with_(table, f"{leaf} = {value}", card=card))
    assert what in told.value.message
    assert f"{high:g}" in told.value.message


@pytest.mark.parametrize(
    ("table", "lines", "message"),
    [
        ("tool", ["front_rank_m = 8.1"], "ahead of the phone"),
        ("tool", ["front_rank_m = -1", "rear_rank_m = 1"], "is ahead of front_rank_m"),
        ("tool", ["overlap_wish_m = 9"], "as wide as the tool"),
        ("tool", ["tine_caution_deg = 40"], "larger than tine_severe_deg"),
        ("times", ["first_starve_s = 2"], "at most drain_s"),
        ("times", ["first_starve_s = 2", "drain_s = 1"], "at most drain_s"),
    ],
)
def test_lengths_that_do_not_fit_together_are_refused(table, lines, message):
    with pytest.raises(RigError, match=message):
        read(with_(table, *lines))


def test_openers_times_spacing_far_from_the_width_and_a_long_drawbar_are_noted():
    assert not any("5 %" in n for n in read(with_("tool", "openers = 28", "spacing_m = 0.3")).notes)
    assert any("5 %" in n for n in read(with_("tool", "openers = 26", "spacing_m = 0.3")).notes)
    assert any("12 m" in n for n in read(CARD.replace("6.1", "12.5")).notes)


@pytest.mark.parametrize("text", ["a = = 1", "<rig/>", "[" * 3000, 'name = "x', "\x01"])
def test_what_is_not_toml_is_refused(text):
    with pytest.raises(RigError) as told:
        read(text)
    assert told.value.code in ("rig-toml", "rig-key")


metres = lambda key: st.floats(LIMITS[key].low, LIMITS[key].high)  # noqa: E731


@st.composite
def rigs(draw: st.DrawFn) -> Rig:
    kind = draw(st.sampled_from(["towed", "mounted", "cart-between"]))
    width = draw(metres("tool.width_m"))
    ranks = sorted(draw(st.lists(st.floats(-3, 0.4), min_size=2, max_size=2)))
    drain = draw(st.none() | st.floats(0, 30))
    seconds = {k: draw(st.floats(0, 30)) for k in ("lower_s", "raise_s", "meter_s", "fill_s")}
    towed = kind != "mounted"
    return Rig(
        name=draw(st.text(min_size=1, max_size=12).map(str.strip).filter(bool)),
        kind=kind,
        tool=Tool(
            width_m=width,
            openers=draw(st.none() | st.integers(1, 400)),
            spacing_m=draw(st.none() | metres("tool.spacing_m")),
            pin_to_axle_m=draw(metres("tool.pin_to_axle_m")) if towed else 0.0,
            front_rank_m=ranks[1],
            rear_rank_m=ranks[0],
            overlap_wish_m=draw(st.floats(0, width / 2).filter(lambda v: v <= 10)),
        ),
        phone=PhonePlace(
            draw(st.floats(0, 12)),
            draw(metres("phone.left_of_centre_m")),
            draw(metres("phone.ahead_of_seat_m")),
        ),
        axle_to_pin_m=draw(metres("tractor.axle_to_pin_m")) if towed else 0.0,
        cart=Cart(draw(metres("cart.pin_to_axle_m")), draw(st.floats(0, 8)))
        if kind == "cart-between"
        else None,
        tightest_m=draw(st.none() | metres("turn.tightest_m")),
        times=Times(
            **seconds,
            drain_s=drain,
            first_starve_s=None if drain is None else draw(st.none() | st.floats(0, drain)),
        ),
        from_ms=draw(st.none() | st.integers(0, 4 * 10**12)),
    )


@given(rigs())
@settings(max_examples=80, deadline=None)
def test_what_is_written_reads_back_the_same(rig: Rig):
    assert replace(read(write_rig(rig)), notes=()) == rig
