"""The database keeps its promises, and says what is wrong in words that help."""

from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.runtime.migration import MigrationContext
from sqlalchemy.dialects import postgresql
from sqlalchemy.schema import CreateIndex, CreateTable

import farms
from unsown.service.words import IntakeError
from unsown.store.backup import backup
from unsown.store.errors import StoreError
from unsown.store.place import NAME, data_folder
from unsown.store.schema import metadata
from unsown.store.store import Store
from unsown.store.upgrade import scripts


def test_the_migrations_make_exactly_the_tables_that_are_declared(tmp_path: Path) -> None:
    store = Store.at(tmp_path)
    with store.read() as conn:
        assert compare_metadata(MigrationContext.configure(conn), metadata) == []
        now = MigrationContext.configure(conn).get_current_revision()
    assert now == scripts().get_current_head()
    store.close()


def test_every_table_can_be_made_in_another_database() -> None:
    for table in metadata.sorted_tables:
        made = str(CreateTable(table).compile(dialect=postgresql.dialect()))
        assert f"CREATE TABLE {table.name}" in made.replace('"', "")
        for index in table.indexes:
            assert str(CreateIndex(index).compile(dialect=postgresql.dialect()))


def test_every_connection_waits_for_the_disk_and_holds_foreign_keys(tmp_path: Path) -> None:
    store = Store.at(tmp_path)
    for use in (store.read, store.write):
        with use() as conn:
            asked = {
                name: conn.exec_driver_sql(f"PRAGMA {name}").scalar_one()
                for name in ("journal_mode", "synchronous", "foreign_keys")
            }
        assert asked == {"journal_mode": "wal", "synchronous": 2, "foreign_keys": 1}
    assert store.check() == []
    store.close()


def test_a_transaction_that_fails_leaves_nothing_behind(tmp_path: Path) -> None:
    store = Store.at(tmp_path)

    def half() -> None:
        with store.write() as conn:
            store.set_fact(conn, "half", "done")
            raise RuntimeError

    with pytest.raises(RuntimeError):
        half()
    with store.read() as conn:
        assert store.fact(conn, "half") is None
    store.close()


def test_a_reader_that_stops_half_way_leaves_nobody_in_the_past(tmp_path: Path) -> None:
    from sqlalchemy import select

    from unsown.store.schema import fact

    store = Store.at(tmp_path)
    with store.write() as conn:
        for n in range(500):
            store.set_fact(conn, f"fact-{n}", "old")
    kept = []

    def half() -> None:
        with store.read() as conn:
            rows = conn.execute(select(fact))
            kept.append(rows.fetchone())
            raise RuntimeError

    errors = []
    try:
        half()
    except RuntimeError as error:
        errors.append(error)  # whoever keeps it keeps the half-read rows too
    with store.read(), store.write() as conn:  # the first takes the connection of before
        store.set_fact(conn, "fact-1", "new")
    for _ in range(12):
        with store.read() as conn:
            assert store.fact(conn, "fact-1") == "new"
    assert len(errors) == len(kept) == 1
    store.close()


def test_a_store_of_a_newer_program_is_refused_and_left_as_it_is(tmp_path: Path) -> None:
    Store.at(tmp_path).close()
    with sqlite3.connect(tmp_path / NAME) as conn:
        conn.execute("UPDATE alembic_version SET version_num = '9999'")
    conn.close()
    with pytest.raises(StoreError) as told:
        Store.at(tmp_path)
    assert told.value.code == "store-newer"
    assert "9999" in told.value.message


def test_another_programs_database_is_not_written_to(tmp_path: Path) -> None:
    with sqlite3.connect(tmp_path / NAME) as conn:
        conn.execute("CREATE TABLE theirs (a)")
    conn.close()
    with pytest.raises(StoreError) as told:
        Store.at(tmp_path)
    assert told.value.code == "store-foreign"


@pytest.mark.parametrize("harm", ["rubbish", "middle"])
def test_a_damaged_file_is_told_as_damaged(tmp_path: Path, harm: str) -> None:
    with farms.farm_in(tmp_path) as farm:
        farm.take_entries("cab", 1, farms.body(farms.fixes("cab", 1, 2000)))
    path = tmp_path / NAME
    data = bytearray(path.read_bytes())
    if harm == "rubbish":
        data[:] = b"not a database at all" * 500
    else:
        data[4096 : len(data) - 4096] = b"\xa5" * (len(data) - 8192)
    path.write_bytes(data)
    with pytest.raises(StoreError) as told, farms.farm_in(tmp_path) as farm:
        farm.held("cab")
    assert told.value.code == "store-damaged"
    assert "unsown restore" in told.value.hint


