"""What a page can be asked: is text cut, is contrast enough, how large is it on the glass. Asked of the browser's layout, not of our style."""

from __future__ import annotations

import io
import math
import time
from typing import Any

import numpy as np
from PIL import Image
from playwright.sync_api import Locator, Page

# every visible run of text: its words, colour, the colour under it, where it is, what hides a part of it
TEXTS = """
() => {
  const rgb = (c) => c.match(/[\\d.]+/g).map(Number);
  const under = (el) => {
    for (let e = el; e; e = e.parentElement) {
      const c = rgb(getComputedStyle(e).backgroundColor);
      if (c.length < 4 || c[3] > 0.99) return c.slice(0, 3);
    }
    return [255, 255, 255];
  };
  const found = [];
  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  for (let node = walk.nextNode(); node; node = walk.nextNode()) {
    const el = node.parentElement;
    if (!node.textContent.trim() || el.closest('.heard-only, details:not([open]) > :not(summary), option, script') || !el.checkVisibility()) continue;
    const range = document.createRange();
    range.selectNodeContents(node);
    const boxes = [...range.getClientRects()].map((r) => [r.left, r.top, r.right, r.bottom]);
    if (!boxes.length) continue;
    const style = getComputedStyle(el);
    const clipped = [];
    for (let e = el; e; e = e.parentElement) {
      const s = getComputedStyle(e);
      if (s.overflowX !== 'visible' && e.scrollWidth > e.clientWidth + 1 && e !== document.documentElement) clipped.push(e.id || e.tagName);
    }
    found.push({ words: node.textContent.trim(), ink: rgb(style.color).slice(0, 3), ground: under(el), boxes, clipped });
  }
  return found;
}
"""


def until(page: Page, condition: str, arg: object = None, limit_s: float = 10.0) -> None:
    """Wait until a condition on the page holds. Playwright's own waiting evaluates strings in the page, which its policy rightly forbids."""
    end = time.monotonic() + limit_s
    while not page.evaluate(condition, arg):
        assert time.monotonic() < end, f"never came true: {condition}, {arg}"
        page.wait_for_timeout(15)


def texts(page: Page) -> list[dict[str, Any]]:
    """Every visible text of the page."""
    found: list[dict[str, Any]] = page.evaluate(TEXTS)
    return found


def luminance(rgb: list[float]) -> float:
    """Relative luminance as WCAG 2.1 defines it, of sRGB 0..255."""
    linear = [c / 255 / 12.92 if c / 255 <= 0.04045 else ((c / 255 + 0.055) / 1.055) ** 2.4 for c in rgb]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(a: list[float], b: list[float]) -> float:
    """Contrast ratio as WCAG 2.1 defines it, 1..21."""
    light, dark = sorted((luminance(a), luminance(b)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def cut(page: Page) -> list[str]:
    """Texts that do not lie wholly within the width of the page, or within a box that hides what is over."""
    width = page.evaluate("document.documentElement.clientWidth")
    wide = page.evaluate("document.documentElement.scrollWidth")
    found = [t["words"] for t in texts(page) if t["clipped"] or any(left < -0.5 or right > width + 0.5 for left, _, right, _ in t["boxes"])]
    return found + ([f"the page is {wide} wide, the window {width}"] if wide > width else [])


def ink_height(what: Locator) -> int:
    """Height of the ink of an element on its screenshot, in pixels: what an eye sees, whatever the style says."""
    grey = np.asarray(Image.open(io.BytesIO(what.screenshot())).convert("L"), dtype=float)
    ground = grey[0, grey.shape[1] // 2]
    rows = np.flatnonzero((np.abs(grey - ground) > 96).any(axis=1))
    return int(rows[-1] - rows[0] + 1)


def millimetre(page: Page, inches: float) -> float:
    """Pixels a millimetre on glass of this diagonal."""
    view = page.viewport_size
    assert view is not None
    return math.hypot(view["width"], view["height"]) / (inches * 25.4)
