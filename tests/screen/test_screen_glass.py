"""How the page stands on the glass: sizes by visual angle measured on the picture, touch targets, motion, narrow and wide windows."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest
from page_checks import cut, ink_height, millimetre
from playwright.sync_api import Page
from screen_kit import SHOTS, ScreenKit
from test_screen_evening import script, shown

EVENING = script("fish-supper--plain-evening.txt")
CAPITAL = """
(selector) => {
  const style = getComputedStyle(document.querySelector(selector)), pen = document.createElement('canvas').getContext('2d');
  pen.font = `${style.fontWeight} 500px ${style.fontFamily}`;
  return pen.measureText('H').actualBoundingBoxAscent / 500 * parseFloat(style.fontSize);
}
"""


def stands(minutes: float, distance_m: float) -> float:
    """How high a letter stands that an eye at this distance sees under so many minutes of arc, mm: h = 2 d tan(angle / 2) (ISO 9241-3)."""
    return 2000.0 * distance_m * math.tan(math.radians(minutes / 60.0) / 2.0)


@pytest.mark.parametrize(("minutes", "mm"), [(16, 9.3), (20, 11.6), (22, 12.8), (30, 17.5), (36, 20.9)])
def test_heights_by_visual_angle(minutes: float, mm: float) -> None:
    """At two metres, as a second program has them: what the page is measured by is right."""
    assert stands(minutes, 2.0) == pytest.approx(mm, abs=0.06)


@pytest.fixture
def frying(make: Callable[..., ScreenKit]) -> ScreenKit:
    """Chips in the oil, their countdown running, nothing due."""
    kit = make()
    kit.play(EVENING, lambda seen: bool(seen.clocks and seen.clocks[0].kind == "oil" and seen.next and seen.pots) and seen.level in ("do", "free"))
    return kit


def test_a_ten_inch_tablet_is_read_from_two_metres(frying: ScreenKit, look: Callable[..., Page]) -> None:
    """Capitals of text stand 13 mm or more, figures of countdown and oil 35 mm, small print 10 mm (16 minutes of arc are 9.3 mm at 2 m: ISO 9241-3);
    the figures are measured on the picture itself."""
    page = look(f"{frying.open()}?inches=10&distance=2")
    shown(page, frying)
    mm = millimetre(page, 10)
    for selector in ("#words", "#next-words", "#clocks li, .pot p"):
        assert page.evaluate(CAPITAL, selector) / mm >= max(12.99, stands(22, 2.0)), selector
    for selector in ("#next-left", ".brew"):
        assert page.evaluate(CAPITAL, selector) / mm >= 34.99, selector
    for selector in ("#talk", ".age"):
        assert page.evaluate(CAPITAL, selector) / mm >= max(9.99, stands(16, 2.0)), selector
    assert ink_height(page.locator("#next-left")) / mm >= 34.5
    assert page.evaluate("document.querySelector('main').getBoundingClientRect().bottom <= innerHeight + 1"), (
        "all of it in one look, without scrolling"
    )
    page.screenshot(path=SHOTS / "tablet-two-metres.png")


@pytest.mark.parametrize("distance", [0.6, 1, 3])
def test_sizes_follow_the_distance(distance: float, frying: ScreenKit, look: Callable[..., Page]) -> None:
    """The same angle at any distance: twice as far is twice as large; never under 16 pixels."""
    page = look(f"{frying.open()}?inches=14&distance={distance}", width=1440, height=900)
    shown(page, frying)
    assert page.evaluate(CAPITAL, "#next-left") / millimetre(page, 14) == pytest.approx(17.5 * distance, rel=0.02)
    assert cut(page) == []


def test_the_distance_is_set_on_the_page_and_kept(frying: ScreenKit, look: Callable[..., Page]) -> None:
    """Choosing a distance changes the sizes at once and outlives a reload."""
    page = look(frying.open())
    page.click("summary:has-text('This screen')")
    page.select_option("#distance", "1")
    small = page.evaluate(CAPITAL, "#next-left")
    page.select_option("#distance", "2")
    assert page.evaluate(CAPITAL, "#next-left") == pytest.approx(2 * small, rel=0.02)
    page.select_option("#distance", "1")
    page.reload()
    page.wait_for_selector("#next-left:not(:empty)")
    assert page.evaluate(CAPITAL, "#next-left") == pytest.approx(small, rel=0.02)


@pytest.mark.parametrize(("width", "height", "inches"), [(1280, 800, 10), (800, 1280, 10), (320, 640, 6.1), (1440, 900, 14)])
def test_touch_targets_are_twenty_millimetres_and_inside_the_window(
    width: int, height: int, inches: float, frying: ScreenKit, look: Callable[..., Page]
) -> None:
    """Each button is at least 20 by 20 mm on its glass, whole within the window without scrolling, and no two overlap."""
    page = look(f"{frying.open()}?inches={inches}", width=width, height=height)
    mm = millimetre(page, inches)
    boxes = [b.bounding_box() for b in page.locator("#hands button").all()]
    assert len(boxes) >= 5
    for box in boxes:
        assert box is not None
        assert min(box["width"], box["height"]) / mm >= 19.95
        assert box["x"] >= 0
        assert box["x"] + box["width"] <= width + 0.5
        assert box["y"] + box["height"] <= height + 0.5
    overlap = [
        (a, b)
        for i, a in enumerate(boxes)
        for b in boxes[:i]
        if a
        and b
        and a["x"] < b["x"] + b["width"]
        and b["x"] < a["x"] + a["width"]
        and a["y"] < b["y"] + b["height"]
        and b["y"] < a["y"] + a["height"]
    ]
    assert overlap == []


def test_nothing_moves_where_the_browser_asks_for_none(frying: ScreenKit, look: Callable[..., Page]) -> None:
    """With reduced motion asked for, no element has an animation or a transition."""
    page = look(frying.open(), reduced_motion="reduce")
    frying.at(frying.evening.kitchen_time() + 5, "fire")
    shown(page, frying)
    moving = page.evaluate(
        """[...document.querySelectorAll('*')].filter((e) => {
          const style = getComputedStyle(e);
          return parseFloat(style.transitionDuration) > 0 || style.animationName !== 'none';
        }).map((e) => e.id || e.tagName)"""
    )
    assert moving == []


@pytest.mark.parametrize("level", ["go", "hold", "danger", "alarm", "due"])
def test_colour_never_says_it_alone(level: str, make: Callable[..., ScreenKit], look: Callable[..., Page]) -> None:
    """In grey, each state still has its word and its own shape."""
    kit = make()
    page = look(kit.open())
    words = {"go": "go", "hold": "hold", "danger": "Danger", "alarm": "Act now", "due": ""}[level]
    page.evaluate("(level) => { document.body.dataset.level = level; }", level)
    if level in ("go", "hold"):
        kit.play(EVENING, lambda seen: any(pot.verdict == level for pot in seen.pots))
        page.wait_for_selector(f".pot[data-verdict={level}]")
        assert page.inner_text(".verdict").startswith(words)
    else:
        clip, radius = page.evaluate(
            "[getComputedStyle(document.querySelector('h1 .shape')).clipPath, getComputedStyle(document.querySelector('h1 .shape')).borderRadius]"
        )
        assert (clip, radius) == {
            "danger": ("polygon(30% 0px, 70% 0px, 100% 30%, 100% 70%, 70% 100%, 30% 100%, 0px 70%, 0px 30%)", "0px"),
            "alarm": ("polygon(50% 0px, 100% 92%, 0px 92%)", "0px"),
            "due": ("none", "50%"),
        }[level]
