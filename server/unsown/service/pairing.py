"""Pairing a phone: a code for ten minutes, used once; then a token of the phone's own."""

from __future__ import annotations

import re
import secrets
import unicodedata

from unsown.service.words import Claim, FarmError, Pairing
from unsown.store import chunks, phones
from unsown.store.phones import May, Phone
from unsown.store.store import Store

MINUTES = 10
#: No letters that look like digits, nor U, which makes words.
_LETTERS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
_LENGTH = 10
#: A code has 50 bits and is void after this many wrong guesses: 1 chance in 2e13 to guess one.
MOST_WRONG = 50
_ALIKE = str.maketrans({"O": "0", "I": "1", "L": "1", "-": "", " ": ""})


def new(store: Store, may: May, name: str, now_ms: int) -> Pairing:
    """A code for one phone.

    Raises:
        FarmError: ``bad-value``.
    """
    if may not in ("keeper", "rider"):
        raise FarmError("bad-value", f"keeper or rider was expected; {may!r} came.", where="may")
    code = "".join(secrets.choice(_LETTERS) for _ in range(_LENGTH))
    until = now_ms + MINUTES * 60_000
    with store.write() as conn:
        phones.open_pairing(conn, code, may, _named(name), until, now_ms)
    return Pairing(f"{code[:5]}-{code[5:]}", until, may)


def claim(
    store: Store, code: str, name: str, now_ms: int, dev: str | None = None, was: str = ""
) -> Claim:
    """Uses a code up and makes the phone known.

    Args:
        store: the farm's.
        code: as it was typed or read.
        name: what to call it; the name the code was made for where it is empty.
        now_ms: what time it is.
        dev: the label under which the phone logs already; one is made for it where None.
        was: the token it had here before, which shows that the label is its own.

    Raises:
        FarmError: ``pairing-wrong``: not a code, used, or its time is over. ``pairing-label``:
            the label is another's; the code stays good.
    """
    plain = str(code)[:64].upper().translate(_ALIKE)
    with store.write() as conn:
        found = phones.use_pairing(conn, plain, now_ms, MOST_WRONG)
        if found is not None:
            may, meant = found
            called = _named(name) or meant or "phone"
            token = secrets.token_urlsafe(32)
            if dev is None:
                dev = _label(called)
                while phones.taken(conn, dev):
                    dev = _label(called)
            elif not phones.may_have(conn, dev, str(was)[:200]):
                raise FarmError(
                    "pairing-label",
                    f"The label {dev!r} is another phone's here.",
                    hint="Start the page anew as a new phone; its log can be carried in as a file.",
                )
            chunks.enrol(conn, dev, "phone", now_ms)
            phones.pair(conn, dev, called, may, token, now_ms)
            return Claim(dev, token, may, called)
    raise FarmError(
        "pairing-wrong",
        "This code is not good: wrong, used already, or its ten minutes are over.",
        hint="Make a new one at the desk.",
    )


def phone_of(store: Store, token: str, now_ms: int) -> Phone | None:
    """The phone with this token; None where there is none or it was withdrawn."""
    with store.read() as conn:
        found = phones.by_token(conn, str(token)[:200])
    if found is None or found.withdrawn_ms is not None:
        return None
    if found.seen_ms is None or now_ms - found.seen_ms > 60_000:
        with store.write() as conn:
            phones.seen(conn, found.dev, now_ms)
    return found


def _named(name: str) -> str:
    clean = "".join(c for c in unicodedata.normalize("NFC", str(name)) if c.isprintable())
    return " ".join(clean.split())[:60]


def _label(name: str) -> str:
    """A label for the log: what can be typed of the name, and something no other phone has."""
    ascii_ = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    short = re.sub(r"[^a-z0-9]+", "-", ascii_).strip("-")[:24] or "phone"
    return f"{short}-{secrets.token_hex(3)}"
