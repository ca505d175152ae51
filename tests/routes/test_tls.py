"""The farm's certificate in use: judged by openssl and by a real browser."""

from __future__ import annotations

import os
import shutil
import socket
import ssl
import subprocess
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from cryptography.hazmat.primitives import serialization
from cryptography.hazmat.primitives.asymmetric import ec
from playwright.sync_api import Error as BrowserError
from playwright.sync_api import Page, Playwright

from served import Served, served
from unsown.routes.listen import Server
from unsown.yard import authority, leaf, private
from yardmade import NOW, openssl

NAME = "farm.home.arpa"


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    with served(tmp_path_factory.mktemp("yard"), "--yard", "--host-name", NAME) as made:
        yield made


def s_client(house: Served, *words: str) -> str:
    at = ("-connect", f"127.0.0.1:{house.tls_port}", "-servername", NAME)
    return openssl("s_client", *at, "-CAfile", str(house.authority), "-verify_return_error", *words)


def test_openssl_trusts_the_served_certificate_through_the_farms_authority_alone(
    house: Served,
) -> None:
    said = s_client(house, "-verify_hostname", NAME)
    assert "Verify return code: 0 (ok)" in said
    assert "TLSv1.3" in said
    assert "verify error" in s_client(house, "-verify_hostname", "bank.example")


def test_old_tls_is_refused(house: Served) -> None:
    for old in ("-tls1", "-tls1_1"):
        assert "alert protocol version" in s_client(house, old, "-cipher", "ALL:@SECLEVEL=0")
    assert "alert protocol version" not in s_client(house, "-tls1_2")


def test_whoever_speaks_plain_http_to_the_tls_port_is_told_so(house: Served) -> None:
    with socket.create_connection(("127.0.0.1", house.tls_port), 10) as line:
        line.sendall(b"GET / HTTP/1.1\r\nHost: x\r\n\r\n")
        assert line.recv(1000).startswith(b"HTTP/1.1 400")


def test_what_it_prints_leads_a_phone_in(house: Served) -> None:
    said = "".join(house.printed)
    assert f"https://{NAME}:{house.tls_port}/" in said
    assert f"http://{NAME}:{house.port}/trust" in said
    made = authority.open_authority(house.data / "keys", [NAME], NOW)
    assert made.fingerprint in said
    status, headers, body = house.ask("GET", "/trust/authority.crt", tls=NAME)
    assert (status, headers["Content-Type"]) == (200, "application/x-x509-ca-cert")
    assert body == made.der


def test_a_renewed_certificate_is_shown_without_a_restart(tmp_path: Path) -> None:
    made = authority.open_authority(tmp_path, [NAME], NOW)
    first = leaf.keep_leaf(tmp_path, made, [NAME], [], NOW)
    server = Server(_plain, "127.0.0.1", 0, (first.certificate, first.key), threads=2)
    server.start()
    try:
        before = ssl.get_server_certificate(("127.0.0.1", server.port), timeout=10)
        assert before.strip() == first.certificate.read_text().strip()
        (tmp_path / "leaf.crt").unlink()
        again = leaf.keep_leaf(tmp_path, made, [NAME], [], NOW)
        assert again.renewed
        server.renew()
        after = ssl.get_server_certificate(("127.0.0.1", server.port), timeout=10)
        assert after.strip() == again.certificate.read_text().strip() != before.strip()
    finally:
        server.stop()


@pytest.mark.parametrize("tls", [False, True])
def test_an_app_can_ask_whether_the_other_side_hung_up(tmp_path: Path, tls: bool) -> None:
    asked: list[bool] = []
    first, left = threading.Event(), threading.Event()

    def talking(environ: dict[str, Any], start: Any) -> Iterator[bytes]:
        start("200 OK", [("Content-Type", "text/plain")])
        asked.append(environ["unsown.hung_up"]())
        yield b"hello"
        first.wait(10)
        asked.append(environ["unsown.hung_up"]())
        left.wait(10)
        end = time.monotonic() + 10
        while not environ["unsown.hung_up"]() and time.monotonic() < end:
            time.sleep(0.01)
        asked.append(environ["unsown.hung_up"]())

    made = authority.open_authority(tmp_path, [NAME], NOW)
    own = leaf.keep_leaf(tmp_path, made, [NAME], [], NOW)
    server = Server(talking, "127.0.0.1", 0, (own.certificate, own.key) if tls else None, threads=2)
    server.start()
    try:
        line = socket.create_connection(("127.0.0.1", server.port), 10)
        if tls:
            trusted = ssl.create_default_context(cafile=tmp_path / "authority.crt")
            line = trusted.wrap_socket(line, server_hostname=NAME)
        with line:
            line.sendall(b"GET / HTTP/1.1\r\nHost: x\r\n\r\n")
            said = b""
            while b"hello" not in said:
                more = line.recv(4096)
                assert more, said
                said += more
            first.set()
            until = time.monotonic() + 10
            while len(asked) < 2 and time.monotonic() < until:
                time.sleep(0.01)
        left.set()
    finally:
        server.stop()
    assert asked == [False, False, True]


