"""The rig card (TOML) <-> Rig. Every key, its limits and its default: docs/reference/rig-card.md.

Lengths are metres; any key ending ``_m`` is also taken ending ``_ft`` (international feet of
0.3048 m) or ``_in`` (inches of 0.0254 m). An unknown key is refused: a slip of the pen must not
quietly become a default.
"""

from __future__ import annotations

import difflib
import json
import math
import tomllib
from collections.abc import Iterator, Mapping
from datetime import datetime
from typing import Any

from unsown.core.errors import RigError
from unsown.core.words import Cart, PhonePlace, Rig, Times, Tool
from unsown.formats import guard
from unsown.formats.limits import FOOT_M, INCH_M, KINDS, LIMITS
from unsown.formats.moments import iso, to_ms

_TOP = ("name", "kind", "from")
_NEEDED = {
    "towed": ("phone.ahead_of_axle_m", "tractor.axle_to_pin_m", "tool.pin_to_axle_m"),
    "mounted": ("phone.ahead_of_axle_m",),
    "cart-between": (
        "phone.ahead_of_axle_m",
        "tractor.axle_to_pin_m",
        "cart.pin_to_axle_m",
        "cart.axle_to_pin_m",
        "tool.pin_to_axle_m",
    ),
}


def read_rig(data: bytes, where: str) -> Rig:
    """The rig on the card, with a note for every default that changes an answer.

    Raises:
        RigError: not TOML, an unknown or doubled key, a required one missing, or a value that
            no rig has; it says what was expected.
    """
    guard.sized(data, where, guard.RIG_BYTES, RigError)
    try:
        card = tomllib.loads(guard.text(data, where, RigError).replace("\r\n", "\n"))
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise RigError(
            "rig-toml",
            f"The card is not TOML: {error}.",
            where=where,
            hint="Lines look like: width_m = 8.4",
        ) from error
    values = dict(_values(card, where))
    name = card.get("name")
    if not isinstance(name, str) or not name.strip():
        raise _missing("name", 'a text, such as name = "Long drill"', where)
    kind = card.get("kind")
    if kind not in KINDS:
        raise _missing("kind", "one of " + ", ".join(f'"{k}"' for k in KINDS), where, got=kind)
    for key in ("tool.width_m", *_NEEDED[kind]):
        if key not in values:
            limit = LIMITS[key]
            raise _missing(key, f"{limit.what}, {_span(key)}", where)
    if "cart" in card and kind != "cart-between":
        raise RigError(
            "rig-cart",
            f'The card has a [cart], but kind = "{kind}".',
            where=where,
            hint='Write kind = "cart-between" for a cart between tractor and tool; leave [cart] '
            "out for one that follows the tool.",
        )
    notes: list[str] = []
    rig = _build(name.strip(), kind, values, _from(card.get("from"), where), notes)
    _check(rig, where, notes)
    return _with(rig, notes)


def _values(card: Mapping[str, Any], where: str) -> Iterator[tuple[str, float]]:
    """Every number on the card under its full key, in metres, seconds or degrees."""
    tables = sorted({key.partition(".")[0] for key in LIMITS})
    known = [key.partition(".")[2] for key in LIMITS]
    seen: dict[str, str] = {}
    for table, body in card.items():
        if table in _TOP:
            continue
        if table not in tables or not isinstance(body, dict):
            near = _near(table, [*_TOP, *tables])
            loose = table in known or _metric(table) in known
            home = [k for k in LIMITS if k.endswith("." + _metric(table))] if loose else []
            hint = f"It belongs under [{home[0].partition('.')[0]}]." if home else near
            raise RigError("rig-key", f"Unknown key {table!r}.", where=where, hint=hint)
        for key, value in body.items():
            full = f"{table}.{_metric(key)}"
            if full not in LIMITS:
                here = [k.partition(".")[2] for k in LIMITS if k.startswith(table + ".")]
                raise RigError(
                    "rig-key",
                    f"Unknown key {key!r} in [{table}].",
                    where=where,
                    hint=_near(key, here),
                )
            if full in seen:
                raise RigError(
                    "rig-twice",
                    f"[{table}] gives {seen[full]!r} and {key!r}.",
                    where=where,
                    hint="Keep one of them.",
                )
            seen[full] = key
            yield full, _number(full, key, value, where)


