"""The walk page as a person uses it, in a real browser."""