def _plain(environ: dict[str, object], start: object) -> list[bytes]:
    start("200 OK", [("Content-Type", "text/html"), ("Content-Length", "2")])  # type: ignore[operator]
    return [b"ok"]


def needs_browser() -> None:
    """Without a browser this is not seen; where everything must be there, that is a failure."""
    missing = [name for name in ("chromium", "certutil") if shutil.which(name) is None]
    if missing and not os.environ.get("CI"):
        pytest.skip(f"{' and '.join(missing)} not installed here")
    assert not missing


@contextmanager
def browser(driver: Playwright, home: Path, trusted: Path | None) -> Iterator[Page]:
    """Chromium with a store of its own, into which ``trusted`` was put as an authority."""
    needs_browser()
    store = home / ".pki" / "nssdb"
    store.mkdir(parents=True)
    subprocess.run(["certutil", "-N", "-d", f"sql:{store}", "--empty-password"], check=True)
    if trusted is not None:
        words = ["-A", "-n", "farm", "-t", "C,,", "-i", str(trusted)]
        subprocess.run(["certutil", "-d", f"sql:{store}", *words], check=True)
    context = driver.chromium.launch_persistent_context(
        str(home / "profile"),
        executable_path=shutil.which("chromium"),
        headless=True,
        env={**os.environ, "HOME": str(home), "XDG_DATA_HOME": str(home / ".local/share")},
        args=["--no-sandbox", "--host-resolver-rules=MAP * 127.0.0.1"],
    )
    try:
        yield context.new_page()
    finally:
        context.close()


def test_a_browser_that_trusts_the_authority_opens_the_house_as_a_secure_page(
    house: Served, driver: Playwright, tmp_path: Path
) -> None:
    with browser(driver, tmp_path, house.authority) as page:
        answer = page.goto(f"https://{NAME}:{house.tls_port}/trust")
        assert answer is not None
        assert answer.status == 200
        assert page.evaluate("isSecureContext && 'serviceWorker' in navigator")
        assert page.get_by_role("heading", level=1).inner_text().startswith("Let this phone trust")
        with pytest.raises(BrowserError, match="ERR_CERT_COMMON_NAME_INVALID"):
            page.goto(f"https://other.home.arpa:{house.tls_port}/trust")


def test_a_browser_that_does_not_trust_it_refuses(
    house: Served, driver: Playwright, tmp_path: Path
) -> None:
    with (
        browser(driver, tmp_path, None) as page,
        pytest.raises(BrowserError, match="ERR_CERT_AUTHORITY_INVALID"),
    ):
        page.goto(f"https://{NAME}:{house.tls_port}/trust")


def test_a_browser_believes_no_bank_signed_with_a_stolen_key(
    driver: Playwright, tmp_path: Path
) -> None:
    needs_browser()
    made = authority.open_authority(tmp_path / "keys", [NAME], NOW)
    key = ec.generate_private_key(ec.SECP256R1())
    certificate = leaf.sign(made, key, ["bank.example"], [], NOW)
    files = tmp_path / "bank.crt", tmp_path / "bank.key"
    private.write(files[0], certificate.public_bytes(serialization.Encoding.PEM))
    private.write(
        files[1],
        key.private_bytes(
            serialization.Encoding.PEM,
            serialization.PrivateFormat.PKCS8,
            serialization.NoEncryption(),
        ),
    )
    server = Server(_plain, "127.0.0.1", 0, files, threads=4)
    server.start()
    try:
        with (
            browser(driver, tmp_path, tmp_path / "keys" / "authority.crt") as page,
            pytest.raises(BrowserError, match=r"ERR_CERT_INVALID|ERR_CERT_AUTHORITY_INVALID"),
        ):
            page.goto(f"https://bank.example:{server.port}/")
    finally:
        server.stop()
