"""A backup is whole whatever goes on meanwhile; brought back, phones send what it lacks."""

from __future__ import annotations

import sqlite3
import threading
from pathlib import Path

import pytest

import farms
from unsown.service.comeback import come_back
from unsown.service.farm import Farm
from unsown.store.backup import backup
from unsown.store.errors import StoreError
from unsown.store.lock import Lock
from unsown.store.place import NAME


def brought_back(folder: Path, file: Path) -> tuple[list[Path], dict[str, int]]:
    with Lock(folder):
        left, again = come_back(folder, file, farms.NOW_MS)
    return ([left.kept_as] if left.kept_as else []), again


def test_a_backup_made_while_entries_arrive_is_whole_up_to_some_entry(tmp_path: Path) -> None:
    with farms.farm_in(tmp_path / "farm") as farm:
        phones = [farms.Phone(f"cab-{i}") for i in range(3)]
        for phone in phones:
            phone.write(farms.fixes(phone.dev, 1, 3000))
        senders = [threading.Thread(target=p.send, args=(farm, 50)) for p in phones]
        for sender in senders:
            sender.start()
        files = [tmp_path / f"backup-{i}.db" for i in range(4)]
        for file in files:
            assert backup(tmp_path / "farm", file) == file.stat().st_size
        for sender in senders:
            sender.join()
    for i, file in enumerate(files):
        folder = tmp_path / f"other-{i}"
        folder.mkdir()
        brought_back(folder, file)
        with farms.farm_in(folder) as copy:
            assert copy.store.check() == []
            for phone in phones:
                held = copy.held(phone.dev).held
                assert list(farms.lines_held(copy, phone.dev).values()) == phone.log[:held]
            for phone in phones:
                phone.told = 3000  # what the first farm told
                assert phone.send(copy).held == 3000
                assert list(farms.lines_held(copy, phone.dev).values()) == phone.log


def test_a_restored_older_backup_asks_the_phone_for_what_it_lacks(tmp_path: Path) -> None:
    folder = tmp_path / "farm"
    phone = farms.Phone("cab")
    phone.write(farms.day())
    with farms.farm_in(folder) as farm:
        phone.log, rest = phone.log[:200], phone.log[200:]
        phone.send(farm)
    backup(folder, tmp_path / "old.db")
    with farms.farm_in(folder) as farm:
        phone.log += rest
        assert phone.send(farm).held == len(phone.log)
        whole = farms.lines_held(farm, "cab")
    kept, again = brought_back(folder, tmp_path / "old.db")
    assert again == {"cab": len(rest)}
    assert len(kept) == 1
    with farms.farm_in(folder) as farm:
        held = farm.held("cab")
        assert (held.held, held.wanted) == (200, ((201, len(whole)),))
        assert phone.told == len(whole)  # the phone thinks that all is home
        assert phone.send(farm).held == len(whole)
        assert farms.lines_held(farm, "cab") == whole
        assert farm.held("cab").wanted == ()


def test_a_phone_that_goes_on_writing_is_sent_back_to_what_is_missing(tmp_path: Path) -> None:
    phone = farms.Phone("cab")
    phone.write(farms.fixes("cab", 1, 300))
    with farms.farm_in(tmp_path / "farm") as farm:
        phone.log, rest = phone.log[:100], phone.log[100:200]
        phone.send(farm)
        backup(tmp_path / "farm", tmp_path / "old.db")
        phone.log += rest
        phone.send(farm)
    other = tmp_path / "another computer"
    other.mkdir()
    brought_back(other, tmp_path / "old.db")
    phone.write(farms.fixes("cab", 201, 50))
    with farms.farm_in(other) as farm:  # it knows nothing of what the phone was told
        assert phone.send(farm).held == 250
        assert list(farms.lines_held(farm, "cab").values()) == phone.log


def test_the_desk_never_gives_a_number_twice_after_a_restore(tmp_path: Path) -> None:
    folder = tmp_path / "farm"
    entry = {"t_ms": 5, "kind": "lever", "lever": "down", "how": "afterwards"}
    with farms.farm_in(folder) as farm:
        farm.desk_entries([entry])
        backup(folder, tmp_path / "old.db")
        farm.desk_entries([entry | {"t_ms": 6}])
        before = farm.desk
        lost = farms.lines_held(farm, before)
    brought_back(folder, tmp_path / "old.db")
    with farms.farm_in(folder) as farm:
        assert farm.desk != before
        farm.desk_entries([entry | {"t_ms": 7}])
        # what the old store carried out comes back without a clash
        taken = farm.take_file("carried.jsonl", b"\n".join(lost.values()))
        assert (taken.kept, taken.again) == (1, 1)


