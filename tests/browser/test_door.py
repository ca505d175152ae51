"""The passphrase page: in front of everything as soon as others could reach the service."""

from __future__ import annotations

from pathlib import Path

from playwright.sync_api import expect

from browsing import Look, too_wide, violations
from served import served

WORDS = "long quiet furrow"


def test_nothing_is_shown_before_the_passphrase_and_everything_after_it(
    look: Look, tmp_path: Path
) -> None:
    words = tmp_path / "words"
    words.write_text(WORDS + "\n")
    words.chmod(0o600)
    how = ("--yard", "--host-name", "farm.home.arpa", "--passphrase-file", str(words))
    with served(tmp_path / "farm", *how) as house:
        page = look(house, "/desk/settings", width=360, height=640, quiet=False)
        field = page.get_by_label("Passphrase of the farm")
        expect(field).to_be_visible()
        expect(page.get_by_role("button", name="Pages")).to_be_hidden()
        assert violations(page) == []
        assert too_wide(page) == []
        field.fill("short loud furrow")
        page.get_by_role("button", name="Go in").click()
        expect(page.get_by_role("alert")).not_to_be_empty()
        field.fill(WORDS)
        field.press("Enter")
        expect(page.get_by_role("heading", level=1)).to_have_text("Settings")
        page.reload()
        expect(page.get_by_role("heading", level=1)).to_have_text("Settings")
        page.get_by_role("button", name="Leave this browser").click()
        expect(field).to_be_visible()
