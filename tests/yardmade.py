"""Builders for tests of the yard: a name, an address, a moment, and openssl to ask."""

from __future__ import annotations

import ipaddress
import subprocess
from datetime import UTC, datetime

NAME = "ninepost.home.arpa"
ADDRESS = ipaddress.ip_address("192.168.7.20")
NOW = datetime.now(UTC).replace(microsecond=0)  # openssl judges by the machine's clock


def openssl(*words: str) -> str:
    """What openssl says, from either of its outputs."""
    done = subprocess.run(
        ["openssl", *words], input="", capture_output=True, text=True, check=False, timeout=30
    )
    return (done.stdout + done.stderr).strip()
