"""The glance screen, measured in a real Chromium: event to paint, said connection loss, processor at rest, page weight, many clients for long.

  python tests/benchmarks/bench_screen.py [--trials 60] [--minutes 10]

event to paint   from handing the danger word to the session (decide, journal, view, send, draw) to the frame after the one that drew it
lost             from the moment the server hangs (no heartbeat any more) or stops to the page's own words
at rest          processor time of the serving process over wall time, nothing happening, pages open
weight           all bytes of the page as sent
many             ten clients, two turns a second: lines lost, memory at the start and the end
"""

from __future__ import annotations

import argparse
import json
import os
import platform
import statistics
import sys
import threading
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
RESULTS = Path(__file__).parent / "results" / "screen.json"
sys.path.insert(0, str(ROOT / "tests" / "screen"))

from listeners import listen  # noqa: E402
from page_checks import until  # noqa: E402
from playwright.sync_api import Page  # noqa: E402
from screen_kit import ScreenKit, browser  # noqa: E402
from test_screen_evening import script  # noqa: E402

from assistant.session.commands import Command, Intent  # noqa: E402

EVENING = script("fish-supper--plain-evening.txt")
PAINTED = """
() => {
  window.painted = [];
  new MutationObserver(() => requestAnimationFrame(() => requestAnimationFrame(() =>
    window.painted.push([document.getElementById('words').textContent, (performance.timeOrigin + performance.now()) / 1000]))))
    .observe(document.getElementById('words'), { childList: true, characterData: true, subtree: true });
  window.lostAt = 0;
  new MutationObserver(() => { if (!document.getElementById('lost').hidden) window.lostAt = (performance.timeOrigin + performance.now()) / 1000; })
    .observe(document.getElementById('lost'), { attributes: true });
}
"""


def frying() -> ScreenKit:
    """An evening with chips in the oil."""
    kit = ScreenKit()
    kit.play(EVENING, lambda seen: bool(seen.clocks and seen.clocks[0].kind == "oil"))
    return kit


def event_to_paint(page: Page, kit: ScreenKit, trials: int) -> list[float]:
    """Seconds from the danger word to its words on the glass, each time from the same calm state."""
    calm, calm_words, found = kit.evening.state, kit.view().words, []
    for _ in range(trials):
        page.evaluate("window.painted.length = 0")
        began = time.time()
        kit.evening.feed(Command(Intent.FIRE, words="fire"))
        until(page, "(words) => window.painted.some(([shown]) => shown === words)", kit.evening.state.last_words)
        at = page.evaluate("(words) => window.painted.find(([shown]) => shown === words)[1]", kit.evening.state.last_words)
        found.append(at - began)
        kit.evening.state = calm
        kit.screen.watch((), calm)
        until(page, "(words) => document.getElementById('words').textContent === words", calm_words)
    return found


def said_lost(page: Page, kit: ScreenKit, hang: bool) -> float:
    """Seconds until the page says that the connection is lost."""
    page.evaluate("window.lostAt = 0")
    go_on = threading.Event()
    began = time.time()
    if hang:
        assert kit.screen._loop is not None
        kit.screen._loop.call_soon_threadsafe(go_on.wait)
    else:
        kit.screen.close()
    until(page, "window.lostAt > 0")
    go_on.set()
    if hang:
        until(page, "document.getElementById('lost').hidden")
    return float(page.evaluate("window.lostAt")) - began


def at_rest(seconds: float) -> float:
    """Share of one processor that this process (the server) takes while nothing happens."""
    wall, cpu = time.perf_counter(), time.process_time()
    time.sleep(seconds)
    return (time.process_time() - cpu) / (time.perf_counter() - wall)


def resident_mb() -> float:
    """Memory of this process, MB."""
    return int(Path("/proc/self/statm").read_text().split()[1]) * os.sysconf("SC_PAGE_SIZE") / 1e6


def many(minutes: float, clients: int = 10) -> dict[str, float]:
    """Ten clients for long: lines each lost, memory before and after."""
    kit = frying()
    kit.open()
    happened = kit.evening.feed(Command(Intent.WHATS_NEXT, words="what's next"))
    with listen(kit.screen.port, clients) as watching:
        first: float | None = None
        end = time.monotonic() + minutes * 60
        turns = 0
        while time.monotonic() < end:
            kit.screen.watch(happened, kit.evening.state)
            turns += 1
            time.sleep(0.5)
            if first is None and turns >= 120:
                first = resident_mb()
        last = kit.screen._lines[-1][0]
        for client in watching:
            client.wait_for(last)
        lost = sum(last - client.lines[0] + 1 - len(client.lines) for client in watching)
        twice = sum(len(client.lines) - len(set(client.lines)) for client in watching)
        now = resident_mb()
    kit.screen.close()
    return {
        "clients": clients,
        "minutes": minutes,
        "turns": turns,
        "lost": lost,
        "twice": twice,
        "mb_after_1_min": round(first or now, 1),
        "mb_end": round(now, 1),
    }


def main() -> None:
    """Measure, print, write down."""
    ask = argparse.ArgumentParser()
    ask.add_argument("--trials", type=int, default=60)
    ask.add_argument("--minutes", type=float, default=10.0)
    how = ask.parse_args()
    kit = frying()
    url = kit.open()
    with browser() as chromium:
        page = chromium.new_page(viewport={"width": 1280, "height": 800})
        page.goto(f"{url}?inches=10&distance=2")
        until(page, "document.getElementById('words').textContent !== 'One moment.'")
        page.evaluate(PAINTED)
        paint = sorted(event_to_paint(page, kit, how.trials))
        hang = [said_lost(page, kit, hang=True) for _ in range(5)]
        rest_one = at_rest(20.0)
        with listen(kit.screen.port, 10):
            rest_ten = at_rest(20.0)
        stop = said_lost(page, kit, hang=False)
    found = {
        "machine": f"{platform.machine()}, {os.cpu_count()} processors, load {os.getloadavg()[0]:.1f}",
        "event_to_paint_ms": {
            "trials": len(paint),
            "p50": round(1000 * statistics.median(paint), 1),
            "p95": round(1000 * paint[int(0.95 * len(paint))], 1),
            "worst": round(1000 * paint[-1], 1),
            "goal_p95": 300,
        },
        "said_lost_s": {"hang_worst": round(max(hang), 2), "stopped": round(stop, 2), "goal": 3.0},
        "server_processor_at_rest": {"one_page": round(rest_one, 4), "one_page_and_ten_clients": round(rest_ten, 4)},
        "page_weight_bytes": {x.name: x.stat().st_size for x in sorted((ROOT / "assistant/showing/page").iterdir())},
    }
    found["page_weight_bytes"] |= {"all": sum(found["page_weight_bytes"].values()), "goal": 60_000}  # type: ignore[operator,attr-defined]
    found["many"] = many(how.minutes)
    for name, value in found.items():
        print(f"{name:26} {value}")
    RESULTS.parent.mkdir(exist_ok=True)
    RESULTS.write_text(json.dumps(found, indent=2) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
