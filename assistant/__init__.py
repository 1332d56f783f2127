"""Stovehand: voice help for one cook frying a whole meal."""

__version__ = "0.1.0"
