"""What a cook may set, in one TOML file (`stovehand/settings.toml` in the user's config folder). A missing file means the usual.

A mistake in the file is one sentence with the file's name and the way out; nothing else is read or written here.
"""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Annotated, Literal

import platformdirs
from pydantic import AfterValidator, BaseModel, ConfigDict, ValidationError


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


class Settings(BaseModel):
    """units: F or C for temperatures said without a unit; region: two letters, for the emergency number; address: when the address word
    is needed; voice: which voice; microphone, speaker: part of a device's name; vosk: whether a Vosk model is used when one is found."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    units: Literal["F", "C"] = "F"
    region: Annotated[str, AfterValidator(known_region)] = "US"
    address: Literal["sometimes", "always", "never"] = "sometimes"
    voice: Literal["auto", "embedded", "system", "tone"] = "auto"
    microphone: str | None = None
    speaker: str | None = None
    vosk: bool = True


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
    try:
        return Settings.model_validate(tomllib.loads(file.read_text(encoding="utf-8")))
    except tomllib.TOMLDecodeError as error:
        raise SettingsError(f"{file} is not TOML: {error}.") from None
    except (OSError, UnicodeDecodeError) as error:
        why = error.strerror if isinstance(error, OSError) else "it is no text in UTF-8"
        raise SettingsError(f"{file} cannot be read: {why}.") from None
    except ValidationError as error:
        first = error.errors()[0]
        where = ".".join(str(x) for x in first["loc"])
        raise SettingsError(f"{file}: '{where}' is wrong: {first['msg']}. Known settings: {', '.join(Settings.model_fields)}.") from None
