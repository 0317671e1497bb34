"""All look at one file."""

from tests.one_file import shared, tiny

__all__ = ["shared", "tiny"]
