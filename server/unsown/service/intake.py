"""Entries as a phone sends them: checked whole, then kept whole or not at all."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any, NoReturn

import jsonschema_rs

from unsown.service.words import IntakeError

#: Most bytes and lines of one sending, and of one line.
MOST_BYTES, MOST_LINES, MOST_LINE = 8_000_000, 20_000, 16_000
DEV = r"[A-Za-z0-9][A-Za-z0-9._-]{0,63}"


@dataclass(frozen=True)
class Entry:
    """One entry: the line as it came, and what it says."""

    line: bytes
    says: Mapping[str, Any]


@cache
def entry_schema() -> dict[str, Any]:
    """The JSON schema every entry is held to."""
    text = resources.files("unsown.formats").joinpath("entry.schema.json").read_text("utf-8")
    found: dict[str, Any] = json.loads(text)
    return found


@cache
def _validator() -> Any:
    return jsonschema_rs.validator_for(entry_schema())


def read_lines(dev: str, first: int, body: bytes) -> dict[int, Entry]:
    """The entries of one sending, by number.

    Args:
        dev: the writer they must name, where they name one.
        first: the number of the first line.
        body: JSON lines in UTF-8, not packed.

    Raises:
        IntakeError: too large, not UTF-8, a line that is no entry, of another writer, or not
            numbered one after another.
    """

    def refuse(code: str, message: str, at: int = -1, hint: str = "") -> NoReturn:
        where = f"line {at + 1}" if at >= 0 else ""
        raise IntakeError(code, message, where=where, hint=hint)

    if len(body) > MOST_BYTES:
        refuse(
            "intake-large",
            f"At most {MOST_BYTES // 1_000_000} MB were expected; {len(body):,} bytes came.",
            hint="Send fewer entries at once.",
        )
    lines = body.split(b"\n")
    if lines and not lines[-1].strip():
        lines.pop()
    if not body.strip():
        refuse("intake-empty", "At least one entry was expected; nothing came.")
    if len(lines) > MOST_LINES:
        refuse(
            "intake-large",
            f"At most {MOST_LINES:,} entries were expected; {len(lines):,} came.",
            hint="Send fewer entries at once.",
        )
    out: dict[int, Entry] = {}
    for at, line in enumerate(lines):
        says = parsed(line, lambda code, message, hint="", at=at: refuse(code, message, at, hint))
        if says.get("dev", dev) != dev:
            refuse(
                "intake-dev", f"Entries of {dev!r} were expected; one of {says['dev']!r} came.", at
            )
        if says.get("seq") != first + at:
            refuse(
                "intake-order",
                f"Number {first + at} was expected in the entry; {says.get('seq')!r} came.",
                at,
                "Entries are numbered one after another, the first one as the address says.",
            )
        out[first + at] = Entry(line, says)
    return out


def parsed(line: bytes, refuse: Any) -> dict[str, Any]:
    """One line as the object it is, held to the schema; ``refuse(code, message, hint)`` raises."""
    if len(line) > MOST_LINE:
        refuse("intake-line", f"A line of at most {MOST_LINE:,} bytes was expected.")
    try:
        says = json.loads(line.decode("utf-8"), parse_constant=_no_constant)
    except UnicodeDecodeError as error:
        refuse("intake-encoding", f"UTF-8 was expected: byte {error.start} is not.")
    except (ValueError, RecursionError) as error:
        refuse(
            "intake-json",
            f"A line of JSON was expected: {error}.",
            "What was sent seems cut off or damaged: send it again.",
        )
    validator = _validator()
    if not validator.is_valid(says):
        wrong = next(validator.iter_errors(says))
        at = ".".join(str(part) for part in wrong.instance_path) or "the entry"
        refuse(
            "intake-entry",
            f"{at}: {wrong.message[:300]}.",
            "See docs/reference/log.md for what an entry says.",
        )
    found: dict[str, Any] = says
    return found


def same(one: bytes, other: bytes) -> bool:
    """Whether two lines say the same: the same bytes, or the same JSON written otherwise."""
    return one == other or _plain(json.loads(one)) == _plain(json.loads(other))


def _plain(value: Any) -> Any:
    """Numbers apart from truth values (Python holds 1 and True for equal, JSON does not)."""
    if isinstance(value, bool) or value is None or isinstance(value, str):
        return (type(value).__name__, value)
    if isinstance(value, list):
        return [_plain(each) for each in value]
    if isinstance(value, dict):
        return {key: _plain(each) for key, each in value.items()}
    return value


def _no_constant(name: str) -> NoReturn:
    raise ValueError(f"{name} is not a JSON number")


def written(entries: Sequence[Mapping[str, Any]]) -> list[bytes]:
    """Entries of our own as lines."""
    return [
        json.dumps(dict(e), ensure_ascii=False, allow_nan=False, separators=(",", ":")).encode()
        for e in entries
    ]