def _metric(key: str) -> str:
    for ending in ("_ft", "_in"):
        if key.endswith(ending):
            return key.removesuffix(ending) + "_m"
    return key


def _near(key: str, known: list[str]) -> str:
    found = difflib.get_close_matches(_metric(key), known, n=1, cutoff=0.4)
    return f"Did you mean {found[0]!r}?" if found else "Known: " + ", ".join(known) + "."


def _number(full: str, key: str, value: object, where: str) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise RigError(
            "rig-number", f"{key} = {value!r}: a number was expected, {_span(full)}.", where=where
        )
    unit = FOOT_M if key.endswith("_ft") else INCH_M if key.endswith("_in") else 1.0
    try:
        number = float(value) * unit
    except OverflowError:
        number = math.inf
    low, high, what = LIMITS[full]
    whole = full == "tool.openers"
    if not math.isfinite(number) or not low <= number <= high or (whole and number % 1):
        raise RigError(
            "rig-range",
            f"{key} = {value}: {what} was expected to be {_span(full)}.",
            where=where,
            hint="Measure again, or look at the unit." if not whole else "",
        )
    return number


def _span(full: str) -> str:
    low, high, _ = LIMITS[full]
    if full == "tool.openers":
        return f"a whole number from {low:g} to {high:g}"
    unit = {"m": "m", "s": "s", "deg": "degrees"}[full.rpartition("_")[2]]
    return f"{low:g} to {high:g} {unit}"


def _missing(key: str, expected: str, where: str, got: object = None) -> RigError:
    table, dot, leaf = key.rpartition(".")
    place = f"{leaf} in [{table}]" if dot else key
    came = f"{got!r} came" if got is not None else "it is not there"
    return RigError(
        "rig-missing",
        f"The card needs {place}: {expected}; {came}.",
        where=where,
        hint="See docs/reference/rig-card.md.",
    )


def _from(value: object, where: str) -> int | None:
    if value is None:
        return None
    if not isinstance(value, datetime) or value.tzinfo is None:
        raise RigError(
            "rig-from",
            f"from = {value}: a moment with its zone was expected.",
            where=where,
            hint="Write it like from = 2026-05-01T12:00:00Z, without quotation marks.",
        )
    return to_ms(value)


def _build(
    name: str, kind: Any, values: Mapping[str, float], from_ms: int | None, notes: list[str]
) -> Rig:
    def part(table: str) -> dict[str, Any]:
        return {k.partition(".")[2]: v for k, v in values.items() if k.startswith(table + ".")}

    tool, times = part("tool"), part("times")
    if "openers" in tool:
        tool["openers"] = int(tool["openers"])
    front, rear = tool.get("front_rank_m"), tool.get("rear_rank_m")
    if front is None and rear is None:
        place = "the tractor's rear axle" if kind == "mounted" else "the tool's axle"
        notes.append(f"no ranks on the card: all openers are taken to be at {place}")
    else:
        tool["front_rank_m"] = rear if front is None else front
        tool["rear_rank_m"] = front if rear is None else rear
    if kind == "mounted":
        for key in ("tool.pin_to_axle_m", "tractor.axle_to_pin_m"):
            if key in values:
                notes.append(f"{key} is not used: a mounted tool has no pin of its own")
        tool.pop("pin_to_axle_m", None)
    if not times:
        notes.append("no times on the card: seed is taken to land at the tap")
    cart = part("cart")
    return Rig(
        name=name,
        kind=kind,
        tool=Tool(**tool),
        phone=PhonePlace(**part("phone")),
        axle_to_pin_m=0.0 if kind == "mounted" else values["tractor.axle_to_pin_m"],
        cart=Cart(**cart) if cart else None,
        tightest_m=values.get("turn.tightest_m"),
        times=Times(**times),
        from_ms=from_ms,
    )


