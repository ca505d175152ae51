"""What can be wrong with the way the house is reached."""

from __future__ import annotations

from unsown.core.errors import UnsownError


class YardError(UnsownError):
    """A name, certificate, key or passphrase cannot be used."""
