"""What both ends of the sound do to the libraries under them: close what may never close, and keep them from writing over the screen.

A sound library waits, when its device is closed, for its own thread to end. Where the sound server was killed that thread can wait for ever for a
shared lock that the dead server held (seen with libpulse 16 under PortAudio, once in a hundred kills): whoever closes would hang with it. So a
device is closed by a thread of its own, and who asked goes on soon, whatever becomes of it.
"""

from __future__ import annotations

import contextlib
import ctypes
import sys
import threading
from collections.abc import Callable
from functools import cache

PATIENCE_S = 1.0
"""How long one waits for a device to close, s: a healthy one takes a few hundredths."""


def let_go(close: Callable[[], None]) -> None:
    """Call `close`, waiting no longer than PATIENCE_S. What it raises is dropped: closing a device that is gone may fail in any way its driver
    likes."""

    def run() -> None:
        with contextlib.suppress(Exception):
            close()

    closer = threading.Thread(target=run, name="closing a device", daemon=True)
    closer.start()
    closer.join(PATIENCE_S)


@cache
def hush_alsa() -> None:
    """Keep ALSA from writing its complaints over the screen at every try to open a device; what matters is said in our own sentence. To be called
    before a library that uses ALSA is loaded: the first complaints come then."""
    if sys.platform != "linux":
        return
    try:
        ctypes.CDLL("libasound.so.2").snd_lib_error_set_handler(_ignore)
    except (OSError, AttributeError):
        return  # no ALSA, no complaints


def _ignored(_file: bytes, _line: int, _function: bytes, _error: int, _format: bytes) -> None:
    """An ALSA error handler that does nothing."""


_ignore = ctypes.CFUNCTYPE(None, ctypes.c_char_p, ctypes.c_int, ctypes.c_char_p, ctypes.c_int, ctypes.c_char_p)(_ignored)  # ALSA keeps it: so must we