def _check(rig: Rig, where: str, notes: list[str]) -> None:
    """What no single number shows: lengths that do not fit together."""
    tool, times = rig.tool, rig.times

    def refuse(message: str, hint: str = "") -> RigError:
        return RigError("rig-fit", message, where=where, hint=hint)

    if tool.rear_rank_m > tool.front_rank_m:
        raise refuse(
            f"rear_rank_m = {tool.rear_rank_m:g} is ahead of front_rank_m = {tool.front_rank_m:g}.",
            "Both are measured ahead of the axle; behind it is negative.",
        )
    if tool.overlap_wish_m >= tool.width_m:
        raise refuse(f"overlap_wish_m = {tool.overlap_wish_m:g} is as wide as the tool.")
    if tool.tine_caution_deg > tool.tine_severe_deg:
        raise refuse("tine_caution_deg is larger than tine_severe_deg.")
    if times.first_starve_s is not None and (
        times.drain_s is None or times.first_starve_s > times.drain_s
    ):
        raise refuse(
            "first_starve_s was expected to be at most drain_s.",
            "Give drain_s, the time until the last hose is empty.",
        )
    if rig.kind != "mounted":
        cart = rig.cart.pin_to_axle_m + rig.cart.axle_to_pin_m if rig.cart else 0.0
        behind = rig.phone.ahead_of_axle_m + rig.axle_to_pin_m + cart + tool.pin_to_axle_m
        if behind - tool.front_rank_m <= 0:
            raise refuse(
                f"The front rank comes out {tool.front_rank_m - behind:.2f} m ahead of the phone.",
                "Look at front_rank_m: it is measured from the tool's axle.",
            )
    if tool.pin_to_axle_m > 12:
        notes.append(
            f"pin_to_axle_m = {tool.pin_to_axle_m:g} m is long (over 12 m): is it to the axle?"
        )
    if tool.openers and tool.spacing_m:
        rows = tool.openers * tool.spacing_m
        if abs(rows - tool.width_m) > 0.05 * tool.width_m:
            notes.append(
                f"{tool.openers} openers x {tool.spacing_m:g} m = {rows:.2f} m, but width_m = "
                f"{tool.width_m:g}: more than 5 % apart; the width is used"
            )


def _with(rig: Rig, notes: list[str]) -> Rig:
    return Rig(**{**{f: getattr(rig, f) for f in rig.__dataclass_fields__}, "notes": tuple(notes)})


def write_rig(rig: Rig) -> str:
    """The card as TOML; reads back the same (notes apart: reading makes its own)."""
    lines = [f"name = {_text(rig.name)}", f'kind = "{rig.kind}"']
    if rig.from_ms is not None:
        lines.append(f"from = {iso(rig.from_ms)}")
    tables: dict[str, dict[str, Any]] = {"phone": vars(rig.phone).copy()}
    if rig.kind != "mounted":
        tables["tractor"] = {"axle_to_pin_m": rig.axle_to_pin_m}
    if rig.cart:
        tables["cart"] = vars(rig.cart).copy()
    tables["tool"] = vars(rig.tool).copy()
    if rig.kind == "mounted":
        del tables["tool"]["pin_to_axle_m"]
    tables["turn"] = {"tightest_m": rig.tightest_m}
    tables["times"] = vars(rig.times).copy()
    for table, body in tables.items():
        given = {k: v for k, v in body.items() if v is not None}
        if given:
            lines += ["", f"[{table}]", *(f"{k} = {_plain(v)}" for k, v in given.items())]
    return "\n".join(lines) + "\n"


def _text(value: str) -> str:
    """A TOML basic string: JSON's, with DEL escaped as well."""
    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")


def _plain(value: float | int) -> str:
    return str(value) if isinstance(value, int) else repr(float(value))
