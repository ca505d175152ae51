"""A handover as JSON and back: what is kept of it is facts, words are made when it is shown."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from unsown.core.handover import Aboard, Handover, Spot, Step, Stopped, Unclosed
from unsown.core.place import Place


def to_json(h: Handover) -> dict[str, Any]:
    """The handover under its own names."""
    return asdict(h)


def from_json(said: Mapping[str, Any]) -> Handover:
    """The handover that ``to_json`` gave."""
    stopped = said["stopped"]
    lists = {key: tuple(said[key]) for key in ("hazards", "outs", "pegs", "machine")}
    return Handover(
        **{
            **{key: said[key] for key in Handover.__dataclass_fields__},
            **lists,
            **{key: tuple(map(_spot, said[key])) for key in ("rest", "loose", "look")},
            "stopped": stopped and Stopped(**{**stopped, "place": Place(**stopped["place"])}),
            "aboard": tuple(Aboard(**each) for each in said["aboard"]),
            "steps": tuple(map(_step, said["steps"])),
        }
    )


def _step(said: Mapping[str, Any]) -> Step:
    seam = said.get("seam")
    told = seam and Unclosed(**{**seam, "rigs": tuple(seam["rigs"])})
    return Step(**{**said, "patches": tuple(said["patches"]), "seam": told})


def _spot(said: Mapping[str, Any]) -> Spot:
    return Spot(**{**said, "place": Place(**said["place"])})
