"""The phone hears forgotten taps with the scores that are fitted at home."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from unsown.core import scores as fitted
from web import days

sys.path.insert(0, str(days.WEB))
import scores


def test_the_phone_has_the_scores_of_the_engine_at_home() -> None:
    # python web/scores.py writes them anew
    assert scores.PAGE.read_text(encoding="utf-8") == scores.page()


def test_it_reads_them_to_the_hundredth(tmp_path: Path) -> None:
    runner = days.bundle(tmp_path, "scored")
    ran = subprocess.run([days.node(), str(runner)], check=True, capture_output=True, text=True)
    read = json.loads(ran.stdout)
    for name in scores.TABLES:
        tables = getattr(fitted, name)
        assert read[name].keys() == tables.keys()
        for sign, values in tables.items():
            assert read[name][sign] == np.round(values.ravel(), 2).tolist(), (name, sign)


def test_a_score_that_two_digits_cannot_tell_is_refused() -> None:
    with pytest.raises(ValueError, match="expected scores between"):
        scores.text(np.array([-15.69]))
