"""The certificate the service shows to phones, signed by the farm's authority and renewed by it.

At most 397 days: browsers refuse longer ones from public authorities, and a short life costs
nothing where renewal needs no hand.
"""

from __future__ import annotations

import ipaddress
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from cryptography import x509
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from unsown.yard import private
from unsown.yard.authority import Authority, covered
from unsown.yard.errors import YardError

DAYS = 397
RENEW_DAYS = 60
"""Renewed when fewer days are left: well before anybody has to be warned."""
_EARLY = timedelta(days=1)

Address = ipaddress.IPv4Address | ipaddress.IPv6Address


@dataclass(frozen=True)
class Leaf:
    """Where certificate and key lie (one file of each, PEM), and until when they hold."""

    certificate: Path
    key: Path
    ends: datetime
    renewed: bool = False


def keep_leaf(
    folder: Path,
    authority: Authority,
    names: Sequence[str],
    addresses: Sequence[Address],
    now: datetime,
) -> Leaf:
    """The leaf in ``folder``; made anew if it ends soon or lacks a name or an address.

    Addresses that the authority may not sign for (public ones) are left out.

    Raises:
        YardError: the files cannot be read or written.
    """
    certificate, key = folder / "leaf.crt", folder / "leaf.key"
    own = [address for address in addresses if covered(address)]
    kept = _load(certificate, key)
    if kept is not None and _fits(kept, authority, names, own, now):
        return Leaf(certificate, key, kept.not_valid_after_utc)
    leaf_key = ec.generate_private_key(ec.SECP256R1())
    made = sign(authority, leaf_key, names, own, now)
    # the key first: a certificate without its key would stop the next start
    private.write(
        key,
        leaf_key.private_bytes(
            serialization.Encoding.PEM,
            serialization.PrivateFormat.PKCS8,
            serialization.NoEncryption(),
        ),
    )
    private.write(certificate, made.public_bytes(serialization.Encoding.PEM))
    return Leaf(certificate, key, made.not_valid_after_utc, renewed=True)


def sign(
    authority: Authority,
    key: ec.EllipticCurvePrivateKey,
    names: Sequence[str],
    addresses: Sequence[Address],
    now: datetime,
) -> x509.Certificate:
    """A certificate for these names and addresses, for serving pages and nothing else."""
    begins = now - _EARLY
    ends = min(begins + timedelta(days=DAYS), authority.certificate.not_valid_after_utc)
    who = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, names[0][:64])])
    alternatives: list[x509.GeneralName] = [x509.DNSName(name) for name in names]
    alternatives += [x509.IPAddress(address) for address in addresses]
    usage = x509.KeyUsage(
        digital_signature=True, content_commitment=False, key_encipherment=False,
        data_encipherment=False, key_agreement=False, key_cert_sign=False, crl_sign=False,
        encipher_only=False, decipher_only=False,
    )  # fmt: skip
    parent = authority.certificate.extensions.get_extension_for_class(x509.SubjectKeyIdentifier)
    issuer = x509.AuthorityKeyIdentifier.from_issuer_subject_key_identifier(parent.value)
    return (
        x509.CertificateBuilder()
        .subject_name(who)
        .issuer_name(authority.certificate.subject)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(begins)
        .not_valid_after(ends)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(x509.SubjectAlternativeName(alternatives), critical=False)
        .add_extension(usage, critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(issuer, critical=False)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
        .sign(authority.key, hashes.SHA256())
    )


def own_certificate(certificate: Path) -> tuple[datetime, tuple[str, ...]]:
    """Of a certificate file of one's own (the first in it): until when it holds, and its names.

    Names with a star are left out: which one is meant has to be said.

    Raises:
        YardError: it is missing or no certificate.
    """
    try:
        found = x509.load_pem_x509_certificate(certificate.read_bytes())
        stands = found.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
        names = stands.get_values_for_type(x509.DNSName)
    except x509.ExtensionNotFound:
        names = []
    except (OSError, ValueError) as error:
        raise YardError(
            "cert-bad",
            f"A certificate in PEM was expected: {error}.",
            where=str(certificate),
            hint="Give the file with the whole chain after --cert and its key after --key.",
        ) from error
    return found.not_valid_after_utc, tuple(n.lower() for n in names if "*" not in n)


def _load(certificate: Path, key: Path) -> x509.Certificate | None:
    pem, key_pem = private.read(certificate), private.read(key)
    if pem is None or key_pem is None:
        return None
    try:
        kept = x509.load_pem_x509_certificate(pem)
        own = serialization.load_pem_private_key(key_pem, None).public_key() == kept.public_key()
    except (ValueError, TypeError):
        return None  # derived from the authority: made anew, nothing is lost
    return kept if own else None


def _fits(
    kept: x509.Certificate,
    authority: Authority,
    names: Sequence[str],
    addresses: Sequence[Address],
    now: datetime,
) -> bool:
    try:
        kept.verify_directly_issued_by(authority.certificate)
    except (ValueError, TypeError, InvalidSignature):
        return False
    stands = kept.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    left = kept.not_valid_after_utc - now
    soon = min(timedelta(days=RENEW_DAYS), authority.certificate.not_valid_after_utc - now)
    return (
        kept.not_valid_before_utc <= now
        and left >= soon
        and set(names) <= set(stands.get_values_for_type(x509.DNSName))
        and set(addresses) <= set(stands.get_values_for_type(x509.IPAddress))
    )
