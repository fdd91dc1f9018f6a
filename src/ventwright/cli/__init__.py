"""The command-line door."""

from ventwright.cli.main import build_parser, main

__all__ = ["build_parser", "main"]
