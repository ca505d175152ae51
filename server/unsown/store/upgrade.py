"""Brings a store to the newest schema, one migration after another, by alembic."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from alembic.config import Config
from alembic.operations import Operations
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory

from unsown.store.errors import StoreError

if TYPE_CHECKING:
    from unsown.store.store import Store

_HERE = Path(__file__).parent / "migrations"


@cache
def scripts() -> ScriptDirectory:
    """The migrations inside this package."""
    config = Config()
    config.set_main_option("script_location", str(_HERE).replace("%", "%%"))
    return ScriptDirectory.from_config(config)


def upgrade(store: Store) -> None:
    """Runs every migration the store has not seen, all of them in one transaction.

    Raises:
        StoreError: the store was made by a newer program.
    """
    script = scripts()
    with store.read() as conn:
        now = MigrationContext.configure(conn).get_current_revision()
    if now == script.get_current_head():
        return
    if now is not None and now not in {each.revision for each in script.walk_revisions()}:
        raise StoreError(
            "store-newer",
            f"The store was made by a newer unsown (its schema is {now}).",
            where=store.where,
            hint="Install that version or a later one.",
        )

    def steps(revision: Any, _context: Any) -> Any:
        return script._upgrade_revs("head", revision)

    with store.write() as conn:
        context = MigrationContext.configure(conn, opts={"fn": steps})
        with Operations.context(context):
            context.run_migrations()
