"""Unit tests of the room `network`."""
