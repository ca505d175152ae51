"""What is wanted of each preset, and whether a figure reaches it."""

from __future__ import annotations

from dataclasses import dataclass

from soak.figures import Figure

Range = tuple[float, float]


@dataclass(frozen=True)
class Wanted:
    """Ranges of a preset: medians of ratios, the middle 80 % of days, least shares."""

    bare: Range
    middle: Range
    listed: Range
    found: float
    real: float
    band_width: float | None = None
    holds: Range = (0.80, 0.97)


WANTED = {
    "rtk": Wanted((0.97, 1.03), (0.93, 1.07), (0.95, 1.05), 0.98, 0.98),
    "good": Wanted((0.9, 1.15), (0.8, 1.4), (0.9, 1.1), 0.93, 0.93, 0.8),
    "typical": Wanted((0.85, 1.25), (0.7, 1.6), (0.85, 1.2), 0.88, 0.90, 1.2),
    "poor": Wanted((0.8, 1.4), (0.6, 2.0), (0.8, 1.3), 0.80, 0.90),
    "slow": Wanted((0.8, 1.4), (0.6, 2.0), (0.8, 1.3), 0.80, 0.90),
}


@dataclass(frozen=True)
class Check:
    """One figure beside what is wanted of it."""

    preset: str
    what: str
    said: str
    wanted: str
    reached: bool
    near: bool


def within(
    preset: str, what: str, figure: Figure, wanted: Range, said: str, scale: float, unit: str
) -> Check:
    """Whether a figure lies in a range; ``near``: its interval at least touches the range.

    The range is written down times ``scale`` with its ``unit``.
    """
    low, high = wanted
    text = f"{scale * low:g} to {scale * high:g}{unit}"
    if high == float("inf"):
        text = f"at least {scale * low:g}{unit}"
    elif low == float("-inf"):
        text = f"at most {scale * high:g}{unit}"
    reached = low <= figure.value <= high
    return Check(preset, what, said, text, reached, figure.low <= high and figure.high >= low)
