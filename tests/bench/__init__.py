"""The bench: how long each station takes and how its verdicts compare. Run with `python -m tests.bench`."""
