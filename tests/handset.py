"""A phone's browser that can die: a Chromium of its own, killed with all that belongs to it."""

from __future__ import annotations

import contextlib
import os
import shutil
import signal
import subprocess
import time
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Error, Page, Playwright

_START_S = 30
_SWITCHES = (
    "--headless=new",
    "--no-sandbox",  # it needs rights that a test machine's container has not
    "--remote-debugging-port=0",
    "--no-first-run",
    "--no-default-browser-check",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-dev-shm-usage",
    "--disable-gpu",
    "--disable-breakpad",
    "--password-store=basic",
    "--use-mock-keychain",
    "--window-size=412,915",
)


def chromium() -> str:
    """The installed browser's path; without one the test is skipped, or fails in CI."""
    path = os.environ.get("UNSOWN_CHROMIUM") or shutil.which("chromium")
    if path is None:
        words = "no chromium on the PATH: apt-get install chromium, or set UNSOWN_CHROMIUM"
        if os.environ.get("CI"):
            pytest.fail(words)
        pytest.skip(words)
    return path


def until(page: Page, holds: str, wait_s: float = 20) -> None:
    """Waits until an expression holds on a page; its policy forbids the driver's own waiting."""
    end = time.monotonic() + wait_s
    while not _holds(page, holds):
        assert time.monotonic() < end, f"not within {wait_s} s: {holds}"
        page.wait_for_timeout(20)


def _holds(page: Page, holds: str) -> bool:
    try:
        return bool(page.evaluate(f"() => Boolean({holds})"))
    except Error as trouble:
        if "Execution context was destroyed" in str(trouble):
            return False  # it is just being loaded anew
        raise


class Handset:
    """One phone's browser: the profile stays, the browser comes and goes."""

    def __init__(self, driver: Playwright, program: str, profile: Path) -> None:
        self._driver, self._program, self.profile = driver, program, profile
        self._process: subprocess.Popen[bytes] | None = None
        self._browser: Browser | None = None

    def start(self, url: str = "about:blank") -> Page:
        """Starts the browser on its profile; the page it shows."""
        assert self._process is None, "it runs already"
        told = self.profile / "DevToolsActivePort"
        told.unlink(missing_ok=True)
        self.profile.mkdir(parents=True, exist_ok=True)
        self._process = subprocess.Popen(
            [self._program, *_SWITCHES, f"--user-data-dir={self.profile}", "about:blank"],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            start_new_session=True,  # so that one signal reaches every process of it, and no other
        )
        until = time.monotonic() + _START_S
        while not (told.exists() and told.read_text().count("\n")):
            assert time.monotonic() < until, "the browser did not start"
            assert self._process.poll() is None, "the browser ended at once"
            time.sleep(0.02)
        port = told.read_text().splitlines()[0]
        self._browser = self._driver.chromium.connect_over_cdp(f"http://127.0.0.1:{port}")
        page = self._browser.contexts[0].pages[0]
        if url != "about:blank":
            page.goto(url)
        return page

    def group(self) -> int:
        """The number of the group that all processes of the browser are in."""
        assert self._process is not None, "it does not run"
        return self._process.pid

    def signal(self, number: int) -> None:
        """Sends a signal to the browser and everything it started."""
        if self._process is not None:
            os.killpg(self._process.pid, number)

    def kill(self) -> None:
        """Ends it as a flat battery or the system would: at once, and nothing is asked."""
        if self._process is None:
            return
        with contextlib.suppress(ProcessLookupError):
            self.signal(signal.SIGKILL)
        self._process.wait(10)
        self._process = None
        if self._browser is not None:
            with contextlib.suppress(Exception):  # it is gone already
                self._browser.close()
        self._browser = None
