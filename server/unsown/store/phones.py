"""Phones and what they may: paired by a code that is used once, known by a token of their own.

Codes and tokens are kept as hashes only: they are long and random, so a plain hash is enough.
"""

from __future__ import annotations

import hashlib
import hmac
from dataclasses import dataclass
from typing import Any, Literal

from sqlalchemy import Connection, func, select

from unsown.store.schema import clock, pairing, phone, writer

May = Literal["keeper", "rider"]


@dataclass(frozen=True)
class Phone:
    """A paired phone. ``held`` is the last number that is held of it without a gap.

    ``early`` and ``late`` count its entries stamped well after they came, or long before.
    """

    dev: str
    name: str
    may: May
    paired_ms: int
    withdrawn_ms: int | None
    seen_ms: int | None
    held: int
    known: int
    odd_clock: int = 0


def digest(secret: str) -> bytes:
    """What is kept of a code or token."""
    return hashlib.sha256(secret.encode()).digest()


def open_pairing(
    conn: Connection, code: str, may: May, name: str, until_ms: int, now_ms: int
) -> None:
    """Keeps a code; those whose time is over are dropped."""
    conn.execute(pairing.delete().where(pairing.c.until_ms <= now_ms))
    conn.execute(
        pairing.insert().values(
            code_sha256=digest(code), may=may, name=name, until_ms=until_ms, wrong=0
        )
    )


def use_pairing(
    conn: Connection, code: str, now_ms: int, most_wrong: int
) -> tuple[May, str] | None:
    """Uses a code up: what it allows and the name it was made for; None when it is not one.

    A wrong guess counts against every open code; after ``most_wrong`` of them a code is void.
    """
    conn.execute(
        pairing.delete().where((pairing.c.until_ms <= now_ms) | (pairing.c.wrong >= most_wrong))
    )
    row = conn.execute(select(pairing).where(pairing.c.code_sha256 == digest(code))).first()
    if row is None:
        conn.execute(pairing.update().values(wrong=pairing.c.wrong + 1))
        return None
    conn.execute(pairing.delete().where(pairing.c.id == row.id))
    return row.may, row.name


def pair(conn: Connection, dev: str, name: str, may: May, token: str, now_ms: int) -> None:
    """Makes a phone known by its token, or known again; its writer must be enrolled."""
    says = {"name": name, "may": may, "token_sha256": digest(token), "paired_ms": now_ms}
    mine = phone.c.dev == dev
    if conn.execute(select(phone.c.dev).where(mine)).first() is None:
        conn.execute(phone.insert().values(dev=dev, **says))
    else:
        conn.execute(phone.update().where(mine).values(**says, withdrawn_ms=None))


def by_token(conn: Connection, token: str) -> Phone | None:
    """The phone with this token, withdrawn or not; None where there is none."""
    row = conn.execute(_all().where(phone.c.token_sha256 == digest(token))).first()
    return None if row is None else _phone(row)


def every(conn: Connection) -> list[Phone]:
    """Every phone that was ever paired, by name."""
    odd = dict(
        conn.execute(select(clock.c.dev, func.sum(clock.c.entries)).group_by(clock.c.dev)).all()
    )
    rows = conn.execute(_all().order_by(phone.c.name, phone.c.dev))
    return [_phone(row, int(odd.get(row.dev, 0))) for row in rows]


def seen(conn: Connection, dev: str, now_ms: int) -> None:
    """Notes that a phone was heard of."""
    conn.execute(phone.update().where(phone.c.dev == dev).values(seen_ms=now_ms))


def withdraw(conn: Connection, dev: str, now_ms: int) -> bool:
    """Takes a phone's token back; tells whether there is such a phone. Its log stays."""
    done = conn.execute(
        phone.update()
        .where(phone.c.dev == dev, phone.c.withdrawn_ms.is_(None))
        .values(withdrawn_ms=now_ms)
    )
    return bool(done.rowcount) or (
        conn.execute(select(phone.c.dev).where(phone.c.dev == dev)).first() is not None
    )


def taken(conn: Connection, dev: str) -> bool:
    """Whether a label is a writer's already."""
    return conn.execute(select(writer.c.dev).where(writer.c.dev == dev)).first() is not None


def may_have(conn: Connection, dev: str, token: str) -> bool:
    """Whether a label may be a phone's own.

    It may where nobody has it, where its log came here by file only, or where the phone shows the
    token it had, withdrawn or not.
    """
    row = conn.execute(
        select(writer.c.kind, phone.c.token_sha256)
        .join_from(writer, phone, phone.c.dev == writer.c.dev, isouter=True)
        .where(writer.c.dev == dev)
    ).first()
    if row is None:
        return True
    if row.token_sha256 is None:
        return bool(row.kind == "phone")
    return hmac.compare_digest(bytes(row.token_sha256), digest(token))


def _all() -> Any:
    return select(phone, writer.c.held, writer.c.known).join_from(
        phone, writer, writer.c.dev == phone.c.dev
    )


def _phone(row: Any, odd: int = 0) -> Phone:
    return Phone(
        dev=row.dev,
        name=row.name,
        may=row.may,
        paired_ms=row.paired_ms,
        withdrawn_ms=row.withdrawn_ms,
        seen_ms=row.seen_ms,
        held=row.held,
        known=row.known,
        odd_clock=odd,
    )
