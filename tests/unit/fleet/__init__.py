"""Unit tests of the room `fleet`."""
