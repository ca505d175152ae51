"""The invented farm, put into an empty store through the same doors as a real one."""

from __future__ import annotations

import json
import tomllib
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
}  # fmt: skip
PADDOCKS = ("Dry Ladle", "Quillback", "Bent Culvert")


def put_in(farm: Farm) -> bool:
    """Puts paddocks, rig card, settings and the demo day in; False where it is there already.

    Raises:
        UnsownError: another farm is kept in that folder.
    """
    named = farm.settings()["farm"]
    if named == SETTINGS["farm"]:
        return False
    if named or farm.paddocks(away=True):
        raise UnsownError(
            "demo-folder",
            "Another farm is kept in this data folder; the invented one is not put beside it.",
            where="--demo",
            hint="Give an empty folder with --data.",
        )
    from unsown.demo.farm import demo_day, field  # noqa: PLC0415
    from unsown.demo.write import paddock_text  # noqa: PLC0415
    from unsown.formats import log  # noqa: PLC0415
    from unsown.formats.rig import write_rig  # noqa: PLC0415

    day = demo_day()
    for name in PADDOCKS:
        made = field(name)
        text = paddock_text(made.paddock(), made.plane)
        farm.save_paddock(None, json.loads(text), None, "drawn on paper")
    farm.save_rig(None, tomllib.loads(write_rig(day.rig)), None, "measured with a tape")
    farm.take_file("morning.jsonl", log.write(day.log, number_lines=True).encode())
    farm.save_settings(SETTINGS, None)  # last: it says that all of it is in
    return True
