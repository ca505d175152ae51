"""Prints every page of a folder to PDF with Chromium and writes down where everything came to lie.

A process of its own: ``python printer.py CHROMIUM FOLDER``. For each NAME.html it leaves NAME.pdf
and NAME.json. Boxes are CSS pixels (96 an inch) as laid out for print, [left, top, right, bottom].
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

from playwright.sync_api import sync_playwright

LOOK = """() => {
  const sides = r => [r.left, r.top, r.right, r.bottom];
  const at = e => sides(e.getBoundingClientRect());
  const texts = [];
  for (const page of document.querySelectorAll('.page')) {
    const walk = document.createTreeWalker(page, NodeFilter.SHOW_TEXT);
    for (let node = walk.nextNode(); node; node = walk.nextNode()) {
      if (!node.data.trim() || node.parentElement.closest('title')) continue;
      const range = document.createRange();
      range.selectNodeContents(node);
      const svg = node.parentElement.closest('svg');
      const grown = svg ? node.parentElement.getScreenCTM().a : 1;
      const size = parseFloat(getComputedStyle(node.parentElement).fontSize) * grown;
      const boxes = svg ? [at(node.parentElement)]
        : [...range.getClientRects()].map(sides);
      texts.push({text: node.data.trim(), size, svg: !!svg, boxes});
    }
  }
  const one = name => { const e = document.querySelector(name); return e ? at(e) : null };
  return {
    pages: [...document.querySelectorAll('.page')].map(p => ({
      box: at(p), over: [p.scrollHeight - p.clientHeight, p.scrollWidth - p.clientWidth],
    })),
    texts,
    discs: [...document.querySelectorAll('#map circle[r]')]
      .filter(c => c.parentElement.id === 'map').map(at),
    map: one('#map'), fence: one('#map-fence'), bar: one('#map-scale-bar rect'),
    barText: document.querySelector('#map-scale-bar text:last-child')?.textContent,
    north: one('#map-north path'), sticker: one('.sticker'), free: one('.free'),
    scripts: document.scripts.length,
  };
}"""


def main(chromium: str, folder: Path) -> None:
    with sync_playwright() as driver:
        # the sandbox of the browser needs rights that a test machine's container has not
        browser = driver.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
        for path in sorted(folder.glob("*.html")):
            page = browser.new_page(viewport={"width": 1000, "height": 1200})
            page.goto(path.as_uri())
            page.emulate_media(media="print")
            path.with_suffix(".json").write_text(json.dumps(page.evaluate(LOOK)))
            page.pdf(path=str(path.with_suffix(".pdf")), prefer_css_page_size=True)
            page.close()
        browser.close()


if __name__ == "__main__":
    main(sys.argv[1], Path(sys.argv[2]))
