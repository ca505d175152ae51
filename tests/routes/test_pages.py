"""The pages that stand without being built, and how built ones are handed out."""

from __future__ import annotations

import gzip
import re
from pathlib import Path

import pytest
from cryptography import x509

from houses import NAME, home
from unsown.yard.authority import make
from yardmade import NOW


def test_the_trust_page_leads_through_both_kinds_of_phone_and_back_again(tmp_path: Path) -> None:
    authority = make([NAME], NOW)
    at = f"http://{NAME}:8610/trust"
    with home(tmp_path, authority=authority, trust_at=at) as made:
        page = made.client().get("/trust").text.replace("<wbr>", "")
        for needed in (authority.fingerprint, NAME, "192.168.0.0/16", "Android", "iPhone",
                       "CA certificate", "Certificate Trust Settings", "Remove Profile",
                       "Trusted credentials", 'href="/trust/authority.crt"', "<svg",
                       f"https://{NAME}:8611/"):  # fmt: skip
            assert needed in page, needed
        assert page.index("Compare") < page.index("4. Open")


def test_the_certificate_is_handed_out_and_its_key_is_not(tmp_path: Path) -> None:
    authority = make([NAME], NOW)
    with home(tmp_path, authority=authority) as made:
        answer = made.client().get("/trust/authority.crt")
        assert answer.mimetype == "application/x-x509-ca-cert"
        assert x509.load_der_x509_certificate(answer.data) == authority.certificate
        assert b"PRIVATE" not in answer.data
        yard = made.desk().get("/api/yard").get_json()
        assert yard["fingerprint"] == authority.fingerprint


def test_without_an_authority_there_is_nothing_to_trust_and_the_page_says_so(
    tmp_path: Path,
) -> None:
    with home(tmp_path, locked=False) as made:
        assert "nothing to trust" in made.client().get("/trust").text
        assert made.client().get("/trust/authority.crt").status_code == 404


def test_pages_that_are_not_built_say_how_to_build_them(tmp_path: Path) -> None:
    with home(tmp_path, locked=False, static=tmp_path / "none") as made:
        for path in ("/desk/", "/desk/paddock/1", "/cab/"):
            answer = made.client().get(path)
            assert answer.status_code == 503
            assert "make web" in answer.text


def test_built_files_are_kept_by_browsers_for_good_and_pages_are_asked_for_again(
    tmp_path: Path,
) -> None:
    static = tmp_path / "static"
    (static / "assets").mkdir(parents=True)
    (static / "cab").mkdir()
    for name in ("desk.html", "assets/desk-B4d9sK1x.js", "cab/index.html", "cab/sw.js"):
        (static / name).write_text("x")
    (tmp_path / "secret.txt").write_text("not for the net")
    with home(tmp_path, locked=False, static=static) as made:
        client = made.client()
        script = client.get("/static/assets/desk-B4d9sK1x.js")
        assert "immutable" in script.headers["Cache-Control"]
        assert re.match(r"(text|application)/javascript", script.mimetype)
        for path in ("/desk/", "/desk/paddock/12", "/cab/", "/cab/sw.js"):
            answer = client.get(path)
            assert (answer.status_code, answer.headers["Cache-Control"]) == (200, "no-cache"), path
        (static / "assets" / "cab-B4d9sK1y.js").write_text("let one = 1;\n" * 1000)
        packed = client.get("/static/assets/cab-B4d9sK1y.js", headers={"Accept-Encoding": "gzip"})
        assert packed.headers["Content-Encoding"] == "gzip"
        assert gzip.decompress(packed.data) == b"let one = 1;\n" * 1000
        # what was packed when it was built is sent as it lies there
        (static / "assets" / "cab-B4d9sK1y.js.gz").write_bytes(gzip.compress(b"let two = 2;"))
        packed = client.get("/static/assets/cab-B4d9sK1y.js", headers={"Accept-Encoding": "gzip"})
        assert gzip.decompress(packed.data) == b"let two = 2;"
        assert re.match(r"(text|application)/javascript", packed.mimetype)
        assert "immutable" in packed.headers["Cache-Control"]
        plain = client.get("/static/assets/cab-B4d9sK1y.js")
        assert "Content-Encoding" not in plain.headers
        assert len(plain.data) == 13_000
        again = client.get(
            "/desk/", headers={"If-None-Match": client.get("/desk/").headers["ETag"]}
        )
        assert again.status_code == 304
        for path in ("/static/../secret.txt", "/static/%2e%2e/secret.txt", "/static/assets",
                     "/static/..%2fsecret.txt", "/cab/../../secret.txt", "/static//etc/passwd",
                     "/static/assets/..%5c..%5csecret.txt", "/static/%00"):  # fmt: skip
            answer = client.get(path)
            assert answer.status_code in (404, 308), path
            assert "not for the net" not in answer.text


def test_the_phones_page_says_what_it_is_to_whoever_installs_it(tmp_path: Path) -> None:
    static = tmp_path / "static"
    (static / "cab").mkdir(parents=True)
    (static / "cab" / "manifest.webmanifest").write_text("{}")
    with home(tmp_path, locked=False, static=static) as made:
        client = made.client()
        assert client.get("/cab/manifest.webmanifest").mimetype == "application/manifest+json"
        typed = client.get("/cab")
        assert (typed.status_code, typed.headers["Location"]) == (302, "/cab/")


def test_the_root_leads_to_the_desk(tmp_path: Path) -> None:
    with home(tmp_path, locked=False) as made:
        answer = made.client().get("/")
        assert (answer.status_code, answer.headers["Location"]) == (302, "/desk/")


@pytest.mark.parametrize("path", ["/nothing", "/sheet-of-nothing", "/api/nothing"])
def test_a_page_that_is_not_there_says_so_in_the_kind_that_was_asked_for(
    tmp_path: Path, path: str
) -> None:
    with home(tmp_path, locked=False) as made:
        answer = made.client().get(path)
        assert answer.status_code == 404
        wanted = "application/json" if path.startswith("/api/") else "text/html"
        assert answer.mimetype == wanted
