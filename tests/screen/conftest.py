"""A real browser for the glance screen. Without one (or without axe-core) these tests are skipped out loud, in CI they fail."""

from __future__ import annotations

import os
import shutil
import subprocess
import tarfile
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from page_checks import until
from playwright.sync_api import Browser, Page
from screen_kit import CHROMIUM, SHOTS, TABLET, ScreenKit, browser, have_browser

from assistant.showing import server

AXE = "axe-core@4"
KEPT = Path("build/axe")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Everything here needs the browser."""
    for item in items:
        if Path(__file__).parent in item.path.parents:
            item.add_marker(pytest.mark.screen)


def missing(sentence: str) -> None:
    """Something from outside is not there: a failure in CI, a loud skip elsewhere."""
    if os.environ.get("CI"):
        pytest.fail(sentence)
    pytest.skip(sentence)


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    """One browser for all tests."""
    if not have_browser():
        missing(f"There is no browser at {CHROMIUM}: install chromium (Debian: apt install chromium).")
    SHOTS.mkdir(parents=True, exist_ok=True)
    with browser() as found:
        yield found


@pytest.fixture(scope="session")
def axe() -> str:
    """The source of axe-core, from npm, kept in build/."""
    script = KEPT / "axe.min.js"
    if not script.exists():
        KEPT.mkdir(parents=True, exist_ok=True)
        npm = shutil.which("npm")
        if npm is None or subprocess.run([npm, "pack", AXE, "--silent"], cwd=KEPT, capture_output=True, check=False).returncode != 0:
            missing("axe-core could not be had from npm: no accessibility check.")
        with tarfile.open(next(KEPT.glob("axe-core-*.tgz"))) as packed:
            member = packed.extractfile("package/axe.min.js")
            assert member is not None
            script.write_bytes(member.read())
    return script.read_text(encoding="utf-8")


@pytest.fixture(autouse=True)
def _own_address(monkeypatch: pytest.MonkeyPatch) -> None:
    """Tests do not look for this machine's address on a network."""
    monkeypatch.setattr(server, "own_address", lambda: "127.0.0.1")


@pytest.fixture
def make() -> Iterator[Callable[..., ScreenKit]]:
    """Makes evenings with a page; their servers stop at the end."""
    made: list[ScreenKit] = []

    def one(**how: object) -> ScreenKit:
        made.append(ScreenKit(**how))  # type: ignore[arg-type]
        return made[-1]

    yield one
    for kit in made:
        kit.screen.close()


@pytest.fixture
def look(chromium: Browser) -> Iterator[Callable[..., Page]]:
    """Opens a page in a context of its own; anything the page logs or throws fails the test."""
    contexts = []
    wrong: list[str] = []

    def one(url: str, width: int = TABLET["width"], height: int = TABLET["height"], quiet: bool = True, **how: object) -> Page:
        context = chromium.new_context(viewport={"width": width, "height": height}, **how)  # type: ignore[arg-type]
        contexts.append(context)
        page = context.new_page()
        page.set_default_timeout(10_000)
        if quiet:
            page.on("console", lambda said: wrong.append(said.text))
        page.on("pageerror", lambda error: wrong.append(str(error)))
        page.on("dialog", lambda dialog: (wrong.append(f"dialog: {dialog.message}"), dialog.dismiss()))
        page.goto(url)
        until(page, "document.getElementById('words').textContent !== 'One moment.'")
        return page

    yield one
    for context in contexts:
        context.close()
    assert wrong == []
