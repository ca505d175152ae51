"""The farm's authority: what it may sign, held against openssl, an implementation of others."""

from __future__ import annotations

import ipaddress
import os
import stat
from datetime import timedelta
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec

from unsown.yard import authority, leaf
from unsown.yard.errors import YardError
from yardmade import ADDRESS, NAME, NOW, openssl


def signed_by(folder: Path, names: list[str], addresses: list[str]) -> Path:
    """A leaf for any name at all, as a thief of the key would make one."""
    made = authority.open_authority(folder, [NAME], NOW)
    key = ec.generate_private_key(ec.SECP256R1())
    texts = [ipaddress.ip_address(text) for text in addresses]
    path = folder / "other.crt"
    certificate = leaf.sign(made, key, names, texts, NOW)
    path.write_bytes(certificate.public_bytes(serialization.Encoding.PEM))
    return path


def verdict(folder: Path, certificate: Path, *checks: str) -> str:
    return openssl(
        *("verify", "-x509_strict", "-purpose", "sslserver", *checks),
        *("-CAfile", str(folder / "authority.crt"), str(certificate)),
    )


def test_openssl_accepts_the_leaf_for_the_house_name_and_its_private_address(
    tmp_path: Path,
) -> None:
    made = authority.open_authority(tmp_path, [NAME], NOW)
    kept = leaf.keep_leaf(tmp_path, made, [NAME], [ADDRESS], NOW)
    assert verdict(tmp_path, kept.certificate, "-verify_hostname", NAME).endswith("OK")
    assert verdict(tmp_path, kept.certificate, "-verify_ip", str(ADDRESS)).endswith("OK")
    assert "mismatch" in verdict(tmp_path, kept.certificate, "-verify_hostname", "bank.example")


@pytest.mark.parametrize(
    ("names", "addresses"),
    [(["bank.example"], []), ([NAME, "bank.example"], []), ([NAME], ["198.51.100.7"]),
     ([NAME], ["127.0.0.1"]), ([f"not{NAME}"], []), ([NAME], ["2001:db8::1"])],
)  # fmt: skip
def test_openssl_refuses_what_a_stolen_key_signs_for_anybody_else(
    tmp_path: Path, names: list[str], addresses: list[str]
) -> None:
    said = verdict(tmp_path, signed_by(tmp_path, names, addresses))
    assert "permitted subtree violation" in said


