"""The three pictures of the README, made by the program itself: the page in the middle of an evening, one plan, one oil curve. `make pictures`."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
PICTURES = ROOT / "tests" / "pictures"
sys.path.insert(0, str(ROOT / "tests" / "screen"))

from page_checks import until  # noqa: E402
from screen_kit import TABLET, ScreenKit, View, browser  # noqa: E402
from test_screen_evening import script  # noqa: E402


def busy(seen: View) -> bool:
    """A batch in the oil, something to do about it, the next look counted down."""
    return seen.level == "do" and seen.next is not None and any(c.kind == "oil" and c.ends_t - seen.next.at_t > 30.0 for c in seen.clocks)


def picture(path: Path) -> None:
    """The page on a ten-inch tablet in the middle of an evening."""
    kit = ScreenKit()
    kit.play(script("fish-supper--plain-evening.txt"), busy)
    url = kit.open()
    with browser() as chromium:
        page = chromium.new_page(viewport=TABLET, color_scheme="light")
        page.goto(f"{url}?inches=10&distance=2")
        until(page, "(words) => document.getElementById('words').textContent === words", kit.view().words)
        page.wait_for_timeout(300)
        page.screenshot(path=path)
    kit.screen.close()


def main() -> None:
    """Make all three."""
    PICTURES.mkdir(exist_ok=True)
    picture(PICTURES / "screen.png")
    program = Path(sys.executable).with_name("stovehand")
    plan = [program, "plan", "fish-supper", "--now", "16:30", "--chart", PICTURES / "plan.svg"]
    oil = [program, "batch", "--pot", "26x16", "--oil", "2", "--food", "potato sticks 10 mm", "--chart", PICTURES / "oil.svg"]
    for command in (plan, oil):
        subprocess.run([str(x) for x in command], check=True, stdout=subprocess.DEVNULL)
    for made in sorted(PICTURES.iterdir()):
        print(made.relative_to(ROOT), made.stat().st_size)


if __name__ == "__main__":
    main()
