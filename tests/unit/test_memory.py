"""Giving memory back asks the C library, and where there is nobody to ask does nothing."""

import ctypes
import platform
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


@pytest.mark.skipif(platform.libc_ver()[0] != "glibc", reason="only glibc is asked")
def test_what_lies_free_goes_back() -> None:
    """A hundred megabytes in small pieces below one that stays: only after giving back does the process hold less."""
    done = subprocess.run([sys.executable, "-c", _KEPT], capture_output=True, text=True, check=True)
    before, after = map(int, done.stdout.split())
    assert before - after > 80


@pytest.mark.skipif(platform.libc_ver()[0] != "glibc", reason="only glibc is asked")
def test_threads_make_no_heaps_of_their_own() -> None:
    """After it there is one heap, however many threads have used memory; without it there are more."""

    def heaps(before: str) -> int:
        return int(subprocess.run([sys.executable, "-c", before + _THREADS], capture_output=True, text=True, check=True).stdout)

    assert heaps("") > 1
    assert heaps("from assistant.memory import one_heap\none_heap()\n") == 1


_THREADS = """
import ctypes, os, tempfile, threading
libc = ctypes.CDLL(None)
libc.malloc.restype, libc.malloc.argtypes = ctypes.c_void_p, [ctypes.c_size_t]
libc.fopen.restype, libc.malloc_info.argtypes, libc.fclose.argtypes = ctypes.c_void_p, [ctypes.c_int, ctypes.c_void_p], [ctypes.c_void_p]
meet = threading.Barrier(5)
def use():
    libc.malloc(1_000)
    meet.wait()
threads = [threading.Thread(target=use) for _ in range(4)]
for thread in threads:
    thread.start()
meet.wait()
for thread in threads:
    thread.join()
name = tempfile.mktemp()
file = libc.fopen(name.encode(), b"w")
libc.malloc_info(0, file)
libc.fclose(file)
print(open(name).read().count("<heap nr"))
os.unlink(name)
"""

_KEPT = """
import ctypes, resource
from assistant.memory import give_back
libc = ctypes.CDLL(None)
libc.malloc.restype, libc.malloc.argtypes, libc.free.argtypes = ctypes.c_void_p, [ctypes.c_size_t], [ctypes.c_void_p]
pieces = [libc.malloc(100_000) for _ in range(1_000)]
for piece in pieces:
    ctypes.memset(piece, 1, 100_000)
stays = libc.malloc(100_000)
for piece in pieces:
    libc.free(piece)
def held():
    return int(open("/proc/self/statm").read().split()[1]) * resource.getpagesize() // 1_000_000
before = held()
give_back()
print(before, held())
"""
