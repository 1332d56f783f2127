"""The page and its server: lost and found again, paired or not, touched and typed on, fed hostile words, and watched by many."""

from __future__ import annotations

import http.server
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace

import pytest
from listeners import listen
from page_checks import until
from playwright.sync_api import Page
from screen_kit import SHOTS, ScreenKit
from test_screen_evening import agrees, fine, script, shown

from assistant.session import events as e
from assistant.showing.server import Screen

LOST = "!document.getElementById('lost').hidden"
FOUND = "document.getElementById('lost').hidden"
EVIL = "<script>document.title='owned'</script><img src=x onerror=\"alert(1)\">"


def test_a_stopped_server_is_said_and_the_true_state_comes_back(make: Callable[..., ScreenKit], look: Callable[..., Page], axe: str) -> None:
    """The server stops: the page says so. It starts again on the same port after the evening has gone on: the page is right again by itself."""
    kit = make()
    page = look(kit.open(), quiet=False)
    port = kit.screen.port
    before = kit.screen
    kit.at(15.0, "what's next")
    shown(page, kit)
    kit.screen.close()
    until(page, LOST)
    assert page.inner_text("#lost") == "Connection lost. Clocks run on. Trying again."
    fine(page, axe)
    page.screenshot(path=SHOTS / "connection-lost.png")
    kit.screen = Screen(kit.shown.append)
    kit.screen.listening = True
    kit.evening._watch = kit.screen.watch
    kit.at(560.0, "done")
    kit.screen.watch((), kit.evening.state)
    kit.open(port)
    until(page, FOUND)
    agrees(page, kit)
    assert before is not kit.screen


def test_a_server_that_hangs_is_noticed_by_its_missing_heartbeat(make: Callable[..., ScreenKit], look: Callable[..., Page]) -> None:
    """No error, no data, only silence: the page says that the connection is lost, and forgets it when the server is back."""
    kit = make()
    page = look(kit.open(), quiet=False)
    go_on = threading.Event()
    assert kit.screen._loop is not None
    kit.screen._loop.call_soon_threadsafe(go_on.wait)
    try:
        until(page, LOST)
    finally:
        go_on.set()
    until(page, FOUND)
    agrees(page, kit)


def test_clocks_are_counted_from_deadlines(make: Callable[..., ScreenKit], look: Callable[..., Page]) -> None:
    """Time passes with nothing happening and no view sent: at the next heartbeat every clock is right, however long the pause was."""
    kit = make()
    page = look(kit.open())
    kit.at(10.0, "yes")
    kit.at(20.0, "set a clock for nine minutes")
    shown(page, kit)
    until(page, "/^[89]:/.test(document.getElementById('next-left').textContent)")
    kit.clock.advance(300.0)
    until(page, "/^(4:0|3:5)/.test(document.getElementById('next-left').textContent)")


def test_touch_says_what_the_button_says(make: Callable[..., ScreenKit], look: Callable[..., Page]) -> None:
    """Each button sends its command as if typed, and the page follows what comes of it."""
    kit = make()
    page = look(kit.open())
    for label in ("Yes", "Done", "Lifted", "Again", "Go back", "Heat is off"):
        wanted = next(b.words for b in kit.view().buttons if b.label == label)
        page.click(f"#hands button:text-is('{label}')")
        assert kit.take_posted() == [wanted]
        agrees(page, kit)


def test_a_keyboard_types_commands_without_looking_for_the_field(make: Callable[..., ScreenKit], look: Callable[..., Page]) -> None:
    """Typing anywhere goes into the line; Enter says it; the line is empty again."""
    kit = make()
    page = look(kit.open())
    page.keyboard.type("what is next")
    page.keyboard.press("Enter")
    assert kit.take_posted() == ["what is next"]
    until(page, "document.getElementById('line').value === ''")
    until(page, "document.getElementById('heard').textContent === 'what is next'")


def code_of(kit: ScreenKit) -> str:
    """The code that is good now, read where a cook reads it."""
    return [x for x in kit.shown if "Code" in x][-1].split("once: ")[1][:6]


def test_on_the_network_a_page_reads_only_until_it_is_paired(make: Callable[..., ScreenKit], look: Callable[..., Page], axe: str) -> None:
    """No buttons and no talk before; a wrong code is refused; the right one gives touch; the code is good once."""
    kit = make(lan=True)
    kit.at(10.0, "yes")
    url = kit.open()
    page = look(url, quiet=False)
    shown(page, kit)
    assert page.locator("#hands button").count() == 0
    assert page.inner_text("#heard") == ""
    assert page.locator("#type").is_hidden()
    fine(page, axe)
    page.screenshot(path=SHOTS / "not-paired.png", full_page=True)
    code = code_of(kit)
    page.fill("#code", "000000" if code != "000000" else "111111")
    page.click("#pair button")
    until(page, "document.getElementById('answer').textContent === 'Wrong code.'")
    page.fill("#code", code)
    page.click("#pair button")
    until(page, "document.querySelectorAll('#hands button').length >= 5")
    assert page.evaluate("document.cookie") == "", "scripts cannot read the session"
    page.click("#hands button:text-is('Done')")
    assert kit.take_posted() == ["done"]
    other = look(url, quiet=False)
    other.fill("#code", code)
    other.click("#pair button")
    until(other, "document.getElementById('answer').textContent === 'Wrong code.'")


