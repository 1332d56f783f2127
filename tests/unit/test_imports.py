"""Imports point one way, and a typed, silent evening loads no sound, model or solver."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest

import assistant

PACKAGE = Path(assistant.__file__).parent
RANK = {
    "clock": 0,
    "sound_devices": 0,
    "memory": 0,
    "speaking.line": 0,
    "speaking.prompts": 0,
    "planning": 1,
    "kitchen": 2,
    "session": 3,
    "understanding": 4,
    "journal": 4,
    "hearing": 5,
    "speaking": 5,
    "showing": 5,
    "evening": 6,
    "rehearsal": 7,
    "settings": 0,
    "ears": 7,
    "probe": 6,
}
"""Lower may not import higher; what is not listed is the top (runtime, command line)."""
HEAVY = (
    *("numpy", "scipy", "onnxruntime", "ortools", "matplotlib", "uvicorn"),
    *("sounddevice", "miniaudio", "vosk", "pyttsx3", "hibari_tts", "soundfile"),
)


def rank(module: str) -> int:
    """The place of a module of ours, by its longest listed name."""
    parts = module.removeprefix("assistant.").split(".")
    for n in (2, 1):
        if (found := RANK.get(".".join(parts[:n]))) is not None:
            return found
    return 9


def edges() -> list[tuple[str, str]]:
    """(importing module, imported module) inside the package."""
    found = []
    for path in sorted(PACKAGE.rglob("*.py")):
        name = ".".join(path.relative_to(PACKAGE.parent).with_suffix("").parts)
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ImportFrom) and node.module and node.module.startswith("assistant"):
                is_package = (PACKAGE.parent / node.module.replace(".", "/")).is_dir()
                found += [(name, f"{node.module}.{alias.name}" if is_package else node.module) for alias in node.names]
            elif isinstance(node, ast.Import):
                found += [(name, alias.name) for alias in node.names if alias.name.startswith("assistant")]
    return found


def test_imports_point_one_way() -> None:
    """No module imports one that stands higher on the path sound -> Utterance -> Command -> Event -> State -> Speech."""
    wrong = [f"{a} imports {b}" for a, b in edges() if rank(b) > rank(a)]
    assert wrong == []


def test_planning_knows_no_kitchen() -> None:
    """The planning core imports nothing of ours but itself."""
    assert [b for a, b in edges() if a.startswith("assistant.planning") and not b.startswith("assistant.planning")] == []


@pytest.mark.parametrize("command", [["meals"], ["--version"], ["rehearse", "fish-supper", "{script}"]])
def test_a_silent_run_loads_nothing_heavy(command: list[str], tmp_path: Path) -> None:
    """Listing, and a typed and silent evening, import no sound library, no model and no solver."""
    script = tmp_path / "evening.txt"
    script.write_text("0:00:05 > yes\n0:00:10 > what's next\n0:10:00 > done\n")
    args = [a.format(script=script) for a in command]
    code = (
        f"import sys; sys.argv = ['stovehand', *{args!r}]\n"
        "from assistant.cli import main\n"
        "try:\n    main()\nexcept SystemExit as end:\n    code = end.code\n"
        f"print('LOADED', [m for m in {HEAVY!r} if m in sys.modules], code)"
    )
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert out.stdout.splitlines()[-1] == "LOADED [] 0", out.stdout + out.stderr


def test_a_batch_is_answered_without_an_evening() -> None:
    """`stovehand batch` must answer within a second from a cold start: it loads no session, no card, no planner and no scipy; exit codes are its
    own."""
    code = (
        "import sys, atexit\n"
        "heavy = ('assistant.session', 'assistant.planning', 'pydantic', 'ruamel', 'numpy', 'scipy')\n"
        "atexit.register(lambda: print([m for m in sys.modules if m.startswith(heavy)]))\n"
        "from assistant.start import main\n"
        "main()"
    )
    words = ["batch", "--pot", "26x15", "--oil", "2", "--food", "potato sticks 10 mm", "--mass", "0.3"]
    done = subprocess.run([sys.executable, "-c", code, *words], capture_output=True, text=True, check=False)
    assert (done.returncode, done.stdout.splitlines()[-1]) == (0, "[]")
    wrong = subprocess.run(
        [sys.executable, "-c", code, "batch", "--pot", "26", "--oil", "2", "--food", "x"], capture_output=True, text=True, check=False
    )
    assert wrong.returncode == 2
    assert wrong.stderr.startswith("'26' is no pot")
