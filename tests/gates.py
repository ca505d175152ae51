"""What the phone's gate check shows, read from its page."""

from __future__ import annotations

from typing import Any

from playwright.sync_api import Page, expect

#: A thumb in a glove, CSS px; and the smallest text in the cab.
THUMB, TEXT = 114, 22
SIZES = {"small": (360, 640), "usual": (412, 915), "on its side": (915, 412)}
LEAST = {**SIZES, "small, on its side": (640, 360)}


def to(page: Page, name: str) -> None:
    page.locator(f"[data-page={name}]").first.click()


def counted(page: Page) -> None:
    """Opens the gate check and waits for its count."""
    to(page, "gate")
    expect(page.locator("#total")).to_be_visible(timeout=60_000)


def in_sight(page: Page, selector: str) -> bool:
    """Whether all of a button can be seen and touched where the page begins, not scrolled."""
    return bool(
        page.evaluate(
            """selector => {
              scrollTo(0, 0);
              const made = document.querySelector(selector);
              const {left, right, top, bottom} = made.getBoundingClientRect();
              // round corners are not the button's
              return [left + 4, right - 4].every(x => [top + 4, bottom - 4].every(
                y => made.contains(document.elementFromPoint(x, y))));
            }""",
            selector,
        )
    )


def cards(page: Page) -> list[dict[str, Any]]:
    """Every card, one after the other."""
    out: list[dict[str, Any]] = []
    many = page.locator(".g-plate").count()
    for _ in range(many):
        card = page.locator(".card")
        out.append(
            {
                "number": int(card.get_attribute("data-number") or 0),
                "m2": float(card.get_attribute("data-m2") or 0),
                "chance": float(card.get_attribute("data-chance") or 0),
                "where": card.locator(".where").inner_text().replace("\u00a0", " "),
                "dots": card.locator(".dot.full").count(),
            }
        )
        if many > 1:
            page.get_by_role("button", name="Next patch").click()
    return out


def small_text(page: Page) -> list[str]:
    """Texts that are set smaller than can be read at arm's length."""
    found: list[str] = page.evaluate(
        """least => [...document.querySelectorAll('body *')]
          .filter(e => [...e.childNodes].some(n => n.nodeType === 3 && n.textContent.trim()))
          .filter(e => !e.closest('.spoken, script, style, noscript'))
          .filter(e => {
            const svg = e.closest('svg');
            const scale = svg ? svg.getBoundingClientRect().width / svg.viewBox.baseVal.width : 1;
            return parseFloat(getComputedStyle(e).fontSize) * scale < least - 0.1;
          })
          .map(e => `${e.tagName} ${e.textContent}`)""",
        TEXT,
    )
    return found
