"""The checks themselves: each finds the fault it is there for."""

from __future__ import annotations

from browsing import Look, too_small, too_wide, violations
from served import Served

GREY = "color: #6b6b6b"  # 5.3 : 1 on white: enough for many rules, not for a screen in the sun


def test_the_checks_of_a_page_find_what_is_wrong_with_it(look: Look, house: Served) -> None:
    page = look(house, "/desk/settings", width=360, height=640)
    page.get_by_role("heading", level=1).wait_for()
    assert (violations(page), too_wide(page), too_small(page)) == ([], [], [])
    page.evaluate(
        """grey => {
          const made = (tag, style, text) => {
            const one = document.createElement(tag);
            one.style.cssText = style;
            one.textContent = text;
            document.querySelector('main').append(one);
          };
          made('p', grey, 'Thin words');
          made('button', '', '');
          made('div', 'width: 500px', 'Wide');
          made('button', 'padding: 0; border: 0; height: 15px; min-height: 0', 'Small');
        }""",
        GREY,
    )
    found = "\n".join(violations(page))
    assert "color-contrast-enhanced" in found
    assert "button-name" in found
    assert len(too_wide(page)) == 1
    assert any("Small" in row for row in too_small(page))
