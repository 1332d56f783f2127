"""A scripted evening on the page, played at speed: at every set moment the page agrees with the state, and screenshots are kept in build/screens."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from page_checks import contrast, cut, texts, until
from playwright.sync_api import Page
from screen_kit import SHOTS, ScreenKit

from assistant.rehearsal import read_script
from assistant.showing.view import View

SCENARIOS = Path(__file__).parents[1] / "scenarios"


def script(name: str) -> tuple[tuple[float, str], ...]:
    """What the cook says in a golden scenario."""
    return tuple((c.t, c.words) for c in read_script(SCENARIOS / name).cues if c.said)


def shown(page: Page, kit: ScreenKit) -> View:
    """The view as it should be, once the page has caught up with it."""
    want = kit.view()
    same = "([words, level]) => document.getElementById('words').textContent === words && document.body.dataset.level === level"
    until(page, same, [want.words, want.level])
    page.wait_for_timeout(30)
    return want


def visible(page: Page, selector: str) -> list[str]:
    """Texts of what can be seen of this."""
    return [x.inner_text() for x in page.locator(selector).all() if x.is_visible()]


def agrees(page: Page, kit: ScreenKit) -> None:
    """Sentence, takeover, clocks, oil and buttons are those of the view."""
    want, t = shown(page, kit), kit.evening.kitchen_time()
    assert (page.get_attribute("body", "data-takeover") is not None) == want.takeover
    clocks = [c for c in want.clocks if want.takeover or want.next is None or c.id != want.next.clock]
    assert [x.rsplit(" ", 1)[0].split("\n")[0].strip().startswith(c.name) for x, c in zip(visible(page, "#clocks li"), clocks, strict=True)] == [
        True
    ] * len(clocks)
    if not want.takeover:
        assert visible(page, "#next-words") == ([want.next.words] if want.next else [])
        assert [x.replace("≈", "").strip() for x in visible(page, ".brew")] == [p.figure or "?" for p in want.pots]
        assert all(x in y for x, y in zip([p.wants for p in want.pots], visible(page, ".pot"), strict=True))
        if want.next is not None and 1.0 < want.next.at_t - t < 600:
            minutes, seconds = page.inner_text("#next-left").split(":")
            assert abs(int(minutes) * 60 + int(seconds) - (want.next.at_t - t)) < 2.0
    assert visible(page, "#hands button") == [b.label for b in want.buttons]


def fine(page: Page, axe: str) -> None:
    """No text cut, contrast of 7:1 or more, and (where its source is given) nothing that axe-core finds."""
    run = "; axe.run(document, {resultTypes: ['violations']}).then((r) => r.violations.map((v) => [v.id, v.nodes.map((n) => n.html)]))"
    assert not axe or page.evaluate(axe + run) == []
    assert cut(page) == []
    weak = {(t["words"], round(contrast(t["ink"], t["ground"]), 2)) for t in texts(page) if contrast(t["ink"], t["ground"]) < 7.0}
    assert weak == set()


@pytest.mark.parametrize("name", ["plain-evening", "boil-over"])
def test_the_page_agrees_with_the_state_through_an_evening(name: str, make: Callable[..., ScreenKit], look: Callable[..., Page], axe: str) -> None:
    """At every kind of moment of an evening (another level, another number of clocks, another verdict on the oil): the page shows the sentence,
    clocks, oil and buttons that the state says; nothing is cut; axe-core finds nothing; all text has 7:1. Wide, upright, narrow, light and dark."""
    kit = make()
    url = kit.open()
    pages = {
        "light": look(f"{url}?inches=10&distance=2", color_scheme="light"),
        "dark": look(f"{url}?inches=10&distance=2", color_scheme="dark"),
        "800": look(f"{url}?inches=10&distance=2", width=800, height=1280),
        "320": look(url, width=320, height=640),
    }
    kinds: set[object] = set()
    for t, words in script(f"fish-supper--{name}.txt"):
        kit.at(t, words)
        kit.at(t + 1.5)
        seen = kit.view()
        kind = (seen.level, min(2, len(seen.clocks)), seen.next is None, tuple(p.verdict for p in seen.pots))
        if kind in kinds:
            continue
        kinds.add(kind)
        for page_name, page in pages.items():
            agrees(page, kit)
            page.screenshot(path=SHOTS / f"{name}-{int(t):05d}-{seen.level}-{page_name}.png")
            # axe-core, the slow part, looks at every kind once in light and once in one of the others
            fine(page, axe if page_name in ("light", list(pages)[1 + len(kinds) % 3]) else "")
    assert {level for level, *_ in kinds if isinstance(level, str)} >= ({"do", "due", "free"} if name == "plain-evening" else {"danger", "hold"})  # type: ignore[misc]


def test_a_takeover_is_read_out_at_once_and_the_rest_politely(make: Callable[..., ScreenKit], look: Callable[..., Page]) -> None:
    """A screen reader is told a new sentence when it is free, and a danger immediately, in the words of the voice; never a countdown."""
    kit = make()
    page = look(kit.open())
    assert page.get_attribute("#polite", "aria-live") == "polite"
    assert page.get_attribute("#at-once", "aria-live") == "assertive"
    assert kit.view().words in page.text_content("#polite")
    assert page.get_attribute("#next-left", "aria-live") == "off"
    kit.at(20.0, "fire")
    shown(page, kit)
    assert page.text_content("#at-once") == kit.evening.state.last_words
    assert page.text_content("#polite") == ""


def test_everything_said_stays_readable(make: Callable[..., ScreenKit], look: Callable[..., Page]) -> None:
    """Every line said and heard is in the list below, the newest first, with its time of day."""
    kit = make()
    page = look(kit.open())
    kit.at(9.0, "yes")
    kit.at(15.0, "what's next")
    page.click("summary:has-text('What was said')")
    until(page, "document.querySelectorAll('#lines li.heard').length === 2")
    lines = page.locator("#lines li").all_inner_texts()
    assert lines[0].endswith(kit.evening.state.last_words)
    assert any(x.endswith("“what's next”") and x.startswith("16:30") for x in lines)
    assert lines[-1].endswith("Stay with hot oil.")


def test_a_helper_has_a_page_of_his_own(make: Callable[..., ScreenKit], look: Callable[..., Page], axe: str) -> None:
    """A device at ?for=helper shows the helper's job and its Done, no oil and no clock."""
    kit = make()
    page = look(f"{kit.open()}?for=helper&inches=10&distance=2")
    assert page.inner_text("#words") == "No helper is here yet."
    kit.at(9.0, "a helper is here")
    page.wait_for_selector("#hands button")
    first = page.inner_text("#words")
    assert first != kit.view().words
    assert visible(page, ".pot, #clocks li") == []
    fine(page, axe)
    page.screenshot(path=SHOTS / "helper.png")
    page.click("#hands button")
    assert kit.take_posted()[0].startswith("done with ")
    until(page, "(was) => document.getElementById('words').textContent !== was", first)
