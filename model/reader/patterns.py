"""Parts and joints as the file means them, and patterns of them: copies along a line or an arc.

A joint's end is a place on a part and a shift in the plane of that place. A pattern
replaces its parts by copies and copies every joint they take part in. A joint between two
parts of the pattern is copied as it is; in a joint with any other part, the place on the
other part moves on from copy to copy.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from fnmatch import fnmatchcase

from model.frames import Frame, Z, inverse, move, turn
from model.part import Blank
from model.reader.lines import Where
from model.reader.problems import Problems
from model.reader.schema import JOINTS_MOST, NAME_MOST, PARTS_MOST, JointTable, PatternTable

GLOBS_MOST = 200
"""More names with a * than this are refused: each is held against every name of the design."""


@dataclass(frozen=True)
class Piece:
    """A part to be made: its name, and the name of the table it comes from."""

    name: str
    source: str


@dataclass(frozen=True, eq=False)
class Tip:
    """One end of a joint: the part, the place on it, how far along and across (mm), and a swing of all that
    in the plane of the place."""

    part: str
    place: str
    along: float
    across: float
    swing: Frame | None = None

    def frame(self, blank: Blank) -> Frame:
        """Return where the end lies, in the blank's own frame; KeyError when it has no such place."""
        frame = blank.place(self.place, self.along, self.across)
        if self.swing is None:
            return frame
        origin = blank.places[self.place]
        swung: Frame = origin @ self.swing @ inverse(origin) @ frame
        return swung

    def stepped(self, along: float, across: float) -> Tip:
        """Return the end moved on in a line."""
        if self.swing is None:
            return replace(self, along=self.along + along, across=self.across + across)
        return replace(self, swing=move(along, across) @ self.swing)

    def swung(self, along: float, across: float, angle: float) -> Tip:
        """Return the end swung (rad) about a centre in the plane of the place."""
        swing = move(along, across) @ turn(Z, angle) @ move(-along, -across)
        return replace(self, swing=swing if self.swing is None else swing @ self.swing)


@dataclass(frozen=True, eq=False)
class Tie:
    """A joint to be made: its name, the name of the table it comes from, and its two ends."""

    name: str
    source: str
    a: Tip
    b: Tip


@dataclass
class Layout:
    """The parts and joints of a file, patterns included."""

    pieces: list[Piece] = field(default_factory=list)
    ties: list[Tie] = field(default_factory=list)
    whole: bool = True
    """Whether every pattern could be carried out."""


def layout_of(parts: Iterable[str], joints: Mapping[str, JointTable], patterns: Mapping[str, PatternTable],
              problems: Problems, refused: frozenset[str] = frozenset()) -> Layout:
    """Return the file's parts and joints with every pattern carried out, in the order of the file.

    `refused` names the parts whose tables have problems of their own.
    """
    layout = Layout([Piece(n, n) for n in parts], [_tie(n, j) for n, j in joints.items()])
    for name, pattern in patterns.items():
        _Pattern(name, pattern, layout, problems, refused).carry_out()
    return layout


def _tie(name: str, joint: JointTable) -> Tie:
    return Tie(name, name, Tip(*joint.start, joint.from_along, joint.from_across),
               Tip(*joint.into, joint.along, joint.across))