def test_openssl_refuses_an_authority_below_the_farms_own(tmp_path: Path) -> None:
    top = authority.open_authority(tmp_path, [NAME], NOW)
    below = authority.make([f"below.{NAME}"], NOW)
    key = ec.generate_private_key(ec.SECP256R1())
    builder = (
        x509.CertificateBuilder()
        .subject_name(below.certificate.subject)
        .issuer_name(top.certificate.subject)
        .public_key(below.key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(NOW)
        .not_valid_after(NOW + timedelta(days=300))
    )
    for extension in below.certificate.extensions:
        builder = builder.add_extension(extension.value, extension.critical)
    middle = builder.sign(top.key, hashes.SHA256())
    end = leaf.sign(below, key, [f"below.{NAME}"], [], NOW)
    for name, made in (("middle", middle), ("end", end)):
        (tmp_path / name).write_bytes(made.public_bytes(serialization.Encoding.PEM))
    said = openssl("verify", "-CAfile", str(tmp_path / "authority.crt"),
                   "-untrusted", str(tmp_path / "middle"), str(tmp_path / "end"))  # fmt: skip
    assert "path length constraint exceeded" in said


def test_the_authority_says_what_it_must(tmp_path: Path) -> None:
    made = authority.open_authority(tmp_path, [NAME], NOW)
    text = openssl("x509", "-noout", "-text", "-in", str(tmp_path / "authority.crt"))
    assert "NIST CURVE: P-256" in text
    assert "CA:TRUE, pathlen:0" in text
    assert "X509v3 Name Constraints: critical" in text
    assert f"DNS:{NAME}" in text
    assert "IP:192.168.0.0/255.255.0.0" in text
    assert made.fingerprint in openssl(
        "x509", "-noout", "-fingerprint", "-sha256", "-in", str(tmp_path / "authority.crt")
    )
    assert b"PRIVATE" not in made.pem


@pytest.mark.skipif(os.name != "posix", reason="this system has no modes of files")
def test_keys_are_their_owners_alone_and_an_open_one_is_refused(tmp_path: Path) -> None:
    made = authority.open_authority(tmp_path / "keys", [NAME], NOW)
    leaf.keep_leaf(tmp_path / "keys", made, [NAME], [ADDRESS], NOW)
    for name in ("authority.key", "leaf.key"):
        assert stat.S_IMODE((tmp_path / "keys" / name).stat().st_mode) == 0o600
    assert stat.S_IMODE((tmp_path / "keys").stat().st_mode) == 0o700
    (tmp_path / "keys" / "authority.key").chmod(0o644)
    with pytest.raises(YardError, match="Others on this computer may read") as caught:
        authority.open_authority(tmp_path / "keys", [NAME], NOW)
    assert "chmod 600" in caught.value.hint


def test_the_authority_is_made_once_and_kept(tmp_path: Path) -> None:
    first = authority.open_authority(tmp_path, [NAME], NOW)
    again = authority.open_authority(tmp_path, [NAME], NOW + timedelta(days=900))
    assert again.fingerprint == first.fingerprint
    anew = authority.open_authority(tmp_path, [NAME], NOW, anew=True)
    assert anew.fingerprint != first.fingerprint


def test_another_name_is_refused_with_the_two_ways_out(tmp_path: Path) -> None:
    authority.open_authority(tmp_path, [NAME], NOW)
    assert authority.open_authority(tmp_path, [f"desk.{NAME}"], NOW).names == (NAME,)
    with pytest.raises(YardError, match=r"not for barn\.lan") as caught:
        authority.open_authority(tmp_path, ["barn.lan"], NOW)
    assert f"--host-name {NAME}" in caught.value.hint
    assert "--new-authority" in caught.value.hint


def test_an_authority_that_has_ended_says_so(tmp_path: Path) -> None:
    authority.open_authority(tmp_path, [NAME], NOW)
    with pytest.raises(YardError, match="ended on"):
        authority.open_authority(tmp_path, [NAME], NOW + timedelta(days=3660))


@pytest.mark.parametrize("torn", ["authority.key", "authority.crt"])
def test_a_torn_or_half_authority_is_refused_not_replaced(tmp_path: Path, torn: str) -> None:
    authority.open_authority(tmp_path, [NAME], NOW)
    (tmp_path / torn).write_bytes(b"-----BEGIN nothing")
    with pytest.raises(YardError, match="cannot be used"):
        authority.open_authority(tmp_path, [NAME], NOW)
    (tmp_path / torn).unlink()
    with pytest.raises(YardError, match="one of the two files is missing"):
        authority.open_authority(tmp_path, [NAME], NOW)


def test_a_key_of_another_authority_is_refused(tmp_path: Path) -> None:
    for name in ("one", "two"):
        authority.open_authority(tmp_path / name, [NAME], NOW)
    (tmp_path / "two" / "authority.key").replace(tmp_path / "one" / "authority.key")
    with pytest.raises(YardError, match="does not belong to the certificate"):
        authority.open_authority(tmp_path / "one", [NAME], NOW)


def test_the_leaf_lives_at_most_397_days_and_is_renewed_with_60_left(tmp_path: Path) -> None:
    made = authority.open_authority(tmp_path, [NAME], NOW)
    first = leaf.keep_leaf(tmp_path, made, [NAME], [ADDRESS], NOW)
    certificate = x509.load_pem_x509_certificate(first.certificate.read_bytes())
    life = certificate.not_valid_after_utc - certificate.not_valid_before_utc
    assert timedelta(days=390) < life <= timedelta(days=397)
    assert first.renewed
    for left, renewed in ((61, False), (59, True)):
        then = first.ends - timedelta(days=left)
        assert leaf.keep_leaf(tmp_path, made, [NAME], [ADDRESS], then).renewed is renewed


def test_the_last_leaf_of_an_authority_is_not_made_anew_each_time(tmp_path: Path) -> None:
    made = authority.open_authority(tmp_path, [NAME], NOW)
    late = made.certificate.not_valid_after_utc - timedelta(days=20)
    leaf.keep_leaf(tmp_path, made, [NAME], [], late)
    again = leaf.keep_leaf(tmp_path, made, [NAME], [], late + timedelta(days=1))
    assert not again.renewed
    assert again.ends == made.certificate.not_valid_after_utc


def test_a_new_address_or_a_torn_leaf_makes_a_new_leaf(tmp_path: Path) -> None:
    made = authority.open_authority(tmp_path, [NAME], NOW)
    leaf.keep_leaf(tmp_path, made, [NAME], [ADDRESS], NOW)
    other = ipaddress.ip_address("10.0.0.9")
    kept = leaf.keep_leaf(tmp_path, made, [NAME], [other], NOW)
    assert kept.renewed
    assert verdict(tmp_path, kept.certificate, "-verify_ip", "10.0.0.9").endswith("OK")
    kept.certificate.write_bytes(b"")
    assert leaf.keep_leaf(tmp_path, made, [NAME], [other], NOW).renewed


def test_a_public_address_is_left_out_of_the_leaf(tmp_path: Path) -> None:
    made = authority.open_authority(tmp_path, [NAME], NOW)
    public = ipaddress.ip_address("198.51.100.7")
    kept = leaf.keep_leaf(tmp_path, made, [NAME], [public, ADDRESS], NOW)
    assert verdict(tmp_path, kept.certificate).endswith("OK")
    assert "198.51.100.7" not in openssl("x509", "-noout", "-text", "-in", str(kept.certificate))


def test_a_certificate_of_ones_own_is_read_for_its_end_and_its_names(tmp_path: Path) -> None:
    made = authority.open_authority(tmp_path, [NAME], NOW)
    kept = leaf.keep_leaf(tmp_path, made, [NAME, f"*.{NAME}"], [ADDRESS], NOW)
    assert leaf.own_certificate(kept.certificate) == (kept.ends, (NAME,))
    assert leaf.own_certificate(tmp_path / "authority.crt")[1] == ()
    (tmp_path / "text").write_text("no certificate")
    for name in ("text", "none"):
        with pytest.raises(YardError, match="PEM was expected"):
            leaf.own_certificate(tmp_path / name)
