"""The lever's vectors: what taps and movement must come to, in any language.

``given``: ``times`` of the rig card, ``width_m``, ``taps`` as [seconds, word]; where movement
matters also ``t_s``, ``x_m``, ``y_m`` of a phone that sits on the (mounted) tool. ``expect``:
``runs`` as [down, up, on, off] in seconds, ``doubts`` as [from, to, why], ``questions`` as
[kind, from, to].
"""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose

from unsown.core.clean import clean
from unsown.core.infer import as_runs, infer
from unsown.core.lever import time_runs
from unsown.core.told import tapped
from unsown.core.trail import trail
from unsown.core.words import Mark, Rig, Times, Tool

FOLDER = Path(__file__).resolve().parents[1] / "vectors" / "lever"
CASES = sorted(p.name for p in FOLDER.glob("*.json"))


def test_there_are_cases() -> None:
    assert len(CASES) >= 5


@pytest.mark.parametrize("name", CASES)
def test_the_engine_answers_as_the_lever_vector_says(name: str) -> None:
    case = json.loads((FOLDER / name).read_text(encoding="utf-8"))
    assert set(case) == {"why", "given", "expect", "tolerance"}
    given, expect = case["given"], case["expect"]
    within = case["tolerance"]["seconds"]
    rig = Rig("vector", "mounted", Tool(given["width_m"]), times=Times(**given["times"]))
    marks = [Mark(round(1000 * t), "lever", says={"lever": w}) for t, w in given["taps"]]
    taps, _ = tapped(marks, 0)
    if "t_s" not in given:
        words = [(round(1000 * t.t_s), "down" if t.down else "up") for t in taps]
        pairs = [(a[0], b[0]) for a, b in zip(words[::2], words[1::2], strict=True)]
        runs = time_runs(pairs, [rig], 0)
    else:
        t, x, y = (np.array(given[k], dtype=np.float64) for k in ("t_s", "x_m", "y_m"))
        none = np.full(len(t), np.nan)
        track = clean(t, x, y, acc_m=none, speed_m_s=none, course_rad=none)
        found = infer(track, trail(track, rig), rig, taps)
        runs = [r for r in as_runs(found, [rig], 0) if r.sure]
        assert [d.why for d in found.doubts] == [d[2] for d in expect["doubts"]]
        assert [q.kind for q in found.questions] == [q[0] for q in expect["questions"]]
        spans = [(d.from_s, d.to_s) for d in found.doubts]
        assert_allclose(spans or 0.0, [d[:2] for d in expect["doubts"]] or 0.0, atol=within)
        asked = [(q.from_s, q.to_s) for q in found.questions]
        assert_allclose(asked or 0.0, [q[1:] for q in expect["questions"]] or 0.0, atol=within)
    got = [(r.down_s, r.up_s, r.on_s, r.off_s) for r in runs]
    assert len(got) == len(expect["runs"])
    assert_allclose(got, expect["runs"], rtol=0, atol=within)