@dataclass(frozen=True)
class _Pattern:
    name: str
    table: PatternTable
    layout: Layout
    problems: Problems
    refused: frozenset[str]

    def carry_out(self) -> None:
        """Replace the pattern's parts and joints by their copies, unless anything is wrong with it."""
        before = len(self.problems)
        chosen = self._chosen()
        self._check_steps()
        ties = [t for t in self.layout.ties if t.a.part in chosen or t.b.part in chosen]
        moved = {t.name for t in ties}
        known = moved | {t.source for t in ties}
        for joint in self.table.against:
            if joint not in known and chosen:
                self._note("against", "no joint of the copied parts has this name", joint, among=sorted(known))
        self._check_size(len(chosen), len(moved))
        if len(self.problems) == before and chosen:
            self._check_names(chosen, moved)
        if len(self.problems) == before:
            self._copy(chosen)
        else:
            self.layout.whole = False

    def _chosen(self) -> frozenset[str]:
        names = {p.name: [p.name] for p in self.layout.pieces}
        found: set[str] = set()
        for word in self.table.part:
            before = len(self.problems)
            here = matching(word, names, self.problems, ("pattern", self.name, "part"))
            if not here and word not in self.refused and len(self.problems) == before:
                self._note("part", "no such part", word, among=list(names))
            found.update(here)
        return frozenset(found)

    def _check_steps(self) -> None:
        t = self.table
        line = t.step is not None or t.step_across is not None
        if line == (t.step_angle is not None):
            self._note("step", "a pattern runs along a line or along an arc",
                       accepted="either step (and step_across), or step_angle (and a centre)")

    def _check_size(self, parts: int, joints: int) -> None:
        more = self.table.count - 1
        for word, have, most in (("parts", len(self.layout.pieces) + parts * more, PARTS_MOST),
                                 ("joints", len(self.layout.ties) + joints * more, JOINTS_MOST)):
            if have > most:
                self._note("count", f"makes {have:,} {word} in all", self.table.count, f"at most {most:,} {word}")
                return

    def _check_names(self, chosen: frozenset[str], moved: set[str]) -> None:
        parts = {p.name for p in self.layout.pieces} - chosen
        joints = {t.name for t in self.layout.ties} - moved
        for word, taken, names in (("part", parts, chosen), ("joint", joints, moved)):
            for name in sorted(names):
                twice = next((c for c in self._numbered(name) if c in taken), None)
                if twice is not None:
                    self._note("", f"its copies of {name} include {twice}, and there is a {word} of that name already",
                               accepted="names that are not taken")

    def _numbered(self, name: str) -> list[str]:
        return [f"{name}_{i}" for i in range(1, self.table.count + 1)]

    def _copy(self, chosen: frozenset[str]) -> None:
        pieces: list[Piece] = []
        for piece in self.layout.pieces:
            names = self._numbered(piece.name) if piece.name in chosen else [piece.name]
            pieces.extend(replace(piece, name=n) for n in names)
        ties: list[Tie] = []
        for tie in self.layout.ties:
            ties.extend(self._copies(tie, chosen) if {tie.a.part, tie.b.part} & chosen else [tie])
        self.layout.pieces, self.layout.ties = pieces, ties

    def _copies(self, tie: Tie, chosen: frozenset[str]) -> list[Tie]:
        names = self._numbered(tie.name)
        inside = tie.a.part in chosen and tie.b.part in chosen
        return [replace(tie, name=name, a=self._tip(tie, tie.a, i, chosen, inside),
                        b=self._tip(tie, tie.b, i, chosen, inside)) for i, name in enumerate(names)]

    def _tip(self, tie: Tie, tip: Tip, i: int, chosen: frozenset[str], inside: bool) -> Tip:
        if tip.part in chosen:
            return replace(tip, part=f"{tip.part}_{i + 1}")
        return tip if inside else self._moved(tip, -i if self._backwards(tie) else i)

    def _backwards(self, tie: Tie) -> bool:
        return bool({tie.name, tie.source} & set(self.table.against))

    def _moved(self, tip: Tip, i: int) -> Tip:
        t = self.table
        if t.step_angle is not None:
            return tip.swung(t.centre_along, t.centre_across, i * t.step_angle)
        return tip.stepped(i * (t.step or 0.0), i * (t.step_across or 0.0))

    def _note(self, key: str, message: str, value: str | int | None = None, accepted: str = "", *,
              among: Sequence[str] = ()) -> None:
        self.problems.add(("pattern", self.name, key) if key else ("pattern", self.name), message, value, accepted,
                          among=among)


def matching(word: str, known: Mapping[str, Sequence[str]], problems: Problems, path: Where) -> Sequence[str]:
    """Return the names a word stands for; with a *, those of every known word that fits it."""
    if "*" not in word:
        return known.get(word, ())
    problems.globs += 1
    if problems.globs > GLOBS_MOST or len(word) > 2 * NAME_MOST:
        problems.add(path, "too many names with a *", word, f"at most {GLOBS_MOST} in one file")
        return ()
    plain = word.replace("[", "[[]").replace("?", "[?]")
    return [name for key, names in known.items() if fnmatchcase(key, plain) for name in names]
