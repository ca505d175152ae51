"""The phone hears forgotten taps with the scores that are fitted at home."""

from __future__ import annotations

import sys

from web import days

sys.path.insert(0, str(days.WEB))
import scores


def test_the_phone_has_the_scores_of_the_engine_at_home() -> None:
    # python web/scores.py writes them anew
    assert scores.PAGE.read_text(encoding="utf-8") == scores.page()
