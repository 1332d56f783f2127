"""The wheel, built and looked into: grammars, meals, the page and the recorded evening are inside, and nothing of the tests."""

from __future__ import annotations

import subprocess
import sys
import zipfile
from pathlib import Path

ROOT = Path(__file__).parents[2]


def test_the_wheel_holds_what_a_cook_needs(tmp_path: Path) -> None:
    """Everything that is read at run time is in the package."""
    build = [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(tmp_path)]
    subprocess.run(build, cwd=ROOT, check=True, capture_output=True, text=True)
    names = set(zipfile.ZipFile(next(tmp_path.glob("*.whl"))).namelist())
    for needed in (
        "assistant/_grammars/en/kitchen.jsgf",
        "assistant/_grammars/ko/kitchen.jsgf",
        "assistant/kitchen/meals/fish-supper.yaml",
        "assistant/kitchen/card_template.yaml",
        "assistant/hearing/data/LICENSE",
        "assistant/hearing/data/encoder_room.onnx",
        "assistant/showing/page/page.js",
        "assistant/_demo/lines.txt",
        "assistant/py.typed",
    ):
        assert needed in names, needed
    assert any(name.startswith("assistant/_demo/") and name.endswith(".ogg") for name in names)
    assert not [name for name in names if name.startswith(("tests/", "audio_fixtures/"))]
