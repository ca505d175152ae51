"""Writes the cases of what hangs on an answer: ``python tests/vectors/asked.py``, all by hand."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from vectors.made import box, case

T0_MS = 1_778_775_600_000
#: A run in doubt of 8 m by 200 m, and one as long 40 m north of it.
SOUTH, NORTH = box(0, 100, 200, 108), box(0, 148, 200, 156)
#: A bare strip 4 m off the one, 12 m off it, and one between both that is 8 m from either.
NEAR, FAR = box(50, 112, 90, 116), box(50, 120, 90, 124)
BETWEEN = box(50, 116, 90, 140)


def run(from_s: float, to_s: float, *doubt: Any, outfit: int = 0) -> dict[str, Any]:
    return {"on_s": from_s, "off_s": to_s, "outfit": outfit, "doubt": list(doubt)}


def question(from_s: float, to_s: float, phone: str = "") -> dict[str, Any]:
    times = {"from_ms": T0_MS + round(1000 * from_s), "to_ms": T0_MS + round(1000 * to_s)}
    return {**times, "phone": phone}


def asked(
    name: str, why: str, patches: list[tuple[Any, float]], asks: list[list[int]], **given: Any
) -> None:
    sizes = [(r[2][0] - r[0][0]) * (r[2][1] - r[0][1]) * chance for r, chance in patches]
    closes = sum(size for size, mine in zip(sizes, asks, strict=True) if mine)
    case(
        f"hangs/{name}",
        why,
        {
            "patches": [{"ring": ring, "chance": chance} for ring, chance in patches],
            **{"doubt": [SOUTH], "runs": [run(600, 700, SOUTH)]},
            **{"questions": [question(600, 700)], "outfits": {"cab": 0}, "t0_ms": T0_MS},
            **given,
        },
        {"asks": asks, "may_close": closes / sum(sizes)},
        {},
    )


def main() -> None:
    asked("beside", "4 m from a run that is asked about; 12 m is too far; a sure one stays.",
          [(NEAR, 0.7), (FAR, 0.7), (NEAR, 0.95)], [[1], [], []])  # fmt: skip
    asked("cannot_tell", "What nobody can tell hangs on the answer as well.", [(NEAR, 0.3)], [[1]])
    asked("between_two", "Between two runs in doubt: both are asked about.",
          [(BETWEEN, 0.8), (NEAR, 0.8)], [[1, 2], [1]],
          doubt=[SOUTH, NORTH], runs=[run(600, 700, SOUTH), run(900, 1000, NORTH)],
          questions=[question(600, 700), question(900, 1000)])  # fmt: skip
    asked("not_asked_again", "The run beside it was answered with not sure: no answer is open.",
          [(NEAR, 0.7)], [[]],
          doubt=[SOUTH, NORTH], runs=[run(600, 700, SOUTH), run(900, 1000, NORTH)],
          questions=[question(900, 1000)])  # fmt: skip
    asked("sown_over", "Along the run all was sown by others: no ground is in doubt there.",
          [(NEAR, 0.7)], [[]], doubt=[NORTH])  # fmt: skip
    asked("a_blind_stretch", "A sure run with a blind stretch in it, asked about for its minute.",
          [(NEAR, 0.7), (box(50, 96, 90, 99), 0.65)], [[1], [1]],
          runs=[run(500, 900, SOUTH)], questions=[question(640, 700)])  # fmt: skip
    asked("next_in_time", "The question ends as the run begins: it is about the one before.",
          [(NEAR, 0.7)], [[]], questions=[question(500, 600)])  # fmt: skip
    asked("another_rig", "Asked of the other rig, which was elsewhere at that time.",
          [(NEAR, 0.7)], [[2]], runs=[run(600, 700, SOUTH, outfit=1)],
          questions=[question(600, 700, "west"), question(600, 700, "east")],
          outfits={"west": 0, "east": 1})  # fmt: skip


if __name__ == "__main__":
    main()
