"""Numbers are said alike at home and on the pages: the same table for both."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from unsown.formats.units import Units

SAID = json.loads(Path(__file__).with_name("said.json").read_text("utf-8"))


@pytest.mark.parametrize("name", ["area", "size", "distance", "road"])
def test_a_number_is_said_as_the_pages_say_it(name: str) -> None:
    for value, ha, ac in SAID[name]:
        assert getattr(Units(), name)(value) == ha
        assert getattr(Units(acres=True), name)(value) == ac
