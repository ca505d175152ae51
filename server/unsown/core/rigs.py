"""What a day says of several rigs in one paddock; ``words.Tally`` holds it, so it stands below."""

from __future__ import annotations

from dataclasses import dataclass

from shapely.geometry import Point


@dataclass(frozen=True)
class Share:
    """What one rig did: its first card's name, its phones, and areas of its own strips."""

    name: str
    phones: tuple[str, ...]
    sown_ha: float
    swept_ha: float
    down_km: float
    hours: float


@dataclass(frozen=True)
class Between:
    """The seam between two of ``Tally.rigs``: mean gap and sigma, m; chance that it is bare."""

    rigs: tuple[int, int]
    length_m: float
    gap_m: float
    sigma_m: float
    chance: float
    place: Point
