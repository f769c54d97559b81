"""Lettering: the font, how wide words are, where lines break, and what is written for letters the font lacks."""

from __future__ import annotations

import re
import unicodedata
from functools import cache, lru_cache
from pathlib import Path

from PIL import ImageFont

from exports.pictures.scene import FINE

TITLE, LINE, LABEL, SMALL = 36.0, 23.0, 22.0, 19.0
"""Letter sizes, pixels: the smallest can still be read in a picture printed 120 mm wide (4 point)."""
PAD = 7.0
"""Paper between a label's words and its frame, pixels."""
_SOUND = re.compile(r"(?:HIRAGANA|KATAKANA|HANGUL|YI|BOPOMOFO|ETHIOPIC|CHEROKEE)\b.*?(?:LETTER|SYLLABLE)"
                    r"(?: SMALL)? (?P<sound>\w+)$")
_ORNAMENTS = {"Mn", "Me", "Cf", "Sk"}
"""Kinds of characters that only dress or join others: combining marks, joiners, skin tones."""


@cache
def _path(bold: bool) -> str:
    import matplotlib

    name = "DejaVuSans-Bold.ttf" if bold else "DejaVuSans.ttf"
    return str(Path(matplotlib.get_data_path()) / "fonts" / "ttf" / name)


@cache
def font(size: float, bold: bool = False) -> ImageFont.FreeTypeFont:
    """Return DejaVu Sans as it ships with matplotlib, at a size in pixels of the finished picture."""
    return ImageFont.truetype(_path(bold), round(size * FINE))


@cache
def _drawable() -> frozenset[int]:
    """Return the characters for which the font has letters, plain and bold."""
    from matplotlib.ft2font import FT2Font

    return frozenset(FT2Font(_path(False)).get_charmap()) & frozenset(FT2Font(_path(True)).get_charmap())


@lru_cache(maxsize=4096)
def legible(text: str) -> str:
    """Return text in letters that the font has.

    What it lacks is written as its parts (a wide letter as a plain one), else by its sound
    (kana, Hangul), else an emoji by its name in brackets, else by its number: "U+6A4B".
    Source of sounds and names: the Unicode character database.
    """
    if all(ord(c) in _drawable() for c in text):
        return text
    pieces: list[str] = []
    for character in text:
        said, before = _said(character), pieces[-1] if pieces else " "
        numbered = before.lstrip().startswith(("U+", "·"))
        if said.startswith("U+"):
            said = "·" + said[2:] if numbered else said if before[-1:] in " _-" else " " + said
        elif numbered and said[:1].isalnum():
            said = " " + said
        pieces += [said] if said else []
    return re.sub(r" +", " ", "".join(pieces)).strip() or "?"


def _said(character: str) -> str:
    if ord(character) in _drawable():
        return character
    name = unicodedata.name(character, "")
    sound = _SOUND.match(name)
    if sound:
        return sound["sound"].lower()
    parts = unicodedata.normalize("NFKD", character)
    if parts != character:
        return "".join(_said(part) for part in parts)
    kind = unicodedata.category(character)
    if kind in _ORNAMENTS:
        return ""
    return f"({name.lower()})" if kind == "So" and name else f"U+{ord(character):04X}"


def width_of(text: str, size: float, bold: bool = False) -> float:
    """Return how wide a line of text is, pixels of the finished picture."""
    return font(size, bold).getlength(legible(text)) / FINE


def wrapped(text: str, size: float, width: float, bold: bool = False) -> list[str]:
    """Return text broken into lines no wider than `width` pixels; a word too long for a line is broken."""
    lines = [""]
    for word in legible(text).split():
        trial = f"{lines[-1]} {word}".strip()
        if width_of(trial, size, bold) <= width:
            lines[-1] = trial
            continue
        while width_of(word, size, bold) > width and len(word) > 1:
            keep = next(n for n in range(len(word) - 1, 0, -1) if n == 1 or width_of(word[:n], size, bold) <= width)
            lines.append(word[:keep])
            word = word[keep:]
        lines.append(word)
    return [line for line in lines if line]


def label_size(lines: tuple[str, ...], mark: str = "") -> tuple[float, float]:
    """Return width and height of a label with these lines, after a mark, pixels."""
    wide = max(width_of(line, LABEL) for line in lines)
    return mark_width(mark) + wide + 2 * PAD + 4, len(lines) * LABEL * 1.3 + 2 * PAD - 2


def mark_width(mark: str) -> float:
    """Return the width of the field with a piece's mark at the head of its label, pixels."""
    return width_of(mark, LABEL, bold=True) + 2 * PAD + 4 if mark else 0.0


def shortened(text: str, size: float, most: float, bold: bool = False) -> str:
    """Return text cut to a width in pixels, with an ellipsis where something is left out."""
    told = legible(text)
    if width_of(told, size, bold) <= most:
        return told
    fits, too_many = 0, len(told)
    while too_many - fits > 1:
        middle = (fits + too_many) // 2
        fits, too_many = (middle, too_many) if width_of(told[:middle] + "…", size, bold) <= most else (fits, middle)
    return told[:fits].rstrip() + "…"
