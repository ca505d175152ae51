"""Opening pages, and what is asked of each: is it fit for everybody, does it fit the screen."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, Page

from served import Served

Look = Callable[..., Page]
WAIT_MS = 20_000
AXE = Path(__file__).parents[1] / "web" / "node_modules" / "axe-core" / "axe.min.js"
_RUN = """() => axe.run(document, {
  runOnly: {type: 'tag', values: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa',
    'best-practice']},
  rules: {'color-contrast-enhanced': {enabled: true}},
})"""


@contextmanager
def looking(browser: Browser) -> Iterator[Look]:
    """Opens pages of a house, each as a browser of its own; nothing may be said on a console.

    ``new``: the cautions have not been read yet. ``quiet`` False: the console may say something.
    """
    pages: list[Page] = []
    said: list[str] = []

    def open_at(
        house: Served, path: str, *, width: int = 1366, height: int = 900, dark: bool = False,
        new: bool = False, quiet: bool = True,
    ) -> Page:  # fmt: skip
        context = browser.new_context(
            viewport={"width": width, "height": height},
            color_scheme="dark" if dark else "light",
            reduced_motion="reduce",
            has_touch=width < 500,
        )
        context.set_default_timeout(WAIT_MS)
        if not new:
            context.add_init_script("localStorage.setItem('unsown-cautions-read', '1')")
        page = context.new_page()
        if quiet:
            page.on("console", lambda m: said.append(m.text) if m.type == "error" else None)
        page.on("pageerror", lambda e: said.append(str(e)))
        page.goto(house.origin + path)
        pages.append(page)
        return page

    try:
        yield open_at
    finally:
        for page in pages:
            page.context.close()
    assert not said, said


def go(page: Page, path: str) -> None:
    """Follows an address inside the desk, as a link there does."""
    page.evaluate(
        """path => {
          history.pushState(null, '', path);
          dispatchEvent(new PopStateEvent('popstate'));
        }""",
        path,
    )


@cache
def _axe() -> str:
    return AXE.read_text("utf-8")


def violations(page: Page) -> list[str]:
    """What axe finds on a page as it stands, with contrast held to 7 : 1, one line a finding."""
    page.evaluate(_axe())  # through the debugger: the page's own policy allows no such script
    found: dict[str, Any] = page.evaluate(_RUN)
    assert found["passes"], "axe looked at nothing"
    return [
        f"{rule['id']}: {node['target']} {node['failureSummary']}"
        for rule in found["violations"]
        for node in rule["nodes"]
    ]


def too_wide(page: Page) -> list[str]:
    """Parts of a page that reach beyond the screen's right edge."""
    found: list[str] = page.evaluate(
        """() => [...document.querySelectorAll('body *')]
          .filter(e => e.getBoundingClientRect().right > innerWidth + 1
            && !e.closest('.wide, .spoken, svg, .ol-viewport'))
          .map(e => e.tagName + '.' + e.className)"""
    )
    return found


def too_small(page: Page, least: int = 24) -> list[str]:
    """Controls that are lower or narrower than a fingertip can be sure of, in CSS pixels."""
    found: list[str] = page.evaluate(
        """least => [...document.querySelectorAll('main button, main .button, nav a, main select')]
          .filter(e => e.offsetParent)
          .map(e => [e, e.getBoundingClientRect()])
          .filter(([, box]) => box.height < least || box.width < least)
          .map(([e, box]) => `${e.tagName} ${e.textContent} ${box.width}x${box.height}`)""",
        least,
    )
    return found


def plain(page: Page, where: str) -> str:
    """What one element says, with every space an ordinary one."""
    return page.locator(where).inner_text().replace("\u00a0", " ")
