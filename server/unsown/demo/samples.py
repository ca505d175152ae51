"""Remakes the sample days: ``python -m unsown.demo.samples [FOLDER]``.

Each is a small invented day with its track, paddock, rig card, what to expect of it, and a note
on where it came from.
"""

from __future__ import annotations

import json
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from unsown.demo.write import paddock_text, summary
from unsown.formats import gpx, log
from unsown.formats.rig import write_rig
from unsown.sim.day import SimDay, day


@dataclass(frozen=True)
class Sample:
    """One sample day: its folder, what it shows, how it is made.

    ``within`` says how near a good engine comes: relative errors by figure.
    """

    name: str
    shows: str
    seed: int
    track: str
    make: dict[str, Any]
    within: dict[str, float]


_EXACT = {"sown_ha": 0.001, "bare_ha": 0.05, "twice_ha": 0.03, "swept_ha": 0.002}
_PHONE = {"swept_ha": 0.01}
_PLAIN = {"speed": False, "course": False, "accuracy": False}

SAMPLES = (
    Sample(
        "corners-lifted",
        "Two laps with the tool lifted in every corner, then runs; exact positions, one fix "
        "each 2 s. Finds the corners and two gross mistakes with the lever.",
        21,
        "gpx",
        {
            "rig": "demo",
            "area_ha": 4.0,
            "shape": "quad",
            "keep_outs": 0,
            "corners": "lift",
            "gross": 2,
            "hz": 0.5,
        }
        | {"halts": 1, "halt_max_s": 120.0, "backs": 0, **_PLAIN},
        _EXACT | {"bare_ha": 0.1},
    ),
    Sample(
        "missed-run",
        "One whole run left out between two others; a phone of the good kind, with a peg stop "
        "before and after. The gap of one width must be listed.",
        22,
        "jsonl",
        {
            "rig": "twelve",
            "area_ha": 5.5,
            "shape": "quad",
            "keep_outs": 0,
            "corners": "keep",
            "gross": 0,
        }
        | {
            "missed_runs": 1,
            "wanders": 0,
            "halts": 0,
            "backs": 0,
            "creeps": 0,
            "preset": "good",
            "pegs": True,
            "hz": 0.5,
        },
        _PHONE,
    ),
    Sample(
        "stone-pile",
        "Runs swerve round a stone pile and leave a pocket before and behind it; exact "
        "positions; one reverse in mid-run.",
        23,
        "gpx",
        {
            "rig": "six",
            "area_ha": 3.6,
            "shape": "ell",
            "keep_outs": 1,
            "corners": "keep",
            "gross": 1,
            "hz": 0.5,
        }
        | {"laps": 1, "halts": 0, "backs": 1, **_PLAIN},
        _EXACT | {"bare_ha": 0.1},
    ),
    Sample(
        "far-south",
        "A mounted tool on a paddock that the 180th meridian crosses, south of the equator; "
        "turns made with a reverse; exact positions.",
        24,
        "jsonl",
        {
            "rig": "mounted",
            "area_ha": 4.0,
            "shape": "wedge",
            "keep_outs": 0,
            "backing_turns": 0.6,
            "hz": 0.5,
        }
        | {
            "lat_deg": -41.2,
            "lon_deg": -179.9999,
            "halts": 0,
            "gross": 2,
        },
        _EXACT,
    ),
    Sample(
        "forgotten-taps",
        "A typical phone; a seventh of the taps was forgotten and the rest come up to 4 s "
        "late; a blind stretch.",
        25,
        "jsonl",
        {
            "rig": "twelve",
            "area_ha": 6.0,
            "shape": "quad",
            "keep_outs": 0,
            "missing": 0.14,
            "late_s": 4.0,
        }
        | {
            "gaps": 1,
            "halts": 1,
            "halt_max_s": 200.0,
            "preset": "typical",
            "hz": 0.5,
        },
        {},
    ),
)


def make(sample: Sample) -> SimDay:
    """The simulated day behind a sample."""
    return day(sample.seed, size="small", **sample.make)


def write_sample(sample: Sample, folder: Path) -> None:
    """Writes one sample into ``folder``."""
    made = make(sample)
    folder.mkdir(parents=True, exist_ok=True)
    track = gpx.write(made.log) if sample.track == "gpx" else log.write(made.log)
    about = summary(made)
    expect = {
        "shows": sample.shows,
        "true": {k: about[k] for k in about if k.endswith("_ha")},
        "within": sample.within,
        "misses": about["misses"],
    }
    files = {
        f"track.{sample.track}": track,
        "paddock.geojson": paddock_text(made.paddock, made.plane),
        "rig.toml": write_rig(made.rig),
        "expect.json": json.dumps(expect, indent=1) + "\n",
        "README.md": _note(sample, made),
    }
    for name, text in files.items():
        (folder / name).write_text(text, encoding="utf-8")


def _note(sample: Sample, made: SimDay) -> str:
    hours = made.drive.time.t[-1] / 3600
    return (
        f"# {sample.name}\n\n{sample.shows}\n\n"
        f"Invented: made by `python -m unsown.demo.samples` with seed {sample.seed} "
        f"(receiver: {made.logging.preset}). Nothing in it is a real place or a real drive.\n\n"
        f"{made.rig.name}, {made.truth.net_m2 / 1e4:.1f} ha, {hours:.1f} h. "
        "`expect.json` has the truth (hectares, and every bare patch of 6 m² and more), and "
        "under `within` how near an engine is expected to come, as a share of the truth.\n"
    )


def main(arguments: list[str]) -> None:
    """Remakes every sample under the folder named, or ``sample_tracks``."""
    top = Path(arguments[0] if arguments else "sample_tracks")
    for sample in SAMPLES:
        write_sample(sample, top / sample.name)


if __name__ == "__main__":
    main(sys.argv[1:])
