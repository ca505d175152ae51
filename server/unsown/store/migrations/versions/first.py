"""The first schema: evidence, things by version, phones, and what is derived."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None


def upgrade() -> None:
    """Makes every table."""
    op.create_table(
        "daily",
        sa.Column("paddock", sa.Text(), nullable=False),
        sa.Column("season", sa.Integer(), nullable=False),
        sa.Column("day", sa.Text(), nullable=False),
        sa.Column("short", sa.Text(), nullable=False),
        sa.Column("body", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint("paddock", "season", "day", name=op.f("pk_daily")),
    )
    op.create_index(op.f("ix_daily_day"), "daily", ["day"], unique=False)
    op.create_table(
        "fact",
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("value", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("key", name=op.f("pk_fact")),
    )
    op.create_table(
        "file",
        sa.Column("sha256", sa.LargeBinary(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("size", sa.BigInteger(), nullable=False),
        sa.Column("data", sa.LargeBinary(), nullable=True),
        sa.Column("said", sa.Text(), nullable=False),
        sa.Column("taken_ms", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("sha256", name=op.f("pk_file")),
    )
    op.create_table(
        "pairing",
        sa.Column(
            "id",
            sa.BigInteger().with_variant(sa.Integer(), "sqlite"),
            autoincrement=True,
            nullable=False,
        ),
        sa.Column("code_sha256", sa.LargeBinary(), nullable=False),
        sa.Column("may", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("until_ms", sa.BigInteger(), nullable=False),
        sa.Column("wrong", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_pairing")),
        sa.UniqueConstraint("code_sha256", name=op.f("uq_pairing_code_sha256")),
        sqlite_autoincrement=True,
    )
    op.create_table(
        "stone",
        sa.Column(
            "id",
            sa.BigInteger().with_variant(sa.Integer(), "sqlite"),
            autoincrement=True,
            nullable=False,
        ),
        sa.Column("season", sa.Integer(), nullable=False),
        sa.Column("from_ms", sa.BigInteger(), nullable=False),
        sa.Column("until_ms", sa.BigInteger(), nullable=False),
        sa.Column("made_ms", sa.BigInteger(), nullable=False),
        sa.Column("entries", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_stone")),
        sqlite_autoincrement=True,
    )
    op.create_table(
        "thing",
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("made_ms", sa.BigInteger(), nullable=False),
        sa.Column("away_ms", sa.BigInteger(), nullable=True),
        sa.PrimaryKeyConstraint("kind", "id", name=op.f("pk_thing")),
    )
    op.create_table(
        "work",
        sa.Column("paddock", sa.Text(), nullable=False),
        sa.Column("season", sa.Integer(), nullable=False),
        sa.Column("stale", sa.Integer(), nullable=False),
        sa.Column("last_day", sa.Text(), nullable=False),
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("state", sa.Text(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("made_ms", sa.BigInteger(), nullable=False),
        sa.Column("took_s", sa.Float(), nullable=False),
        sa.Column("short", sa.Text(), nullable=False),
        sa.Column("body", sa.LargeBinary(), nullable=True),
        sa.Column("ground", sa.LargeBinary(), nullable=True),
        sa.PrimaryKeyConstraint("paddock", "season", name=op.f("pk_work")),
    )
    op.create_index(op.f("ix_work_season"), "work", ["season"], unique=False)
    op.create_table(
        "writer",
        sa.Column("dev", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("held", sa.BigInteger(), nullable=False),
        sa.Column("known", sa.BigInteger(), nullable=False),
        sa.Column("made_ms", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("dev", name=op.f("pk_writer")),
    )
    op.create_table(
        "buried",
        sa.Column("dev", sa.Text(), nullable=False),
        sa.Column("first", sa.BigInteger(), nullable=False),
        sa.Column("last", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(["dev"], ["writer.dev"], name=op.f("fk_buried_dev")),
        sa.PrimaryKeyConstraint("dev", "first", name=op.f("pk_buried")),
    )
    op.create_table(
        "chunk",
        sa.Column(
            "id",
            sa.BigInteger().with_variant(sa.Integer(), "sqlite"),
            autoincrement=True,
            nullable=False,
        ),
        sa.Column("dev", sa.Text(), nullable=False),
        sa.Column("first", sa.BigInteger(), nullable=False),
        sa.Column("last", sa.BigInteger(), nullable=False),
        sa.Column("lines", sa.LargeBinary(), nullable=False),
        sa.Column("sha256", sa.LargeBinary(), nullable=False),
        sa.Column("received", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["dev"], ["writer.dev"], name=op.f("fk_chunk_dev")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_chunk")),
        sa.UniqueConstraint("dev", "first", name=op.f("uq_chunk_dev_first")),
        sqlite_autoincrement=True,
    )
    op.create_index(op.f("ix_chunk_dev_last"), "chunk", ["dev", "last"], unique=False)
    op.create_table(
        "disputed",
        sa.Column(
            "id",
            sa.BigInteger().with_variant(sa.Integer(), "sqlite"),
            autoincrement=True,
            nullable=False,
        ),
        sa.Column("dev", sa.Text(), nullable=False),
        sa.Column("seq", sa.BigInteger(), nullable=False),
        sa.Column("line", sa.LargeBinary(), nullable=False),
        sa.Column("sha256", sa.LargeBinary(), nullable=False),
        sa.Column("received_ms", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(["dev"], ["writer.dev"], name=op.f("fk_disputed_dev")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_disputed")),
        sa.UniqueConstraint("dev", "seq", "sha256", name=op.f("uq_disputed_dev_seq_sha256")),
        sqlite_autoincrement=True,
    )
    op.create_table(
        "phone",
        sa.Column("dev", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("may", sa.Text(), nullable=False),
        sa.Column("token_sha256", sa.LargeBinary(), nullable=False),
        sa.Column("paired_ms", sa.BigInteger(), nullable=False),
        sa.Column("withdrawn_ms", sa.BigInteger(), nullable=True),
        sa.Column("seen_ms", sa.BigInteger(), nullable=True),
        sa.ForeignKeyConstraint(["dev"], ["writer.dev"], name=op.f("fk_phone_dev")),
        sa.PrimaryKeyConstraint("dev", name=op.f("pk_phone")),
        sa.UniqueConstraint("token_sha256", name=op.f("uq_phone_token_sha256")),
    )
    op.create_table(
        "version",
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("body", sa.Text(), nullable=False),
        sa.Column("facts", sa.Text(), nullable=False),
        sa.Column("why", sa.Text(), nullable=False),
        sa.Column("made_ms", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(
            ["kind", "id"], ["thing.kind", "thing.id"], name=op.f("fk_version_kind_id")
        ),
        sa.PrimaryKeyConstraint("kind", "id", "version", name=op.f("pk_version")),
    )
    op.create_table(
        "clock",
        sa.Column("chunk", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.Column("dev", sa.Text(), nullable=False),
        sa.Column("entries", sa.Integer(), nullable=False),
        sa.Column("worst_ms", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(
            ["chunk"], ["chunk.id"], name=op.f("fk_clock_chunk"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("chunk", name=op.f("pk_clock")),
    )
    op.create_table(
        "mark",
        sa.Column("dev", sa.Text(), nullable=False),
        sa.Column("seq", sa.BigInteger(), nullable=False),
        sa.Column("chunk", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.Column("t_ms", sa.BigInteger(), nullable=False),
        sa.Column("day", sa.Text(), nullable=False),
        sa.Column("season", sa.Integer(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("paddock", sa.Text(), nullable=True),
        sa.Column("of_dev", sa.Text(), nullable=True),
        sa.Column("of_seq", sa.BigInteger(), nullable=True),
        sa.ForeignKeyConstraint(
            ["chunk"], ["chunk.id"], name=op.f("fk_mark_chunk"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("dev", "seq", name=op.f("pk_mark")),
    )
    op.create_index(op.f("ix_mark_chunk"), "mark", ["chunk"], unique=False)
    op.create_index(op.f("ix_mark_of_dev_of_seq"), "mark", ["of_dev", "of_seq"], unique=False)
    op.create_index(op.f("ix_mark_t_ms"), "mark", ["t_ms"], unique=False)
    op.create_table(
        "span",
        sa.Column("chunk", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.Column("day", sa.Text(), nullable=False),
        sa.Column("season", sa.Integer(), nullable=False),
        sa.Column("entries", sa.Integer(), nullable=False),
        sa.Column("fixes", sa.Integer(), nullable=False),
        sa.Column("loose", sa.Integer(), nullable=False),
        sa.Column("west_deg", sa.Float(), nullable=True),
        sa.Column("south_deg", sa.Float(), nullable=True),
        sa.Column("east_deg", sa.Float(), nullable=True),
        sa.Column("north_deg", sa.Float(), nullable=True),
        sa.ForeignKeyConstraint(
            ["chunk"], ["chunk.id"], name=op.f("fk_span_chunk"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("chunk", "day", name=op.f("pk_span")),
    )
    op.create_index(
        op.f("ix_span_season_day_loose"), "span", ["season", "day", "loose"], unique=False
    )
    op.create_table(
        "touch",
        sa.Column("chunk", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.Column("paddock", sa.Text(), nullable=False),
        sa.Column("day", sa.Text(), nullable=False),
        sa.Column("season", sa.Integer(), nullable=False),
        sa.Column("dev", sa.Text(), nullable=False),
        sa.Column("last", sa.BigInteger(), nullable=False),
        sa.Column("fixes", sa.Integer(), nullable=False),
        sa.Column("from_ms", sa.BigInteger(), nullable=False),
        sa.Column("to_ms", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(
            ["chunk"], ["chunk.id"], name=op.f("fk_touch_chunk"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("chunk", "paddock", "day", name=op.f("pk_touch")),
    )
    op.create_index(op.f("ix_touch_paddock_season"), "touch", ["paddock", "season"], unique=False)
    op.create_index(op.f("ix_touch_season_day"), "touch", ["season", "day"], unique=False)
    op.create_table(
        "unsorted",
        sa.Column("chunk", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.ForeignKeyConstraint(
            ["chunk"], ["chunk.id"], name=op.f("fk_unsorted_chunk"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("chunk", name=op.f("pk_unsorted")),
    )
