"""The page: headings and paragraphs, plain or in colour, as wide as a reader can follow."""

from __future__ import annotations

from collections.abc import Sequence
from io import StringIO
from typing import TYPE_CHECKING, TextIO

from exports.names import printable

if TYPE_CHECKING:
    from rich.console import RenderableType

WIDTH = 100
"""Characters in a line of a plain page."""
HEADING = "bold"


def plain(paragraphs: Sequence[RenderableType], width: int = WIDTH) -> str:
    """Return paragraphs as plain text without trailing spaces."""
    from rich.console import Console

    page = StringIO()
    Console(file=page, width=width, color_system=None, force_terminal=False, legacy_windows=False,
            highlight=False, emoji=False, markup=False).print(*paragraphs, sep="\n")
    return "\n".join(line.rstrip() for line in page.getvalue().splitlines()).rstrip() + "\n"


def show_on(stream: TextIO, paragraphs: Sequence[RenderableType]) -> None:
    """Write paragraphs on a stream: in colour and as wide as it is where it is a terminal, else plain."""
    if not stream.isatty():
        stream.write(plain(paragraphs))
        return
    from rich.console import Console

    console = Console(file=stream, highlight=False, emoji=False, markup=False)
    console.width = min(console.width, WIDTH + 20)
    console.print(*paragraphs, sep="\n")


def heading(said: str) -> RenderableType:
    """Return a heading, underlined, with room above it."""
    from rich.text import Text

    return Text(f"\n{said}\n{'-' * len(said)}", style=HEADING)


def paragraph(said: str, indent: int = 0, hanging: int = 0, style: str = "") -> RenderableType:
    """Return a paragraph set in by `indent`; its lines after the first by `hanging` more."""
    from rich.padding import Padding
    from rich.table import Table
    from rich.text import Text

    text = Text(printable(said), style=style)
    if not hanging:
        return Padding(text, (0, 0, 0, indent)) if indent else text
    grid = Table.grid(padding=0)
    grid.add_column(width=hanging, no_wrap=True)
    grid.add_column()
    grid.add_row(Text(printable(said[:hanging]), style=style), Text(printable(said[hanging:]), style=style))
    return Padding(grid, (0, 0, 0, indent))
