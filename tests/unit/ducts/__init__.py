"""Unit tests of the room `ducts`."""
