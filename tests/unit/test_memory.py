"""Giving memory back asks the C library, and where there is nobody to ask does nothing."""

import ctypes
import subprocess
import sys
from collections.abc import Callable

import pytest

from assistant.memory import give_back, one_heap


def _no_library(name: object) -> object:
    raise OSError("no such library")


def _nameless(name: object) -> object:
    raise TypeError("a library has a name here")


@pytest.mark.parametrize("library", [_no_library, _nameless, lambda name: object()], ids=["none", "nameless", "another"])
def test_another_c_library_is_left_alone(monkeypatch: pytest.MonkeyPatch, library: Callable[[object], object]) -> None:
    """On systems without glibc an evening begins and goes on all the same."""
    monkeypatch.setattr(ctypes, "CDLL", library)
    one_heap()
    give_back()


@pytest.mark.skipif(not hasattr(ctypes.CDLL(None), "malloc_trim"), reason="this C library has no malloc_trim")
def test_what_lies_free_goes_back() -> None:
    """A hundred megabytes in small pieces below one that stays: only after giving back does the process hold less."""
    done = subprocess.run([sys.executable, "-c", _KEPT], capture_output=True, text=True, check=True)
    before, after = map(int, done.stdout.split())
    assert before - after > 80


_KEPT = """
import ctypes
from assistant.memory import give_back, one_heap
one_heap()
libc = ctypes.CDLL(None)
libc.malloc.restype, libc.malloc.argtypes, libc.free.argtypes = ctypes.c_void_p, [ctypes.c_size_t], [ctypes.c_void_p]
pieces = [libc.malloc(100_000) for _ in range(1_000)]
for piece in pieces:
    ctypes.memset(piece, 1, 100_000)
stays = libc.malloc(100_000)
for piece in pieces:
    libc.free(piece)
def held():
    return int(open("/proc/self/statm").read().split()[1]) * 4096 // 1_000_000
before = held()
give_back()
print(before, held())
"""
