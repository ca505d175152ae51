"""The farm's own certificate authority: may sign for this house and for nothing else.

P-256, path length 0, and critical name constraints (RFC 5280, 4.2.1.10) to the host's own names
and to private addresses (RFC 1918, RFC 4193), so that a key that leaks can pose as nobody's bank.
Made once and kept: a new one would have to be trusted on each phone again.
"""

from __future__ import annotations

import ipaddress
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from unsown.yard import private
from unsown.yard.errors import YardError

YEARS = 10
PRIVATE = ("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "fc00::/7")
"""The only addresses it may sign for."""
_EARLY = timedelta(days=1)  # a phone's clock may lag


@dataclass(frozen=True)
class Authority:
    """The certificate that phones trust, and the key that stays here."""

    certificate: x509.Certificate
    key: ec.EllipticCurvePrivateKey

    @property
    def names(self) -> tuple[str, ...]:
        """The host names it may sign for, those below them included."""
        limits = self.certificate.extensions.get_extension_for_class(x509.NameConstraints).value
        return tuple(
            n.value for n in limits.permitted_subtrees or () if isinstance(n, x509.DNSName)
        )

    @property
    def fingerprint(self) -> str:
        """SHA-256 of the certificate as phones show it: pairs of hex digits with colons."""
        return self.certificate.fingerprint(hashes.SHA256()).hex(":").upper()

    @property
    def pem(self) -> bytes:
        """The certificate as text; the key is not in it."""
        return self.certificate.public_bytes(serialization.Encoding.PEM)

    @property
    def der(self) -> bytes:
        """The certificate as phones take it from a page."""
        return self.certificate.public_bytes(serialization.Encoding.DER)

    def covers(self, name: str) -> bool:
        """Whether a certificate for this host name would be believed."""
        return any(name == own or name.endswith(f".{own}") for own in self.names)


def covered(address: ipaddress.IPv4Address | ipaddress.IPv6Address) -> bool:
    """Whether a certificate for this address would be believed."""
    return any(address in ipaddress.ip_network(net) for net in PRIVATE)


def open_authority(
    folder: Path, names: Sequence[str], now: datetime, *, anew: bool = False
) -> Authority:
    """The authority kept in ``folder``; made there if there is none, or if ``anew``.

    Raises:
        YardError: the one kept may not sign for ``names``, has ended, or cannot be read.
    """
    private.folder(folder)
    kept = None if anew else _load(folder)
    if kept is None:
        made = make(names, now)
        key = made.key.private_bytes(
            serialization.Encoding.PEM,
            serialization.PrivateFormat.PKCS8,
            serialization.NoEncryption(),
        )
        # the leaf of an authority that is gone proves nothing
        (folder / "leaf.crt").unlink(missing_ok=True)
        private.write(folder / "authority.key", key)
        private.write(folder / "authority.crt", made.pem)
        return made
    missing = [name for name in names if not kept.covers(name)]
    if missing:
        raise YardError(
            "authority-name",
            f"The farm's authority may sign for {', '.join(kept.names)}, not for "
            f"{', '.join(missing)}.",
            where=str(folder / "authority.crt"),
            hint=f"Start with --host-name {kept.names[0]}, or with --new-authority: "
            "each phone then has to trust the new one.",
        )
    if kept.certificate.not_valid_after_utc <= now:
        raise YardError(
            "authority-ended",
            f"The farm's authority ended on {kept.certificate.not_valid_after_utc:%d %B %Y}.",
            where=str(folder / "authority.crt"),
            hint="Start with --new-authority: each phone then has to trust the new one.",
        )
    return kept


def make(names: Sequence[str], now: datetime) -> Authority:
    """A new authority for these host names and for private addresses."""
    key = ec.generate_private_key(ec.SECP256R1())
    # the month tells an old one from a new one in a phone's list; 64 is the standard's limit
    label = f"Unsown, this farm only: {names[0][:30]}, {now:%Y-%m}"
    who = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, label)])
    own = x509.SubjectKeyIdentifier.from_public_key(key.public_key())
    permitted: list[x509.GeneralName] = [x509.DNSName(name) for name in names]
    permitted += [x509.IPAddress(ipaddress.ip_network(net)) for net in PRIVATE]
    signing = x509.KeyUsage(
        digital_signature=False, content_commitment=False, key_encipherment=False,
        data_encipherment=False, key_agreement=False, key_cert_sign=True, crl_sign=True,
        encipher_only=False, decipher_only=False,
    )  # fmt: skip
    certificate = (
        x509.CertificateBuilder()
        .subject_name(who)
        .issuer_name(who)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - _EARLY)
        .not_valid_after(now + timedelta(days=365 * YEARS))
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(signing, critical=True)
        .add_extension(x509.NameConstraints(permitted, None), critical=True)
        # only for pages: not for mail, not for programs
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(own, critical=False)
        .sign(key, hashes.SHA256())
    )
    return Authority(certificate, key)


def _load(folder: Path) -> Authority | None:
    paths = folder / "authority.crt", folder / "authority.key"
    pem, key_pem = (private.read(path) for path in paths)
    if pem is None and key_pem is None:
        return None
    try:
        if pem is None or key_pem is None:
            raise ValueError("one of the two files is missing")
        certificate = x509.load_pem_x509_certificate(pem)
        key = serialization.load_pem_private_key(key_pem, None)
        if not isinstance(key, ec.EllipticCurvePrivateKey):
            raise ValueError("the key is not of an elliptic curve")
        if key.public_key() != certificate.public_key():
            raise ValueError("the key does not belong to the certificate")
    except (ValueError, TypeError) as error:
        raise YardError(
            "authority-bad",
            f"The farm's authority cannot be used: {error}.",
            where=str(folder),
            hint="Put both files back from a copy, or start with --new-authority: each phone "
            "then has to trust the new one.",
        ) from error
    return Authority(certificate, key)
