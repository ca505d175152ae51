"""What the phone's gate check shows, read from its page."""

from __future__ import annotations

from typing import Any

from playwright.sync_api import Page, expect


def to(page: Page, name: str) -> None:
    page.locator(f"[data-page={name}]").first.click()


def counted(page: Page) -> None:
    """Opens the gate check and waits for its count."""
    to(page, "gate")
    expect(page.locator("#total")).to_be_visible(timeout=60_000)


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
