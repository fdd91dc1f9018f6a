"""Commissioning of balanced house ventilation."""

__version__ = "0.1.0"
