"""The invented farm, put into an empty store through the same doors as a real one."""

from __future__ import annotations

import json
import tomllib
from dataclasses import replace
from typing import TYPE_CHECKING

from unsown.core.errors import UnsownError

if TYPE_CHECKING:
    from unsown.service.farm import Farm

#: Invented, as the farm is: money in Canadian dollars.
SETTINGS = {
    "farm": "Ninepost Coulee",
    "zone": "America/Regina",
    "land": "field",
    "currency": "C$",
    "prices": {
        "seed_kg_ha": 118, "seed_price_kg": 0.46, "fert_kg_ha": 105, "fert_price_kg": 0.88,
        "fuel_l_ha": 5.2, "fuel_price_l": 1.35, "tractor_h": 58, "yield_t_ha": 2.4,
        "grain_price_t": 330, "weed_penalty_ha": 150,
    },
    "trip_min": 56,
}  # fmt: skip
#: Each is drawn about the same place; on a farm they lie apart (degrees north and east of it).
PADDOCKS = {"Dry Ladle": (0.0, 0.0), "Quillback": (0.004, 0.026), "Bent Culvert": (-0.014, 0.006)}


def put_in(farm: Farm) -> bool:
    """Puts paddocks, rig card, settings and the demo day in; False where it is there already.

    One that was stopped half-way goes on where it was.

    Raises:
        UnsownError: another farm is kept in that folder.
    """
    kept = farm.settings()
    if kept["farm"] == SETTINGS["farm"] and kept["currency"] == SETTINGS["currency"]:
        return False
    if kept["farm"] not in (None, SETTINGS["farm"]) or (
        kept["farm"] is None and farm.paddocks(away=True)
    ):
        raise UnsownError(
            "demo-folder",
            "Another farm is kept in this data folder; the invented one is not put beside it.",
            where="--demo",
            hint="Give an empty folder with --data.",
        )
    from unsown.core.plane import Plane  # noqa: PLC0415
    from unsown.demo.farm import demo_day, fenced, field  # noqa: PLC0415
    from unsown.demo.write import paddock_text  # noqa: PLC0415
    from unsown.formats import log  # noqa: PLC0415
    from unsown.formats.rig import write_rig  # noqa: PLC0415

    first = {key: value for key, value in SETTINGS.items() if key != "currency"}
    farm.save_settings(first, kept["version"])
    day = demo_day()
    there = {row["name"] for row in farm.paddocks(away=True)}
    for name, (north, east) in PADDOCKS.items():
        if name not in there:
            made = field(name)
            at = Plane(made.plane.lat0_deg + north, made.plane.lon0_deg + east)
            text = paddock_text(fenced(replace(made, plane=at)), at)
            farm.save_paddock(None, json.loads(text), None, "drawn on paper")
    if not farm.rigs(away=True):
        farm.save_rig(None, tomllib.loads(write_rig(day.rig)), None, "measured with a tape")
    farm.take_file("morning.jsonl", log.write(day.log, number_lines=True).encode())
    # last: it says that all of it is in
    farm.save_settings({"currency": SETTINGS["currency"]}, farm.settings()["version"])
    return True
