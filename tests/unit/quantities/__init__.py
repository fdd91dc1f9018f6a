"""Unit tests of the room `quantities`."""
