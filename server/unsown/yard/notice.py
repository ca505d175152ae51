"""What somebody has to know in time: a certificate that ends, an address that moves."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

WARN = timedelta(days=30)


@dataclass(frozen=True)
class Notice:
    """One thing to say: a stable code, a sentence, and what to do."""

    code: str
    message: str
    hint: str


def ending(what: str, ends: datetime, now: datetime, hint: str) -> list[Notice]:
    """A notice from 30 days before ``ends`` on, and from then on what no longer works."""
    left = ends - now
    if left > WARN:
        return []
    if left <= timedelta(0):
        message = (
            f"{what} ended on {_day(ends)}: phones can log, but cannot bring their log home "
            "by the network."
        )
        return [Notice("ended", message, hint)]
    days = left.days
    when = "today or tomorrow" if days < 1 else f"in {days} day{'s' if days > 1 else ''}"
    return [Notice("ends-soon", f"{what} ends {when}, on {_day(ends)}.", hint)]


def moving(host: str, *, by_name: bool, lent: bool | None, before: str) -> list[Notice]:
    """What is known about the address phones keep: changed, lent, or not to be seen."""
    out = []
    if before and before != host:
        out.append(
            Notice(
                "address-changed",
                f"Last time phones reached this house as {before}; now it is {host}.",
                f"Phones that were set up there hold their log under {before}. Give this "
                "computer that address again, or carry their logs home as files and set them "
                "up anew.",
            )
        )
    if not by_name and lent is not False:
        how = "is lent by the router and may change" if lent else "may be lent (can't tell)"
        out.append(
            Notice(
                "address-lent",
                f"The address {host} {how}. Phones keep their log under the address they were "
                "set up with; after a change it comes home by file only.",
                "In the router, reserve this address for this computer, or set it by hand.",
            )
        )
    return out


def _day(moment: datetime) -> str:
    return f"{moment.day} {moment:%B %Y}"
