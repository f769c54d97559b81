"""Wood tones: one colour a species, for pictures and meshes alike.

The tones are chosen by eye for this project; they help to tell woods apart and measure nothing.
"""

from __future__ import annotations

Tone = tuple[int, int, int]
"""Red, green, blue, 0 to 255, as a screen takes them (sRGB)."""

PLAIN: Tone = (208, 170, 122)
"""The tone of a species that has none of its own."""

TONES: dict[str, Tone] = {
    "douglas-fir": (205, 154, 104),
    "hemlock": (214, 186, 146),
    "fir": (224, 200, 160),
    "spruce": (229, 207, 166),
    "lodgepole pine": (221, 188, 134),
    "loblolly pine": (216, 174, 112),
    "longleaf pine": (207, 158, 94),
    "shortleaf pine": (213, 168, 106),
    "slash pine": (204, 152, 90),
    "white pine": (233, 208, 160),
    "redcedar": (173, 109, 78),
    "yellow-cedar": (227, 201, 132),
    "white-cedar": (206, 171, 126),
    "redwood": (156, 87, 65),
    "larch": (197, 146, 97),
    "tamarack": (190, 145, 92),
    "baldcypress": (201, 161, 106),
    "white oak": (189, 150, 105),
    "black locust": (178, 149, 84),
    "white ash": (223, 201, 166),
}
"""Tone by a word in the species' name; the longest word that fits wins."""


def tone(species: str) -> Tone:
    """Return the tone of a species by its name."""
    name = species.lower()
    words = [word for word in TONES if word in name]
    return TONES[max(words, key=len)] if words else PLAIN


def linear(shade: Tone) -> tuple[float, float, float]:
    """Return a tone in linear light, 0 to 1, as glTF takes it (transfer curve of IEC 61966-2-1)."""
    red, green, blue = (_linear(value / 255.0) for value in shade)
    return red, green, blue


def _linear(value: float) -> float:
    return value / 12.92 if value <= 0.04045 else float(((value + 0.055) / 1.055) ** 2.4)
