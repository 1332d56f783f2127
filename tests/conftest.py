"""What every test has: no network beyond this machine, and the meals that come with the program."""

from __future__ import annotations

import socket
from collections.abc import Callable
from pathlib import Path

import pytest

from assistant.kitchen.cards import find_meal, read_card
from assistant.kitchen.meal import Meal


@pytest.fixture(autouse=True)
def _no_network(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing may be fetched at run time: a connection to anything but this machine is refused."""
    connect = socket.socket.connect

    def guarded(self: socket.socket, address: object) -> None:
        host = address[0] if isinstance(address, tuple) else "local"
        if self.family in (socket.AF_INET, socket.AF_INET6) and host not in ("127.0.0.1", "::1", "localhost"):
            raise AssertionError(f"a test tried to reach {host}")
        connect(self, address)  # type: ignore[arg-type]

    monkeypatch.setattr(socket.socket, "connect", guarded)


@pytest.fixture(autouse=True)
def _own_folders(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Settings and data of whoever runs the tests are neither read nor written."""
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    monkeypatch.delenv("VOSK_MODEL_PATH", raising=False)


@pytest.fixture(scope="session")
def bundled() -> Callable[[str], Meal]:
    """Reads a meal that comes with the program."""
    return lambda name: read_card(find_meal(name))


SMALL_POT = """    small pot:
      width: 22 cm
      height: 16 cm
      oil: 1.5 litres
      oil kind: peanut
      heat: gas
      power: 2 kW
      fresh oil: yes
"""


@pytest.fixture(scope="session")
def two_pots(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The card of a fish supper whose fish has a pot of its own."""
    head, tail = find_meal("fish-supper").read_text(encoding="utf-8").split("\ncomponents:\n")
    chips, fish = tail.split("      fish fry:\n")
    fish = fish.replace("pot: big pot", "pot: small pot")
    path = tmp_path_factory.mktemp("cards") / "two-pots.yaml"
    path.write_text(f"{head.rstrip()}\n{SMALL_POT}\ncomponents:\n{chips}      fish fry:\n{fish}", encoding="utf-8")
    return path
