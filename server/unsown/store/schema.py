"""Every table, in SQLAlchemy's words; the migrations make them, and a test compares the two.

Evidence (kept for good): writer, chunk, file, disputed, stone, buried. Things by version: thing,
version. Who may what: phone, pairing. Derived (may be dropped and made again): unsorted, span,
touch, mark, clock, work, daily. Times are UTC milliseconds since 1970.
"""

from __future__ import annotations

from sqlalchemy import (
    BigInteger,
    Column,
    Float,
    ForeignKey,
    ForeignKeyConstraint,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    Table,
    Text,
    UniqueConstraint,
)

metadata = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "fk": "fk_%(table_name)s_%(column_0_N_name)s",
        "pk": "pk_%(table_name)s",
    }
)
#: SQLite counts up only what it calls INTEGER.
_Id = BigInteger().with_variant(Integer, "sqlite")

fact = Table(
    "fact", metadata, Column("key", Text, primary_key=True), Column("value", Text, nullable=False)
)
"""What the store knows of itself: its id, the desk's writer, when it was restored."""

writer = Table(
    "writer",
    metadata,
    Column("dev", Text, primary_key=True),
    Column("kind", Text, nullable=False),  # phone, desk or file
    Column("held", BigInteger, nullable=False),  # every number up to here is held or buried
    Column("known", BigInteger, nullable=False),  # the highest number ever heard of
    Column("made_ms", BigInteger, nullable=False),
)

chunk = Table(
    "chunk",
    metadata,
    Column("id", _Id, primary_key=True, autoincrement=True),
    Column("dev", Text, ForeignKey("writer.dev"), nullable=False),
    Column("first", BigInteger, nullable=False),
    Column("last", BigInteger, nullable=False),
    Column("lines", LargeBinary, nullable=False),  # the lines as they came, packed
    Column("sha256", LargeBinary, nullable=False),  # of the lines before packing
    Column("received", Text, nullable=False),  # JSON [[first number, received ms], ...]
    UniqueConstraint("dev", "first"),
    Index(None, "dev", "last"),
    sqlite_autoincrement=True,
)

file = Table(
    "file",
    metadata,
    Column("sha256", LargeBinary, primary_key=True),
    Column("name", Text, nullable=False),
    Column("size", BigInteger, nullable=False),
    Column("data", LargeBinary),  # packed; NULL once its season was forgotten
    Column("said", Text, nullable=False),  # JSON: what was taken from it
    Column("taken_ms", BigInteger, nullable=False),
)

disputed = Table(
    "disputed",
    metadata,
    Column("id", _Id, primary_key=True, autoincrement=True),
    Column("dev", Text, ForeignKey("writer.dev"), nullable=False),
    Column("seq", BigInteger, nullable=False),
    Column("line", LargeBinary, nullable=False),
    Column("sha256", LargeBinary, nullable=False),
    Column("received_ms", BigInteger, nullable=False),
    UniqueConstraint("dev", "seq", "sha256"),
    sqlite_autoincrement=True,
)

stone = Table(
    "stone",
    metadata,
    Column("id", _Id, primary_key=True, autoincrement=True),
    Column("season", Integer, nullable=False),
    Column("from_ms", BigInteger, nullable=False),
    Column("until_ms", BigInteger, nullable=False),
    Column("made_ms", BigInteger, nullable=False),
    Column("entries", BigInteger, nullable=False),
    sqlite_autoincrement=True,
)

buried = Table(
    "buried",
    metadata,
    Column("dev", Text, ForeignKey("writer.dev"), primary_key=True),
    Column("first", BigInteger, primary_key=True),
    Column("last", BigInteger, nullable=False),
)
"""Numbers whose entries lie under a stone: they count as held and are not kept."""

thing = Table(
    "thing",
    metadata,
    Column("kind", Text, primary_key=True),  # paddock, rig or settings
    Column("id", Text, primary_key=True),
    Column("made_ms", BigInteger, nullable=False),
    Column("away_ms", BigInteger),
)

version = Table(
    "version",
    metadata,
    Column("kind", Text, primary_key=True),
    Column("id", Text, primary_key=True),
    Column("version", Integer, primary_key=True),
    Column("name", Text, nullable=False),
    Column("body", Text, nullable=False),  # JSON, as it was saved
    Column("facts", Text, nullable=False),  # JSON, measured when it was saved
    Column("why", Text, nullable=False),
    Column("made_ms", BigInteger, nullable=False),
    ForeignKeyConstraint(["kind", "id"], ["thing.kind", "thing.id"]),
)

