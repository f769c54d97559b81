"""Checks against figures from outside the project, one file a source."""
