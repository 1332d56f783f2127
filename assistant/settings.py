"""What a cook may set, in one TOML file (`stovehand/settings.toml` in the user's config folder). A missing file means the usual.

A mistake in the file is one sentence with the file's name and the way out; nothing else is read or written here.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from pathlib import Path
from typing import Any, Literal

import platformdirs


class SettingsError(Exception):
    """The settings file is wrong; the text is one clear sentence."""


def known_region(text: str) -> str:
    """A country by its two letters, also as `en_GB` or `de-AT`, or EU. ValueError otherwise.

    >>> known_region("en_GB")
    'en_GB'
    """
    code = text.replace("-", "_").rpartition("_")[2]
    if not (len(code) == 2 and code.isascii() and code.isalpha()):
        raise ValueError(f"'{text}' is no region: write a country's two letters, as GB")
    return text


@dataclass(frozen=True, slots=True)
class Settings:
    """units: F or C for temperatures said without a unit; region: two letters, for the emergency number; address: when the address word
    is needed; voice: which voice; microphone, speaker: part of a device's name; vosk: whether a Vosk model is used when one is found; altitude: of
    the kitchen, metres above the sea, where water boils earlier."""

    units: str = "F"
    region: str = "US"
    address: Literal["sometimes", "always", "never"] = "sometimes"
    voice: Literal["auto", "embedded", "system", "tone"] = "auto"
    microphone: str | None = None
    speaker: str | None = None
    vosk: bool = True
    altitude: float = 0.0


KNOWN = tuple(f.name for f in fields(Settings))
ALTITUDES_M = (0.0, 4000.0)
"""Where the boiling point is known."""
_CHOICES = {"units": ("F", "C"), "address": ("sometimes", "always", "never"), "voice": ("auto", "embedded", "system", "tone")}


def settings_file() -> Path:
    """Where the settings are looked for."""
    return platformdirs.user_config_path("stovehand") / "settings.toml"


def data_folder() -> Path:
    """Where the journal, the cook's meals and models are kept."""
    return platformdirs.user_data_path("stovehand")


def read_settings(path: Path | None = None) -> Settings:
    """The settings, or the usual ones when there is no file. SettingsError when it cannot be read or understood."""
    file = settings_file() if path is None else path
    if not file.exists():
        return Settings()
    import tomllib

    try:
        found = tomllib.loads(file.read_text(encoding="utf-8"))
    except tomllib.TOMLDecodeError as error:
        raise SettingsError(f"{file} is not TOML: {error}.") from None
    except (OSError, UnicodeDecodeError) as error:
        why = error.strerror if isinstance(error, OSError) else "it is no text in UTF-8"
        raise SettingsError(f"{file} cannot be read: {why}.") from None
    for key, value in found.items():
        if wrong := _wrong(key, value):
            raise SettingsError(f"{file}: '{key}' is wrong: {wrong}. Known settings: {', '.join(KNOWN)}.")
    return Settings(**found)


def _wrong(key: str, value: Any) -> str:
    """What is wrong with one line of the file; empty when nothing is."""
    if key not in KNOWN:
        return "there is no such setting"
    if choices := _CHOICES.get(key):
        return "" if value in choices else f"'{value}' is none of {', '.join(choices)}"
    if key == "altitude":
        least, most = ALTITUDES_M
        known = isinstance(value, int | float) and not isinstance(value, bool) and least <= value <= most
        return "" if known else f"'{value}' is no number of metres from {least:g} to {most:g}"
    if key == "vosk":
        return "" if isinstance(value, bool) else f"'{value}' is neither true nor false"
    if not isinstance(value, str):
        return f"'{value}' is no text in quotes"
    if key == "region":
        try:
            known_region(value)
        except ValueError as error:
            return str(error)
    return ""
