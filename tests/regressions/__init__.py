"""Mistakes once made, so that they are not made again."""