def test_what_was_withdrawn_or_forgotten_since_the_backup_stays_so(tmp_path: Path) -> None:
    folder = tmp_path / "farm"
    with farms.farm_in(folder) as farm:
        claims = [farm.claim(farm.new_pairing("keeper", n).code, n) for n in ("one", "two")]
        dev = claims[0].dev
        farm.take_entries(dev, 1, farms.body(farms.fixes(dev, 1, 50)))
        backup(folder, tmp_path / "old.db")
        farm.withdraw(claims[1].dev)
        late = farm.claim(farm.new_pairing("keeper", "late").code, "late")
        assert farm.forget_season(farms.SEASON, str(farms.SEASON))["entries"] == 50
    brought_back(folder, tmp_path / "old.db")
    with farms.farm_in(folder) as farm:
        assert farm.phone_of(claims[0].token) is not None
        assert farm.phone_of(claims[1].token) is None
        assert farm.phone_of(late.token) is not None
        assert farms.lines_held(farm, dev) == {}
        assert farm.held(dev).held == 50


def test_a_backup_is_never_written_over(tmp_path: Path) -> None:
    with farms.farm_in(tmp_path / "farm"):
        backup(tmp_path / "farm", tmp_path / "a.db")
        was = (tmp_path / "a.db").read_bytes()
        with pytest.raises(StoreError) as told:
            backup(tmp_path / "farm", tmp_path / "a.db")
    assert told.value.code == "backup-exists"
    assert (tmp_path / "a.db").read_bytes() == was
    assert not list(tmp_path.glob(".*.part"))


def test_a_folder_without_a_store_is_not_backed_up(tmp_path: Path) -> None:
    with pytest.raises(StoreError) as told:
        backup(tmp_path, tmp_path / "a.db")
    assert told.value.code == "store-missing"
    assert list(tmp_path.iterdir()) == []


def damaged(data: bytes) -> bytes:
    return data[: len(data) // 2] + b"\x00" * 8192 + data[len(data) // 2 + 8192 :]


@pytest.mark.parametrize(
    "spoil",
    [lambda d: d[: len(d) // 3], damaged, lambda d: b"", lambda d: b"no database" * 999],
    ids=["cut off", "a hole in it", "empty", "something else"],
)
def test_what_is_no_whole_backup_changes_nothing(tmp_path: Path, spoil) -> None:
    with farms.farm_in(tmp_path / "farm") as farm:
        farm.take_entries("cab", 1, farms.body(farms.fixes("cab", 1, 5000)))
        backup(tmp_path / "farm", tmp_path / "a.db")
    bad = tmp_path / "bad.db"
    bad.write_bytes(spoil((tmp_path / "a.db").read_bytes()))
    with pytest.raises(StoreError) as told:
        brought_back(tmp_path / "farm", bad)
    assert told.value.code == "backup-damaged"
    with farms.farm_in(tmp_path / "farm") as farm:
        assert farm.held("cab").held == 5000
    assert sorted(p.name for p in (tmp_path / "farm").glob("*.db")) == [NAME]


def test_a_backup_of_a_newer_program_is_refused(tmp_path: Path) -> None:
    with farms.farm_in(tmp_path / "farm"):
        backup(tmp_path / "farm", tmp_path / "a.db")
    with sqlite3.connect(tmp_path / "a.db") as conn:
        conn.execute("UPDATE alembic_version SET version_num = '9999'")
    conn.close()
    with pytest.raises(StoreError) as told:
        brought_back(tmp_path / "farm", tmp_path / "a.db")
    assert told.value.code == "store-newer"


def test_a_damaged_store_is_set_aside_whole_and_the_backup_takes_its_place(tmp_path: Path) -> None:
    def fill(farm: Farm) -> None:
        farm.take_entries("cab", 1, farms.body(farms.fixes("cab", 1, 100)))

    with farms.farm_in(tmp_path / "farm") as farm:
        fill(farm)
        backup(tmp_path / "farm", tmp_path / "a.db")
    (tmp_path / "farm" / NAME).write_bytes(b"rubbish" * 1000)
    (kept,), again = brought_back(tmp_path / "farm", tmp_path / "a.db")
    assert kept.read_bytes() == b"rubbish" * 1000
    assert again == {}
    with farms.farm_in(tmp_path / "farm") as farm:
        assert farm.held("cab").held == 100
