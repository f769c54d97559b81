"""From tables to a design: blanks on the drafting table, joints between their places, then the cuts.

Whatever goes wrong is noted at the line of the table it comes from, and the rest is still
tried, so that a person sees everything that is wrong with a file at once.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, field, replace
from pathlib import Path

from model.design import Design, Flush, Pin, Shop
from model.draft import Draft
from model.errors import DraftError, JointError, SolidError
from model.families import FAMILIES
from model.frames import Frame, X, Z, inverse, move, turn
from model.joints import KINDS
from model.part import Part
from model.progress import Progress, quiet, share
from model.reader.blanks import Bench, Sawn
from model.reader.fields import keys_at
from model.reader.lines import Where
from model.reader.measured import Named, measurements_of
from model.reader.patterns import Layout, Tie, Tip, layout_of
from model.reader.pins import Pinnable, pins_of, with_halves
from model.reader.problems import Problems
from model.reader.said import Said
from model.reader.schema import JOINTS_MOST, PARTS_MOST, Stand, sizes_of
from model.reader.shop import shop_of
from model.reader.stages import Known, stages_of
from model.reader.standing import standing
from model.reader.stocks import stocks_of
from model.reader.tables import Tables
from model.stock import Stock

CANNOT = (JointError, SolidError, DraftError, ValueError, ArithmeticError)
"""What the making of a part, a joint or a family raises when it cannot be made as asked."""
_COPY = re.compile(r"(_\d+)+$")


def design_of(tables: Tables, path: Path, problems: Problems, progress: Progress = quiet) -> Design:
    """Return the design the tables describe; DesignError with every problem found when there are any."""
    builder = _Builder(tables, path, problems)
    builder.lay_out()
    if len(problems):
        builder.find_joints_at_fault(all_copies=False)
        measurements_of([tables.as_cut], builder.named())
    problems.stop()
    return builder.finish(progress)


@dataclass
class _Builder:
    tables: Tables
    path: Path
    problems: Problems
    draft: Draft = field(default_factory=lambda: Draft(""))
    stocks: dict[str, Stock] = field(default_factory=dict)
    layout: Layout = field(default_factory=Layout)
    shop: Shop = field(default_factory=Shop)
    pins: list[Pin] = field(default_factory=list)
    flush: list[Flush] = field(default_factory=list)
    family_failed: bool = False
    unmade: frozenset[str] = frozenset()
    """The part tables that gave no blank, for a reason noted already."""
    source: dict[str, Where] = field(default_factory=dict)
    """Where in the file each free part comes from."""
    ties: dict[str, Where] = field(default_factory=dict)
    """Where in the file each free joint comes from."""
    uncut: set[tuple[Where, str]] = field(default_factory=set)
    """The joints, and their keys, that were noted already because they cannot be cut."""

    def lay_out(self) -> None:
        """Put everything on the drafting table."""
        tables = self.tables
        self.stocks = stocks_of(tables.stocks, tables.unit, self.problems)
        self._start_family()
        self.layout = layout_of(tables.parts, tables.joints, tables.patterns, self.problems, tables.refused["part"])
        self._add_parts()
        self._add_joints()
        self._add_stages()
        self.pins = pins_of(tables.pins, self._pinnable(), self.problems)
        self._set_base()
        self.shop = shop_of(tables.shop, self.problems)
        self.flush = [flush for i, table in tables.flush.items() if (flush := self._flush(i, *table.faces)) is not None]

    def _start_family(self) -> None:
        table = self.tables.family
        self.family_failed = self.tables.wants_family
        if table is None or self.tables.refused["stock"] or len(self.stocks) < len(self.tables.stocks):
            return
        title = self.tables.heading.name if self.tables.heading else ""
        try:
            self.draft = FAMILIES[table.kind].draft(title, table.options, self.stocks)
            self.family_failed = False
        except DraftError as error:
            value = Said(error.value) if isinstance(error.value, str) else error.value
            self.problems.add(("family", *error.key.split(".")), "gives no structure", value, error.accepted)
        except CANNOT as error:
            self.problems.add(("family",), f"gives no structure: {error}")

    def _add_parts(self) -> None:
        bench = Bench(self.tables, self.stocks, self.path.parent, self.problems)
        sawn: dict[str, Sawn | None] = {}
        for piece in self.layout.pieces:
            table = self.tables.parts[piece.source]
            where = ("part", piece.source)
            if piece.name in self.draft.blanks:
                self.problems.add(where, "the family has a part of this name already", piece.name)
                continue
            if piece.source not in sawn:
                sawn[piece.source] = bench.sawn(piece.source)
            if (made := sawn[piece.source]) is not None:
                self.source[piece.name] = where
                self.draft.add(piece.name, made.blank, group=table.group or piece.source,
                               leaves_after=table.leaves_after)
                for feature in made.features:
                    self.draft.feature(piece.name, feature)
        self.unmade = self.tables.refused["part"] | {name for name, made in sawn.items() if made is None}
        if len(self.draft.blanks) > PARTS_MOST:
            self.problems.add(("part",), "too many parts", f"{len(self.draft.blanks):,}", f"at most {PARTS_MOST:,}")

    def _add_joints(self) -> None:
        taken = {j.name for j in self.draft.joints}
        for tie in self.layout.ties:
            where = ("joint", tie.source)
            if tie.name in taken:
                self.problems.add(where, "the family has a joint of this name already", tie.name)
            else:
                self.ties[tie.name] = where
                self._join(tie, where)
        if len(self.draft.joints) > JOINTS_MOST:
            self.problems.add(("joint",), "too many joints", f"{len(self.draft.joints):,}", f"at most {JOINTS_MOST:,}")

    def _join(self, tie: Tie, where: Where) -> None:
        if tie.a.part == tie.b.part:
            self.problems.add((*where, "into"), "joins a part to itself", tie.b.part, "a place on another part")
            return
        place_a, place_b = self._place(tie.a, (*where, "from")), self._place(tie.b, (*where, "into"))
        if place_a is None or place_b is None:
            return
        table = self.tables.joints[tie.source]
        sizes = sizes_of(table)
        a, b = self.draft.blanks[tie.a.part], self.draft.blanks[tie.b.part]
        seat_b = place_b @ turn(X, math.pi) @ turn(Z, table.turn)
        try:
            in_a, in_b = KINDS[str(table.kind)].sink(sizes, a, b, place_a, seat_b)
        except CANNOT as error:
            self._cannot_join(tie.name, error)
            return
        self.draft.join(tie.name, str(table.kind), tie.a.part, tie.b.part, place_a @ move(z=-in_a),
                        seat_b @ move(z=in_b), fit=table.fit, glued=self._glued(tie, where, table.glued), sizes=sizes)

    def _place(self, tip: Tip, where: Where) -> Frame | None:
        blank = self.draft.blanks.get(tip.part)
        if blank is None:
            if not self._is_missed(tip.part):
                self.problems.add(where, "no such part", tip.part, among=tuple(self.draft.blanks))
            return None
        if tip.place not in blank.places:
            self.problems.add(where, f"no such place on {tip.part}", tip.place, among=tuple(blank.places))
            return None
        return tip.frame(blank)

    def _is_missed(self, part: str) -> bool:
        """Whether a part is missing only because something else was noted already."""
        original = _COPY.sub("", part)
        if self.family_failed or part in self.unmade or original in self.unmade:
            return True
        return original in self.tables.parts and not (self.layout.whole and not self.tables.refused["pattern"])

    def _flush(self, i: int, a: tuple[str, str], b: tuple[str, str]) -> Flush | None:
        """Return two faces declared flush, or None with what is wrong noted."""
        frames = [self._place(Tip(*face, 0.0, 0.0), ("flush", i, "faces", at)) for at, face in enumerate((a, b))]
        return None if any(frame is None for frame in frames) else Flush(*a, *b)

    def named(self) -> Named:
        """Return what measurements may name, as far as it stands on the table."""
        draft, refused = self.draft, self.tables.refused
        whole = len(draft.joints) >= len(self.layout.ties) and not any(j.kind == "loose tenon" for j in draft.joints)
        return Named(draft.blanks, draft.joints, lambda name: self._is_missed(name) or name in refused["stock"],
                     self.family_failed or bool(refused["joint"]) or not whole)

    def _glued(self, tie: Tie, where: Where, given: bool | None) -> bool:
        temporary = next((p for p in (tie.a.part, tie.b.part) if p in self.draft.leaves), None)
        if temporary is not None and given:
            self.problems.add((*where, "glued"), f"{temporary} is taken away again, it cannot be glued", True, "false")
        return temporary is None if given is None else given

    def _add_stages(self) -> None:
        given = self.tables.stages
        known, refused = self._joints_known(), self.tables.refused
        if given:
            names_known = Known(known, self.draft.stages, refused["joint"], refused["stage"], self.family_failed)
            self.draft.stages = stages_of(given, names_known, self.problems)
        names = {s.name for s in self.draft.stages} | refused["stage"]
        for part, stage in self.draft.leaves.items():
            where = (*self.source[part], "leaves_after") if part in self.source else ("stage",)
            self._known_stage(where, part, stage, names)
        for part, features in self.draft.own.items():
            for f in features:
                if f.after is not None:
                    where = (*self.source[part], "curve", "after") if part in self.source else ("stage",)
                    self._known_stage(where, part, f.after, names)

    def _joints_known(self) -> dict[str, list[str]]:
        """Return what every name of a joint stands for: a pattern's for its copies."""
        known: dict[str, list[str]] = {j.name: [j.name] for j in self.draft.joints}
        for tie in self.layout.ties:
            known.setdefault(tie.name, [tie.name])
            if tie.source != tie.name:
                known.setdefault(tie.source, []).append(tie.name)
        return known

    def _pinnable(self) -> Pinnable:
        parts: dict[str, list[str]] = {name: [name] for name in self.draft.blanks}
        for piece in self.layout.pieces:
            parts.setdefault(piece.name, [piece.name])
            if piece.source != piece.name:
                parts.setdefault(piece.source, []).append(piece.name)
        ends = {j.name: (j.a, j.b) for j in self.draft.joints}
        ends.update((t.name, (t.a.part, t.b.part)) for t in self.layout.ties)
        refused = self.tables.refused
        vague = self.family_failed or bool(refused["pattern"]) or not self.layout.whole
        return Pinnable(self._joints_known(), parts, ends, refused["joint"] | refused["part"], vague)

    def _known_stage(self, where: Where, part: str, stage: str, names: set[str]) -> None:
        if stage not in names and not self.family_failed:
            self.problems.add(where, f"{part} waits for a stage that is not there", stage,
                              "" if names else "a [[stage]] of this name", among=sorted(names))

    def _set_base(self) -> None:
        base, draft = self.tables.base, self.draft
        if base is not None and base not in draft.blanks:
            if not self._is_missed(base):
                self.problems.add(("base",), "no such part", base, among=tuple(draft.blanks))
            return
        if not draft.blanks:
            if not len(self.problems):
                self.problems.add((), "has no parts", accepted="a [family] or [part.NAME] tables")
            return
        _choose_base(draft, base or draft.base or next(iter(draft.blanks)), self.tables.stand)

    def finish(self, progress: Progress) -> Design:
        """Cut every joint and return the design, every part of it checked."""
        heading = self.tables.heading
        assert heading is not None, "a heading that cannot be read has stopped the reading"
        self.draft.name = heading.name
        try:
            design = self.draft.finish(shop=self.shop, unit=self.tables.unit, source=self.path, says=heading.says,
                                       progress=share(progress, 0.0, 0.5))
        except CANNOT:
            self.find_joints_at_fault()
            self.problems.stop()
            raise
        self._check_names(design)
        self._check_parts(design, progress)
        self.problems.stop()
        pins = tuple(with_halves(pin, design.joints) for pin in self.pins)
        return replace(design, flush=tuple(self.flush), pins=pins)

    def find_joints_at_fault(self, *, all_copies: bool = True) -> None:
        """Note every joint that cannot be cut between its blanks; of a pattern's, all or the first and the last."""
        joints = self.draft.joints
        if not all_copies:
            first, last = ({self.ties.get(j.name): j for j in way} for way in (reversed(joints), joints))
            joints = [*first.values(), *(j for where, j in last.items() if j is not first[where])]
        for joint in joints:
            try:
                KINDS[joint.kind].work(joint, self.draft.blanks[joint.a], self.draft.blanks[joint.b])
            except CANNOT as error:
                self._cannot_join(joint.name, error)

    def _cannot_join(self, name: str, error: Exception) -> None:
        """Note a joint that cannot be cut, once for all the copies of a pattern."""
        where = self.ties.get(name, ("family",))
        key = error.key if isinstance(error, JointError) else ""
        if (where, key) in self.uncut:
            return
        self.uncut.add((where, key))
        which = "cannot be cut" if where[-1] == name else f"{name} cannot be cut"
        if isinstance(error, JointError):
            self._note_joint(where, which, error)
        else:
            self.problems.add(where, f"{which}: {error}")

    def _note_joint(self, where: Where, which: str, error: JointError) -> None:
        """Note what keeps a joint from being cut at the key it comes from, if that is one of the file's."""
        table = self.tables.joints.get(str(where[-1])) if where[0] == "joint" else None
        key, value = error.key, Said(error.value)
        if table is not None and key in ("from", "into"):
            self.problems.add((*where, key), f"{which}: it would lie on {value}", accepted=error.accepted)
        elif table is not None and (key in sizes_of(table) or key in table.model_fields_set):
            self.problems.add((*where, key), which, value, error.accepted)
        elif table is not None and key in keys_at(type(table), ()):
            self.problems.add(where, f"{which}: its {key} would be {value}", accepted=error.accepted)
        else:
            self.problems.add(where, f"{which}: {'it ' * value.startswith('takes')}{value}", accepted=error.accepted)

    def _check_names(self, design: Design) -> None:
        for word, things in (("part", design.parts), ("joint", design.joints)):
            seen: set[str] = set()
            for name in (thing.name for thing in things):
                if name in seen:
                    self.problems.add((word, name), f"a {word} of this name is made by a joint as well", name)
                seen.add(name)

    def _check_parts(self, design: Design, progress: Progress) -> None:
        """Hold every distinct solid against what a part must be: one piece of wood."""
        seen: dict[bytes, str] = {}
        for done, part in enumerate(design.parts):
            progress("making the parts", 0.5 + 0.5 * done / len(design.parts))
            try:
                if part.finished.key not in seen:
                    seen[part.finished.key] = part.name
                    part.checked()
            except CANNOT as error:
                self.problems.add(self._where_made(part, design), str(error))

    def _where_made(self, part: Part, design: Design) -> Where:
        made_by = next((j for j in design.joints if j.of and part.name in (j.a, j.b)), None)
        fallback = self.ties.get(made_by.of, ("family",)) if made_by and made_by.of else ("family",)
        return self.source.get(part.name, fallback)


def _choose_base(draft: Draft, base: str, stand: Stand | None) -> None:
    """Make a part the base: where the family's drawing has it, or as `stand` says."""
    old = draft.base or next(iter(draft.blanks))
    if stand is None and base in draft.layout:
        if draft.base_frame is not None and old in draft.layout:
            draft.base_frame = draft.base_frame @ inverse(draft.layout[old]) @ draft.layout[base]
    elif stand is not None or base != old or draft.base_frame is None:
        draft.base_frame = standing(stand or Stand(), draft.blanks[base])
    draft.base = base

