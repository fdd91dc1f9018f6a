"""Tests of the room `assembly`."""
