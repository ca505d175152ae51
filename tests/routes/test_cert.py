"""A certificate of one's own for a name of one's own, and the passphrase of a start that failed."""

from __future__ import annotations

import http.client
import ssl
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from served import Served, served
from unsown.cli import main, parser_of
from unsown.commands import opening
from yardmade import openssl

NAME = "farm.example.org"


def certificate(folder: Path, days: int = 300) -> tuple[Path, Path]:
    """A certificate for NAME that vouches for itself, and its key."""
    cert, key = folder / "fullchain.pem", folder / "key.pem"
    openssl("req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:P-256", "-nodes",
            "-keyout", str(key), "-out", str(cert), "-days", str(days), "-subj", f"/CN={NAME}",
            "-addext", f"subjectAltName=DNS:{NAME}")  # fmt: skip
    return cert, key


@pytest.fixture(scope="module")
def own(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    return certificate(tmp_path_factory.mktemp("own"))


@pytest.fixture(scope="module")
def house(own: tuple[Path, Path], tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    words = ("--cert", str(own[0]), "--key", str(own[1]))
    with served(tmp_path_factory.mktemp("farm"), *words) as made:
        yield made


def over_tls(house: Served, own: tuple[Path, Path], path: str, host: str = NAME) -> int:
    """The status of a GET by whoever trusts that certificate and no other."""
    trust = ssl.create_default_context(cafile=str(own[0]))
    line = http.client.HTTPSConnection("127.0.0.1", house.tls_port, timeout=20, context=trust)
    trust.check_hostname = False  # the address is the test's; the name is checked by hand below
    try:
        line.request("GET", path, headers={"Host": f"{host}:{house.tls_port}"})
        return line.getresponse().status
    finally:
        line.close()


def test_the_certificate_given_is_the_one_that_is_served(
    house: Served, own: tuple[Path, Path]
) -> None:
    said = openssl("s_client", "-connect", f"127.0.0.1:{house.tls_port}", "-servername", NAME,
                   "-CAfile", str(own[0]), "-verify_hostname", NAME)  # fmt: skip
    assert "Verify return code: 0 (ok)" in said
    assert any(f"https://{NAME}:{house.tls_port}/" in line for line in house.printed)
    assert not house.authority.exists()  # no authority of the farm's own is made for it


def test_with_a_certificate_of_ones_own_a_passphrase_is_asked_for_under_its_name_alone(
    house: Served, own: tuple[Path, Path]
) -> None:
    assert over_tls(house, own, "/api/hello") == 200
    assert over_tls(house, own, "/api/board") == 401
    assert over_tls(house, own, "/api/hello", "elsewhere.example.org") == 403
    assert house.ask("GET", "/api/board")[0] == 401  # on this computer too


def test_a_key_of_another_certificate_is_refused_by_both_names(
    own: tuple[Path, Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    _, other = certificate(tmp_path)
    words = ["--data", str(tmp_path / "farm"), "--port", "0", "--tls-port", "0"]
    assert main(["serve", *words, "--cert", str(own[0]), "--key", str(other)]) == 2
    said = capsys.readouterr().err
    assert "cannot be used together" in said
    assert str(own[0]) in said
    assert str(other) in said


def test_a_certificate_that_ends_soon_is_told(tmp_path: Path) -> None:
    cert, key = certificate(tmp_path, days=20)
    words = ["--cert", str(cert), "--key", str(key)]
    found = opening.opening(parser_of("serve").parse(words), tmp_path / "farm")
    (notice,) = found.door.notices()
    assert "The certificate ends in" in notice.message
    assert "Renew it where it came from" in notice.hint


def test_a_passphrase_is_shown_before_anything_can_fail(
    own: tuple[Path, Path],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    (tmp_path / "bad.pem").write_text("no certificate")
    bad = ["--cert", str(tmp_path / "bad.pem"), "--key", str(own[1])]
    monkeypatch.setattr(sys.stdout, "isatty", lambda: True, raising=False)
    assert main(["serve", "--data", str(tmp_path / "farm"), *bad]) == 2
    shown = capsys.readouterr().out.partition("shown this once: ")[2].strip()
    good = parser_of("serve").parse(["--cert", str(own[0]), "--key", str(own[1])])
    found = opening.opening(good, tmp_path / "farm")
    assert found.door.passphrase is not None
    assert found.door.passphrase.fits(shown)


def test_where_the_passphrase_lies_is_said_until_its_file_is_deleted(
    own: tuple[Path, Path], tmp_path: Path
) -> None:
    words = parser_of("serve").parse(["--cert", str(own[0]), "--key", str(own[1])])
    once = tmp_path / "keys" / "passphrase-once.txt"
    for _ in range(2):
        assert any(str(once) in line for line in opening.opening(words, tmp_path).said)
    once.unlink()
    assert opening.opening(words, tmp_path).said == []
