"""What is taken in: one schema, whole or not at all, safe to repeat, clashes kept apart."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

import farms
from unsown.formats.log import KINDS
from unsown.service import intake
from unsown.service.farm import Farm
from unsown.service.words import FarmError, IntakeError

PAGE = Path(__file__).resolve().parents[2] / "docs/reference/log.md"
EXAMPLES = [json.loads(x) for x in re.findall(r"`(\{\"v\".*?\})` \|", PAGE.read_text("utf-8"))]


@pytest.fixture
def farm(tmp_path: Path):
    with farms.farm_in(tmp_path) as made:
        yield made


def refused(farm: Farm, first: int, body: bytes, dev: str = "cab") -> IntakeError:
    with pytest.raises(IntakeError) as told:
        farm.take_entries(dev, first, body)
    return told.value


def line(**says: object) -> bytes:
    return json.dumps({"v": 1, "dev": "cab", "seq": 1, "t_ms": farms.NOW_MS, **says}).encode()


def test_the_page_shows_an_example_of_every_kind() -> None:
    assert sorted(e["kind"] for e in EXAMPLES) == sorted(["fix", *KINDS])


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda e: e["kind"])
def test_the_schema_knows_every_kind_of_the_page(farm: Farm, example: dict) -> None:
    entry = {**example, "dev": "cab", "seq": 1}
    assert farm.take_entries("cab", 1, farms.body([entry])).kept == 1


NEEDED = {
    "fix": "lat_deg", "lever": "lever", "flow": "flow", "mark": "what", "fill": "product",
    "peg": "lon_deg", "shift": "shift", "blind": "from_ms", "rig": "card", "walk": "to_ms",
    "undo": "of", "phone": "what",
}  # fmt: skip


@pytest.mark.parametrize("kind", NEEDED)
def test_an_entry_without_what_its_kind_needs_is_refused(farm: Farm, kind: str) -> None:
    example = next(e for e in EXAMPLES if e["kind"] == kind)
    entry = {k: v for k, v in example.items() if k != NEEDED[kind]} | {"dev": "cab", "seq": 1}
    error = refused(farm, 1, farms.body([entry]))
    assert error.code == "intake-entry"
    assert NEEDED[kind] in error.message
    assert error.where == "line 1"
    assert farm.held("cab").held == 0


def test_kinds_and_fields_of_a_later_version_are_kept_as_they_came(farm: Farm) -> None:
    raw = line(kind="moon", phase=[1, {"a": None}])
    assert farm.take_entries("cab", 1, raw).kept == 1
    assert farms.lines_held(farm, "cab") == {1: raw}


BAD = {
    "intake-json": b'{"v":1,',
    "intake-encoding": b'{"v":1,"kind":"\xff"}',
    "intake-empty": b"\n",
    "intake-order": line(seq=2, kind="stop"),
    "intake-dev": line(dev="other", kind="stop"),
    "intake-line": line(kind="say", prompt="x" * intake.MOST_LINE),
    "intake-entry": line(kind="fix", lat_deg="north", lon_deg=1),
}


@pytest.mark.parametrize("code", BAD)
def test_what_is_no_entry_is_refused_with_its_own_code(farm: Farm, code: str) -> None:
    assert refused(farm, 1, BAD[code]).code == code
    assert farms.evidence(farm)["writers"] == []


@pytest.mark.parametrize("word", ["NaN", "Infinity", "-Infinity"])
def test_numbers_that_json_does_not_know_are_refused(farm: Farm, word: str) -> None:
    raw = line(kind="fix", lat_deg=1, lon_deg=2).replace(
        b'"lat_deg": 1', b'"lat_deg": ' + word.encode()
    )
    assert word in refused(farm, 1, raw).message


def test_a_place_that_is_not_on_earth_is_data_and_is_kept(farm: Farm) -> None:
    assert farm.take_entries("cab", 1, line(kind="fix", lat_deg=95.0, lon_deg=-500)).kept == 1


def test_too_many_bytes_or_lines_are_refused_before_they_are_read(farm: Farm, monkeypatch) -> None:
    monkeypatch.setattr(intake, "parsed", lambda *_: pytest.fail("it was read"))
    assert refused(farm, 1, b"x" * (intake.MOST_BYTES + 1)).code == "intake-large"
    assert refused(farm, 1, b"{}\n" * (intake.MOST_LINES + 1)).code == "intake-large"


def test_a_bad_line_anywhere_keeps_the_whole_sending_out(farm: Farm) -> None:
    good = farms.body(farms.fixes("cab", 1, 700)).splitlines()
    error = refused(farm, 1, b"\n".join([*good[:650], b"{", *good[651:]]))
    assert error.where == "line 651"
    assert farm.held("cab").held == 0


def test_a_gap_is_refused_with_the_number_that_was_expected(farm: Farm) -> None:
    farm.take_entries("cab", 1, farms.body(farms.fixes("cab", 1, 10)))
    error = refused(farm, 12, farms.body(farms.fixes("cab", 12, 5)))
    assert (error.code, error.held) == ("intake-gap", 10)
    assert "11" in error.message
    assert farm.held("cab").wanted == ()


def test_sending_the_same_again_or_overlapping_changes_nothing(farm: Farm) -> None:
    entries = farms.fixes("cab", 1, 50)
    farm.take_entries("cab", 1, farms.body(entries))
    before = farms.evidence(farm)
    held = farm.take_entries("cab", 1, farms.body(entries))
    assert (held.held, held.kept, held.again) == (50, 0, 50)
    assert farms.evidence(farm) == before
    more = farm.take_entries("cab", 40, farms.body(farms.fixes("cab", 1, 60)[39:]))
    assert (more.held, more.kept, more.again) == (60, 10, 11)


def test_the_same_json_written_otherwise_is_the_same_entry_and_the_first_bytes_stay(
    farm: Farm,
) -> None:
    first = b'{"v":1,"dev":"cab","seq":1,"t_ms":5,"kind":"fill","product":"s","kg":50}'
    other = b'{"kind":"fill", "kg":50.0, "product":"\\u0073","t_ms":5,"seq":1,"dev":"cab","v":1}'
    farm.take_entries("cab", 1, first)
    assert farm.take_entries("cab", 1, other).again == 1
    assert farms.lines_held(farm, "cab") == {1: first}


def test_true_is_not_one(farm: Farm) -> None:
    farm.take_entries("cab", 1, line(kind="moon", full=1))
    assert refused(farm, 1, line(kind="moon", full=True)).code == "intake-clash"


def test_another_content_under_a_number_is_refused_and_both_are_kept(farm: Farm) -> None:
    farm.take_entries("cab", 1, farms.body(farms.fixes("cab", 1, 10)))
    before = farms.lines_held(farm, "cab")
    other = [{**e, "lat_deg": 1.0} if e["seq"] == 7 else e for e in farms.fixes("cab", 1, 20)]
    error = refused(farm, 1, farms.body(other))
    assert (error.code, error.held) == ("intake-clash", 10)
    assert "7" in error.message
    assert farms.lines_held(farm, "cab") == before  # 11 to 20 were not kept either
    (found,) = farm.disputes()
    assert json.loads(found["held"])["lat_deg"] == farms.fixes("cab", 1, 10)[6]["lat_deg"]
    assert json.loads(found["came"])["lat_deg"] == 1.0
    refused(farm, 1, farms.body(other))
    assert len(farm.disputes()) == 1


def test_a_wrong_clock_is_kept_as_evidence_and_noted(farm: Farm) -> None:
    claim = farm.claim(farm.new_pairing("keeper", "cab").code, "cab")
    ahead, back = farms.NOW_MS + 86_400_000, 60_000  # tomorrow, and 1970
    entries = [
        {"v": 1, "dev": claim.dev, "seq": n, "t_ms": t, "kind": "stop"}
        for n, t in enumerate([farms.NOW_MS, ahead, back], 1)
    ]
    held = farm.take_entries(claim.dev, 1, farms.body(entries))
    assert (held.held, len(held.notes)) == (3, 2)
    assert "ahead" in " ".join(held.notes)
    assert farms.lines_held(farm, claim.dev) == dict(enumerate(farms.body(entries).splitlines(), 1))
    (phone,) = farm.phones()
    assert phone.odd_clock == 2
    assert farm.board()["seasons"] == [2025]


@pytest.mark.parametrize("dev", ["", "a/b", "..", "x" * 65, "cab\n", "é"])
def test_a_writer_has_a_plain_label(farm: Farm, dev: str) -> None:
    assert refused(farm, 1, line(kind="stop"), dev).code == "intake-dev"


def test_desk_entries_get_the_desks_numbers_whole_or_not_at_all(farm: Farm) -> None:
    down = {"t_ms": 5, "kind": "lever", "lever": "down", "how": "afterwards"}
    assert farm.desk_entries([down, {"t_ms": 6, "kind": "undo", "of": 3, "dev": "cab"}]) == [1, 2]
    with pytest.raises(FarmError) as told:
        farm.desk_entries([down, {"t_ms": 7, "kind": "lever", "lever": "sideways"}])
    assert "Entry 2" in told.value.message
    assert farm.desk_entries([{**down, "seq": 9, "dev": "me", "v": 7}]) == [3]
    held = [json.loads(x) for x in farms.lines_held(farm, farm.desk).values()]
    assert [e["dev"] for e in held] == [farm.desk] * 3
    assert held[1]["of_dev"] == "cab"


def test_desks_of_two_farms_never_have_the_same_label(tmp_path: Path) -> None:
    with farms.farm_in(tmp_path / "a") as one, farms.farm_in(tmp_path / "b") as two:
        assert one.desk != two.desk
