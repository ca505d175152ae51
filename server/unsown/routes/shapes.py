"""Shapes of what goes in and out, as JSON Schema: one place, used for checks and descriptions."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

Shape = Mapping[str, Any]
SAFE = 2**53 - 1


def obj(needs: Mapping[str, Shape], may: Mapping[str, Shape] | None = None) -> dict[str, Any]:
    """An object with keys that must be there and keys that may; others are not refused."""
    out: dict[str, Any] = {"type": "object", "properties": {**needs, **(may or {})}}
    return out | ({"required": list(needs)} if needs else {})


def closed(needs: Mapping[str, Shape], may: Mapping[str, Shape] | None = None) -> dict[str, Any]:
    """The same for what comes in: an unknown key is a slip and is refused."""
    return {**obj(needs, may), "additionalProperties": False}


def array(of: Shape, **limits: int) -> dict[str, Any]:
    """A list of one shape."""
    return {"type": "array", "items": of, **limits}


def text(most: int = 200, least: int = 0, **more: Any) -> dict[str, Any]:
    """A text of limited length."""
    return {"type": "string", "minLength": least, "maxLength": most, **more}


def file_name(given: str | None) -> str:
    """What to call a file in messages: never a path, and never used as one."""
    return (given or "file").replace("\\", "/").rpartition("/")[2][:80] or "file"


def maybe(shape: Shape) -> dict[str, Any]:
    """The shape, or null where it is not known."""
    return {"anyOf": [shape, {"type": "null"}]}


TEXT = {"type": "string"}
TEXTS = array(TEXT)
COUNT = {"type": "integer", "minimum": 0}
NUMBER = {"type": "number"}
FLAG = {"type": "boolean"}
ANY: dict[str, Any] = {"type": "object"}
MS = {"type": "integer", "description": "UTC milliseconds since 1970"}
VERSION = {"type": "integer", "minimum": 1, "maximum": 2**31 - 1}
BASED_ON = {
    "anyOf": [{**VERSION, "minimum": 0}, {"type": "null"}],
    "description": "the version this was made from; refused (409) if a newer one was saved since",
}
SEASON = {"type": "integer", "minimum": 1970, "maximum": 2099, "description": "calendar year"}
DAY = {
    "type": "string",
    "pattern": r"^(19[7-9][0-9]|20[0-9]{2})-(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])$",
    "description": "a day as the farm counts it, YYYY-MM-DD",
}
ID = {"type": "string", "pattern": r"^[A-Za-z0-9_-]{1,64}$"}
DEV = {
    "type": "string",
    "pattern": r"^[A-Za-z0-9][A-Za-z0-9._-]{0,63}$",
    "description": "label of the phone or device that wrote it",
}
FIRST = {"type": "integer", "minimum": 1, "maximum": SAFE, "description": "number of the first"}
HA = {"type": "number", "description": "hectares"}
MAYBE_HA = maybe(HA)
WHY = text(200, description="why, in a few words; shown in the history")
MAY = {"enum": ["keeper", "rider"], "description": "keeper adds to the log, rider only looks"}

_AREAS = ("sown_ha", "bare_ha", "bare_low_ha", "bare_high_ha", "doubt_ha")

NAMED: dict[str, Any] = {
    "Error": obj(
        {
            "error": closed(
                {"code": TEXT, "message": TEXT, "where": TEXT, "hint": TEXT},
            )
        },
        {"held": {**COUNT, "description": "of entries: the last number held without a gap"}},
    ),
    "GeoJSON": {
        "type": "object",
        "required": ["type", "features"],
        "properties": {
            "type": {"const": "FeatureCollection"},
            "features": array(
                {
                    "type": "object",
                    "required": ["type", "geometry", "properties"],
                    "properties": {
                        "type": {"const": "Feature"},
                        "geometry": {
                            "type": "object",
                            "required": ["type", "coordinates"],
                            "properties": {"type": TEXT, "coordinates": {"type": "array"}},
                        },
                        "properties": {"type": ["object", "null"]},
                    },
                },
                maxItems=10_000,
            ),
        },
        "description": "RFC 7946, WGS 84 longitude and latitude in degrees",
    },
    "Paddock": obj(
        {"id": ID, "name": TEXT, "version": VERSION, "net_ha": HA, "keep_out_ha": HA},
        {"boundary": TEXT, "bounds": array(NUMBER), "away": FLAG, "geojson": ANY,
         "history": array({"$ref": "#/components/schemas/Version"})},
    ),
    "Rig": obj(
        {"id": ID, "name": TEXT, "version": VERSION, "card": ANY},
        {"notes": TEXTS, "toml": TEXT, "rig": ANY, "away": FLAG,
         "history": array({"$ref": "#/components/schemas/Version"})},
    ),
    "Version": obj({"version": VERSION, "t_ms": MS, "why": TEXT}, {"name": TEXT}),
    "Saved": obj({"id": ID, "version": VERSION, "notes": TEXTS}),
    "Settings": obj({"version": COUNT, "units": {"enum": ["ha", "ac"]},
                     "land": {"enum": ["paddock", "field"]}, "zone": TEXT, "day_start": TEXT,
                     "currency": TEXT, "farm": maybe(TEXT), "prices": ANY,
                     "trip_min": maybe(NUMBER), "example": ANY}),
    "Board": obj(
        {
            "season": SEASON,
            "seasons": array({"type": "integer"}),
            "paddocks": array(
                obj(
                    {"id": ID, "name": TEXT, "net_ha": HA,
                     "state": {"enum": ["not begun", "part", "sown", "loose ends", "computing",
                                        "failed"]}},
                    dict.fromkeys(_AREAS, MAYBE_HA)
                    | {"loose_ends": COUNT, "questions": COUNT, "last_day": maybe(TEXT)},
                )
            ),
            "phones": array(ANY),
            "unplaced": obj({"fixes": COUNT, "days": TEXTS}),
        },
        {"rivals": array(obj({"earlier": DEV, "later": DEV, "since_ms": MS, "until_ms": MS}))},
    ),
    "Work": obj(
        {"state": {"enum": ["ready", "computing", "failed", "none"]}, "stale": FLAG,
         "tally": maybe(ANY), "runs": array(ANY), "days": TEXTS, "area_check": maybe(ANY)},
        {"head": {}, "reason": maybe(TEXT),
         **dict.fromkeys(("waste", "worth", "hours", "handover"), maybe(ANY)),
         "bins": maybe(array(ANY)),
         "taken": {**array(ANY), "description": "presses that Oops took back, not answered for"},
         "rig": {**maybe(TEXT), "description": "whose bins, hours and handover, of several rigs"}},
    ),
    "Timeline": obj(
        {"from_ms": maybe(MS), "to_ms": maybe(MS), "speed": array(array(maybe(NUMBER))),
         "lever": array(ANY), "questions": array(ANY), "doubt": array(array(NUMBER)),
         "place": array(array(NUMBER))},
        {"rigs": array(ANY)},
    ),
    "Job": obj({"state": TEXT, "part": maybe(NUMBER)},
               {"before": maybe(ANY), "after": maybe(ANY)}),
    "Held": obj({"held": COUNT}, {"kept": COUNT, "again": COUNT,
                                  "wanted": array(array(COUNT)), "notes": TEXTS,
                                  "also": maybe(DEV)}),
    "Phone": obj({"dev": DEV, "name": TEXT, "may": MAY, "paired_ms": MS,
                  "withdrawn_ms": maybe(MS), "seen_ms": maybe(MS), "held": COUNT, "known": COUNT},
                 {"odd_clock": COUNT}),
    "Pairing": obj({"code": TEXT, "url": TEXT, "until_ms": MS, "qr": TEXT, "may": MAY}),
    "Claim": obj({"dev": DEV, "token": TEXT, "may": MAY, "name": TEXT}),
    "Hello": obj({"unsown": {"const": 1}, "version": TEXT, "engine": TEXT,
                  "who": {"enum": ["desk", "keeper", "rider", "nobody"]}, "passphrase": FLAG,
                  "yard": FLAG, "farm": maybe(TEXT), "dev": maybe(TEXT)}),
    "Yard": obj({"address": maybe(TEXT), "trust": maybe(TEXT), "qr": maybe(TEXT),
                 "fingerprint": maybe(TEXT),
                 "notices": array(obj({"code": TEXT, "message": TEXT, "hint": TEXT}))}),
    "Taken": obj({"name": TEXT, "kind": TEXT, "devs": TEXTS, "kept": COUNT, "again": COUNT,
                  "days": TEXTS, "notes": TEXTS}),
    "Brought": obj({"geojson": ANY, "notes": TEXTS}, {"area_ha": HA, "sigma_ha": maybe(NUMBER)}),
    "Entry": {
        "type": "object",
        "required": ["t_ms", "kind"],
        "properties": {"t_ms": {"type": "integer", "minimum": -8_640_000_000_000_000,
                                "maximum": 8_640_000_000_000_000},
                       "kind": text(40, 1)},
        "description": "an entry of the log without v, dev and seq; see docs/reference/log.md",
    },
}  # fmt: skip


def named(name: str) -> dict[str, str]:
    """A reference to one of NAMED."""
    return {"$ref": f"#/components/schemas/{name}"}


HELLO, YARD = named("Hello"), named("Yard")
PADDOCK, RIG, SAVED, SETTINGS = named("Paddock"), named("Rig"), named("Saved"), named("Settings")
BOARD, WORK, TIMELINE, JOB = named("Board"), named("Work"), named("Timeline"), named("Job")
HELD, PHONE, PAIRING, CLAIM = named("Held"), named("Phone"), named("Pairing"), named("Claim")
TAKEN, BROUGHT = named("Taken"), named("Brought")
#: Going in, shapes stand whole: a check has no other place to look.
GEOJSON, ENTRY = NAMED["GeoJSON"], NAMED["Entry"]
ENTRIES = array(ENTRY, minItems=1, maxItems=2_000)
FILE = {"type": "string", "format": "binary", "description": "a file"}
