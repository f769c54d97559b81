"""The walk page: a rehearsal to be walked through in a browser, one self-contained file."""

from exports.walk.data import walk_data

__all__ = ["walk_data"]