def test_the_link_on_the_host_pairs_by_itself(make: Callable[..., ScreenKit], look: Callable[..., Page]) -> None:
    """Opening the link of the QR code pairs at once, and takes the code out of the address bar."""
    kit = make(lan=True)
    page = look(f"{kit.open()}#{code_of(kit)}")
    until(page, "document.querySelectorAll('#hands button').length >= 5")
    assert page.evaluate("location.hash") == ""


def test_too_many_tries_shut_pairing(make: Callable[..., ScreenKit], look: Callable[..., Page]) -> None:
    """After five wrong codes the page says to wait, and even the right code must."""
    kit = make(lan=True)
    page = look(kit.open(), quiet=False)
    for _ in range(5):
        page.evaluate("document.getElementById('answer').textContent = ''")
        page.fill("#code", "999999" if code_of(kit) != "999999" else "888888")
        page.click("#pair button")
        until(page, "document.getElementById('answer').textContent !== ''")
    assert page.inner_text("#answer") == "Too many tries. Wait a minute; the code has changed."
    page.fill("#code", code_of(kit))
    page.evaluate("document.getElementById('answer').textContent = ''")
    page.click("#pair button")
    until(page, "document.getElementById('answer').textContent.startsWith('Too many')")


@contextmanager
def elsewhere() -> Iterator[str]:
    """A page of another origin, as any site the cook's browser has open."""

    class Quiet(http.server.BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            self.send_response(200)
            self.send_header("Content-Type", "text/html")
            self.end_headers()
            self.wfile.write(b"<h1 id='words'>elsewhere</h1>")

        def log_message(self, *said: object) -> None:
            """Nothing is logged."""

    with http.server.ThreadingHTTPServer(("127.0.0.1", 0), Quiet) as site:
        thread = threading.Thread(target=site.serve_forever)
        thread.start()
        try:
            yield f"http://127.0.0.1:{site.server_address[1]}/"
        finally:
            site.shutdown()
            thread.join()


@pytest.mark.parametrize("lan", [False, True])
def test_a_foreign_page_can_neither_say_nor_read_nor_pair(lan: bool, make: Callable[..., ScreenKit], look: Callable[..., Page]) -> None:
    """A site of another origin in the same browser: its words are not taken, it reads nothing, it cannot pair and cannot frame us."""
    kit = make(lan=lan)
    ours = kit.open()
    with elsewhere() as theirs:
        page = look(theirs, quiet=False)
        tried = """
        async ([url, code]) => {
          const outcome = [];
          for (const [path, body] of [['say', {words: 'burner off'}], ['pair', {code}]])
            for (const how of [{mode: 'no-cors', body: JSON.stringify(body)},
                               {mode: 'cors', body: JSON.stringify(body), headers: {'Content-Type': 'application/json'}}])
              outcome.push(await fetch(url + path, {method: 'POST', credentials: 'include', ...how}).then((r) => r.status, () => 'refused'));
          outcome.push(await fetch(url + 'events', {credentials: 'include'}).then((r) => r.text(), () => 'refused'));
          return outcome;
        }
        """
        assert page.evaluate(tried, [ours, kit.screen.pairing.code]) == ["refused"] * 5
        page.evaluate("(url) => { const f = document.createElement('iframe'); f.src = url; document.body.append(f); }", ours)
        page.wait_for_timeout(300)
        assert [f.url for f in page.frames if f.url.startswith(ours)] == []
    assert kit.posted.empty()
    assert kit.screen.pairing._sessions == {}


def test_hostile_names_and_words_are_shown_as_text(make: Callable[..., ScreenKit], look: Callable[..., Page], axe: str) -> None:
    """A title, a dish and a step called like a script, and a note full of markup: text everywhere, nothing runs, nothing is cut."""
    kit = make()
    page = look(f"{kit.open()}?inches=10&distance=2", width=320, height=640)
    state = kit.at(9.0, f"make a note {EVIL}")
    dishes = tuple(
        replace(d, name=EVIL, said=(EVIL,), steps=tuple(replace(s, name=EVIL, said=(EVIL,), text=EVIL) for s in d.steps)) for d in state.meal.dishes
    )
    hostile = replace(state, meal=replace(state.meal, title=EVIL, dishes=dishes), last_words=EVIL)
    kit.screen.watch((e.Heard(9.0, EVIL), e.Said(9.0, EVIL, 2), e.ClockSet(9.0, "x", EVIL, 99.0)), hostile)
    until(page, "(words) => document.getElementById('words').textContent === words", EVIL)
    until(page, "(words) => document.getElementById('meal').textContent.includes(words)", EVIL)
    page.click("summary:has-text('What was said')")
    until(page, "(words) => document.getElementById('lines').textContent.includes(words)", EVIL)
    assert page.title() == "Stovehand"
    assert page.locator("img, main script, #more script").count() == 0
    fine(page, axe)


def test_many_watch_and_nobody_misses_a_word(make: Callable[..., ScreenKit]) -> None:
    """Ten clients through the first hour of an evening: each gets every line, in order, once, and ends on the true view."""
    kit = make()
    kit.open()
    with listen(kit.screen.port, 10) as clients:
        for t, words in script("fish-supper--plain-evening.txt"):
            if t > 3600.0:
                break
            kit.at(t, words)
        last = kit.screen._lines[-1][0]
        for client in clients:
            client.wait_for(last)
            assert list(client.lines) == list(range(1, last + 1))
            client.wait_for_words(kit.view().words)