def test_a_full_disk_is_told_and_loses_nothing_that_was_acknowledged(tmp_path: Path) -> None:
    with farms.farm_in(tmp_path) as farm:
        phone = farms.Phone("cab")
        phone.write(farms.fixes("cab", 1, 60_000))

        def small(connection, _record, _proxy):
            connection.execute("PRAGMA max_page_count = 160")

        from sqlalchemy import event

        event.listen(farm.store.engine, "checkout", small)
        with pytest.raises(StoreError) as told:
            phone.send(farm, 600)
        assert told.value.code == "store-full"
        event.remove(farm.store.engine, "checkout", small)
        held = farm.held("cab").held
        assert held == phone.told > 0
        assert list(farms.lines_held(farm, "cab").values()) == phone.log[:held]
    with farms.farm_in(tmp_path) as farm:  # there is room again
        assert phone.send(farm, 6000).held == 60_000
        assert farm.store.check() == []


OPEN = """
import os, sys, tempfile
from pathlib import Path
from unsown.core.errors import UnsownError
from unsown.service.farm import open_farm
if "--powerless" in sys.argv and os.geteuid() == 0:  # root may write anywhere
    with tempfile.TemporaryDirectory() as warm, open_farm(Path(warm), compute=False):
        pass
    os.seteuid(65534)
try:
    with open_farm(Path(sys.argv[1]), compute=False):
        print("opened", flush=True)
        if "--stay" in sys.argv:
            sys.stdin.read()
except UnsownError as error:
    print(error.code)
    print(error)
"""


def opened(folder: Path, *more: str) -> subprocess.CompletedProcess[str]:
    """What another process says that opens the folder."""
    return subprocess.run(
        [sys.executable, "-c", OPEN, str(folder), *more],
        capture_output=True, text=True, timeout=60, check=False,
    )  # fmt: skip


@pytest.mark.skipif(os.name == "nt", reason="rights are of another kind there")
@pytest.mark.parametrize("there_already", [False, True], ids=["no store yet", "a store"])
def test_a_folder_that_may_not_be_written_is_told(tmp_path: Path, there_already: bool) -> None:
    folder = tmp_path / "farm"
    folder.mkdir()
    if there_already:
        with farms.farm_in(folder) as farm:
            farm.take_entries("cab", 1, farms.body(farms.fixes("cab", 1, 3)))
    if os.geteuid() == 0:  # let the powerless one come as far as the folder
        for path in (tmp_path, *tmp_path.parents[:2]):
            path.chmod(0o755)
    folder.chmod(0o555)
    done = opened(folder, "--powerless")
    folder.chmod(0o755)
    assert done.stdout.splitlines()[:1] == ["store-readonly"], done.stderr
    assert "--data" in done.stdout
    if there_already:
        with farms.farm_in(folder) as farm:
            assert farm.held("cab").held == 3


def test_a_data_folder_that_is_a_file_is_told(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("no folder")
    with pytest.raises(StoreError) as told:
        data_folder(tmp_path / "file" / "farm")
    assert told.value.code == "store-readonly"


def test_a_second_process_is_refused_with_the_number_of_the_first(tmp_path: Path) -> None:
    with farms.farm_in(tmp_path):
        done = opened(tmp_path)
        assert done.stdout.splitlines()[:1] == ["store-taken"], done.stderr
        assert f"process {os.getpid()}" in done.stdout
    with farms.farm_in(tmp_path) as farm:  # let go of
        assert farm.held("cab").held == 0


def test_a_process_that_was_killed_lets_go_of_the_folder(tmp_path: Path) -> None:
    words = [sys.executable, "-c", OPEN, str(tmp_path), "--stay"]
    with subprocess.Popen(words, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as first:
        assert first.stdout is not None
        assert first.stdout.readline() == "opened\n"
        with pytest.raises(StoreError) as told, farms.farm_in(tmp_path):
            pass
        assert str(first.pid) in told.value.message
        first.kill()
    with farms.farm_in(tmp_path) as farm:
        assert farm.store.check() == []


def test_an_upload_that_is_cut_off_is_refused_whole(tmp_path: Path) -> None:
    with farms.farm_in(tmp_path) as farm:
        phone = farms.Phone("cab")
        phone.write(farms.fixes("cab", 1, 10))
        phone.send(farm)
        broken = phone.log[3][:-5]
        with pytest.raises(IntakeError) as told:
            farm.take_entries("cab", 11, b"\n".join([*phone.log[:2], broken]))
        assert told.value.held == 10
        assert farm.held("cab").held == 10


@pytest.mark.skipif(os.name == "nt", reason="rights are of another kind there")
def test_store_and_backup_can_be_read_by_their_owner_alone(tmp_path: Path) -> None:
    with farms.farm_in(tmp_path / "farm") as farm:
        farm.take_entries("cab", 1, farms.body(farms.fixes("cab", 1, 9)))
        backup(tmp_path / "farm", tmp_path / "copy.db")
        made = [tmp_path / "farm", tmp_path / "copy.db", *(tmp_path / "farm").glob("unsown.db*")]
        assert len(made) >= 4  # with what SQLite keeps beside the file
        assert [p.stat().st_mode & 0o077 for p in made] == [0] * len(made)