phone = Table(
    "phone",
    metadata,
    Column("dev", Text, ForeignKey("writer.dev"), primary_key=True),
    Column("name", Text, nullable=False),
    Column("may", Text, nullable=False),  # keeper or rider
    Column("token_sha256", LargeBinary, nullable=False, unique=True),
    Column("paired_ms", BigInteger, nullable=False),
    Column("withdrawn_ms", BigInteger),
    Column("seen_ms", BigInteger),
)

pairing = Table(
    "pairing",
    metadata,
    Column("id", _Id, primary_key=True, autoincrement=True),
    Column("code_sha256", LargeBinary, nullable=False, unique=True),
    Column("may", Text, nullable=False),
    Column("name", Text, nullable=False),
    Column("until_ms", BigInteger, nullable=False),
    Column("wrong", Integer, nullable=False),  # guesses made while it was open
    sqlite_autoincrement=True,
)

unsorted = Table(
    "unsorted",
    metadata,
    Column("chunk", _Id, ForeignKey("chunk.id", ondelete="CASCADE"), primary_key=True),
)
"""The chunks whose rows in span, touch, mark and clock are not up to date: every new one is here
until it is sorted."""

span = Table(
    "span",
    metadata,
    Column("chunk", _Id, ForeignKey("chunk.id", ondelete="CASCADE"), primary_key=True),
    Column("day", Text, primary_key=True),
    Column("season", Integer, nullable=False),
    Column("entries", Integer, nullable=False),
    Column("fixes", Integer, nullable=False),
    Column("loose", Integer, nullable=False),  # fixes near no paddock
    Column("west_deg", Float),
    Column("south_deg", Float),
    Column("east_deg", Float),
    Column("north_deg", Float),
    Index(None, "season", "day", "loose"),  # what the board needs stands in the index
)

touch = Table(
    "touch",
    metadata,
    Column("chunk", _Id, ForeignKey("chunk.id", ondelete="CASCADE"), primary_key=True),
    Column("paddock", Text, primary_key=True),
    Column("day", Text, primary_key=True),
    Column("season", Integer, nullable=False),
    Column("dev", Text, nullable=False),
    Column("last", BigInteger, nullable=False),
    Column("fixes", Integer, nullable=False),
    Column("from_ms", BigInteger, nullable=False),
    Column("to_ms", BigInteger, nullable=False),
    Index(None, "paddock", "season"),
    Index(None, "season", "day"),
)
"""Which work a chunk's fixes belong to; ``last`` is the highest number of such a fix."""

mark = Table(
    "mark",
    metadata,
    Column("dev", Text, primary_key=True),
    Column("seq", BigInteger, primary_key=True),
    Column("chunk", _Id, ForeignKey("chunk.id", ondelete="CASCADE"), nullable=False),
    Column("t_ms", BigInteger, nullable=False),
    Column("day", Text, nullable=False),
    Column("season", Integer, nullable=False),
    Column("kind", Text, nullable=False),
    Column("paddock", Text),  # where the entry names one
    Column("of_dev", Text),  # whose entry an undo hides
    Column("of_seq", BigInteger),
    Index(None, "t_ms"),
    Index(None, "chunk"),
    Index(None, "of_dev", "of_seq"),
)

clock = Table(
    "clock",
    metadata,
    Column("chunk", _Id, ForeignKey("chunk.id", ondelete="CASCADE"), primary_key=True),
    Column("dev", Text, nullable=False),
    Column("entries", Integer, nullable=False),
    Column("worst_ms", BigInteger, nullable=False),  # entry's time less when it came
)
"""Entries stamped later than they came, or long before: evidence of a wrong clock."""

work = Table(
    "work",
    metadata,
    Column("paddock", Text, primary_key=True),
    Column("season", Integer, primary_key=True),
    Column("stale", Integer, nullable=False),  # 1: something came that may change it
    Column("last_day", Text, nullable=False),
    Column("key", Text, nullable=False),  # what it was computed from; "" before the first time
    Column("state", Text, nullable=False),  # none, ready or failed
    Column("reason", Text, nullable=False),  # JSON error, where failed
    Column("made_ms", BigInteger, nullable=False),
    Column("took_s", Float, nullable=False),
    Column("short", Text, nullable=False),  # JSON: what the board shows
    Column("body", LargeBinary),  # packed JSON
    Column("ground", LargeBinary),  # packed GeoJSON
    Index(None, "season"),
)

daily = Table(
    "daily",
    metadata,
    Column("paddock", Text, primary_key=True),
    Column("season", Integer, primary_key=True),
    Column("day", Text, primary_key=True),
    Column("short", Text, nullable=False),  # JSON: what the slip shows
    Column("body", LargeBinary, nullable=False),  # packed JSON: the time line
    Index(None, "day"),
)

DERIVED = (daily, work, clock, mark, touch, span)
"""What may be dropped and made again, in the order in which it can be."""
