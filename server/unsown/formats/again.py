"""What was sown again, for programs and for people: the headline, its band, and its causes."""

from __future__ import annotations

from typing import Any

from unsown.core.waste import Waste
from unsown.formats.units import Units

#: Causes smaller than this part of a hectare are not worth a line.
_LEAST_HA = 0.005
#: None is told finer than this, ha.
_FINEST_HA = 0.01


def to_waste(again: Waste) -> dict[str, Any]:
    """The key ``waste`` of ``--twice --json``; docs/reference/json.md has every part."""
    return {
        "again_ha": round(again.again_ha, 5),
        "low_ha": round(again.low_ha, 5),
        "high_ha": round(again.high_ha, 5),
        "share": round(again.share, 5),
        "causes": {name: round(ha, 5) for name, ha in again.causes.items()},
        "spread_ha": {name: round(ha, 5) for name, ha in again.spread_ha.items()},
        "unexplained_ha": round(again.unexplained_ha, 5),
        "wished_ha": round(again.wished_ha, 5),
        "seeded_ha": round(again.seeded_ha, 5),
        "finished": again.finished,
    }


def again_rows(again: Waste, units: Units) -> list[str]:
    """The same as lines of a table."""
    area = units.area
    low, high = area(again.low_ha).split()[0], area(again.high_ha)
    head = (
        f"Sown again, by width times way: {area(again.again_ha)} ({low} to {high}), "
        f"{100 * again.share:.1f} % of the sown ground"
    )
    causes = sorted(again.causes.items(), key=lambda item: -item[1])
    rows = [(name, ha) for name, ha in causes if ha >= _LEAST_HA]
    off = {name: area(max(again.spread_ha[name], _FINEST_HA)).split()[0] for name, _ in rows}
    lines = [f"  {name:<16}{area(ha):>10}  ± {off[name]}" for name, ha in rows]
    lines.append(f"  {'not explained':<16}{area(again.unexplained_ha):>10}")
    if again.wished_ha >= _LEAST_HA:
        lines.append(
            f"  Of what lies between runs, {area(again.wished_ha)} is your own choice: "
            "the overlap wished on the rig card."
        )
    if not again.finished:
        lines.append("  The paddock is not finished: much of this may change.")
    return [head + ":", *lines]
