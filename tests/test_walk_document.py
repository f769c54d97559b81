"""The static words of the walk page: sound HTML, text as text, pictures small, nothing that the policy forbids."""

from __future__ import annotations

import base64
import io
import re
from collections import Counter
from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from html.parser import HTMLParser
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

from assembly.findings import Finding
from assembly.rehearsal import Rehearsal, rehearse
from exports import parts_list
from exports.found import NOTES
from exports.pictures.chosen import picture_files
from exports.walk import walk_data
from exports.walk.document import document
from exports.walk.stills import MOST, MOST_IN_ALL, stills
from model.design import Design
from tests import zoo

VOID = {"img", "br", "hr", "meta", "link", "input"}
ALLOWED = {"header", "footer", "section", "article", "div", "h1", "h2", "h3", "h4", "p", "ul", "ol", "li", "dl", "dt",
           "dd", "figure", "figcaption", "img", "table", "caption", "thead", "tbody", "tr", "th", "td"}
PAPER = Path(__file__).parents[1] / "exports" / "page" / "source" / "paper.css"


class Read(HTMLParser):
    """What a document holds: its elements in order, their text, and whether each is closed where it should be."""

    def __init__(self, html: str) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[str] = []
        self.found: list[tuple[str, dict[str, str]]] = []
        self.text: list[tuple[str, str]] = []
        self.feed(html)
        self.close()
        assert not self.open, f"never closed: {self.open}"

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = [name for name, _ in attrs]
        assert len(set(given)) == len(given), f"{tag}: an attribute twice"
        self.found.append((tag, {name: value or "" for name, value in attrs}))
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open and self.open[-1] == tag, f"</{tag}> closes {self.open[-1:]}"
        self.open.pop()

    def handle_data(self, data: str) -> None:
        if data.strip():
            self.text.append((self.open[-1] if self.open else "", data))

    def handle_comment(self, data: str) -> None:
        raise AssertionError(f"a comment: {data}")

    def handle_decl(self, decl: str) -> None:
        raise AssertionError(f"a declaration: {decl}")

    def of(self, tag: str) -> list[dict[str, str]]:
        return [given for name, given in self.found if name == tag]

    def said(self, tag: str = "") -> str:
        return " ".join(data for name, data in self.text if tag in ("", name))


@cache
def rehearsed(name: str) -> Rehearsal:
    design = zoo.MISTAKES[name][0] if name in zoo.MISTAKES else zoo.SOUND[name]
    return rehearse(design())


def picture(seed: int, size: tuple[int, int] = (1600, 1200)) -> bytes:
    """A PNG that is hard to make small: grain all over."""
    grain = np.random.default_rng(seed).integers(180, 230, (size[1], size[0], 3), dtype=np.uint8)
    return png(Image.fromarray(grain))


def drawing(size: tuple[int, int] = (1600, 1200)) -> bytes:
    """A PNG with a few edges on quiet paper."""
    image = Image.new("RGB", size, (248, 247, 243))
    image.paste((139, 90, 43), (size[0] // 4, size[1] // 4, size[0] // 2, size[1] // 2))
    return png(image)


def png(image: Image.Image) -> bytes:
    stream = io.BytesIO()
    image.save(stream, "PNG", compress_level=1)
    return stream.getvalue()


def held(html: str) -> Read:
    """Read a document and hold what every document must keep to."""
    read = Read(html)
    assert {tag for tag, _ in read.found} <= ALLOWED
    for tag, given in read.found:
        assert not [name for name in given if name == "style" or name.startswith("on")], f"{tag} {given}"
        assert all(given.get(name, "data:").startswith("data:") for name in ("src", "href", "srcset"))
    ids = Counter(given["id"] for _, given in read.found if "id" in given)
    assert all(count == 1 for count in ids.values())
    levels = [int(tag[1]) for tag, _ in read.found if re.fullmatch(r"h[1-6]", tag)]
    assert levels[0] == 1 and levels.count(1) == 1
    assert all(after <= before + 1 for before, after in pairwise(levels)), "no level is left out"
    assert all(given.get("alt", "").strip() for given in read.of("img"))
    assert all(given.get("scope") in ("col", "row") for given in read.of("th"))
    assert len(read.of("caption")) == len(read.of("table")) == 1
    return read


# -- what it says ---------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["frame", "gateway_small", "ring", *sorted(zoo.MISTAKES)])
def test_the_document_is_sound_and_says_what_the_page_says(name: str) -> None:
    rehearsal = rehearsed(name)
    told = walk_data(rehearsal)
    read = held(document(rehearsal, {}, told))
    said = read.said()
    for line in (told["title"], *told["about"], told["verdict"]["said"], *told["cautions"], *told["quality"]):
        assert line in said
    for step in told["steps"]:
        for line in (step["title"], *(s.removeprefix("- ") for s in step["says"]), *step["glue"]):
            assert line in said
    for finding in told["findings"]:
        if finding["severity"] != "note":
            assert f"{finding['number']}. {finding['sign']} {finding['title']}" in said
            assert all(finding[what] in said for what in ("message", "remedy", "amount", "spot"))
    assert all(stage["title"] in read.said("h3") for stage in told["stages"])


def test_the_same_links_open_the_same_places_without_a_script() -> None:
    rehearsal = rehearsed("leg_short")
    told = walk_data(rehearsal)
    ids = {given["id"] for _, given in held(document(rehearsal, {}, told)).found if "id" in given}
    assert {f"step={step['id']}" for step in told["steps"]} <= ids
    assert {f"finding={f['number']}" for f in told["findings"]} <= ids


def test_pieces_stand_in_a_table_by_their_marks() -> None:
    rehearsal = rehearsed("leg_short")
    read = held(document(rehearsal))
    listed = parts_list.entries(rehearsal)
    rows = [given for given in read.of("th") if given["scope"] == "row"]
    assert len(rows) == len(listed) == len(read.of("tr")) - 1
    heads = [data for tag, data in read.text if tag == "th"]
    assert heads[-len(listed):] == [entry.mark for entry in listed]
    cells = [data for tag, data in read.text if tag == "td"]
    assert str(listed[0].number) in cells and listed[0].names in cells
    assert sum(entry.number for entry in listed) == len(rehearsal.design.parts)


def test_many_notes_of_one_kind_are_counted() -> None:
    plain = rehearsed("trestle")
    many = tuple(Finding("grain", "note", ("post_1",), f"Joint {k} is glued on end grain.", "Rely on its tenon.")
                 for k in range(3 * NOTES))
    said = held(document(replace(plain, findings=many))).said()
    assert "Joint 0 " in said and f"And {2 * NOTES + 1} more of this kind" in said


def test_work_without_an_order_says_so() -> None:
    plain = rehearsed("trestle")
    read = held(document(replace(plain, plan=replace(plain.plan, stages=()))))
    assert "There is no order of glue-up to show." in read.said()


# -- hostile names --------------------------------------------------------------------------------

HOSTILE = ("<script>alert(1)</script>", '"><img src=x onerror=alert(1)>', "</main></body><svg onload=alert(1)>",
           "<!-- ", "]]>", "&lt;b&gt; & &#x3c;", "\x00\x07\x1b[31m\u202e\ufeff", "'\"`",
           "<style>*{display:none}</style>", "x" * 10_000, "<" * 10_000)


@cache
def hostile() -> Design:
    """The trestle with names and words that want to be more than text."""
    design = zoo.trestle()
    names = {p.name: f"{p.name} {word}" for p, word in zip(design.parts, HOSTILE, strict=False)}
    parts = tuple(replace(p, name=names[p.name], group=HOSTILE[4]) for p in design.parts)
    joints = tuple(replace(j, a=names[j.a], b=names[j.b]) for j in design.joints)
    return replace(design, name=HOSTILE[0] + HOSTILE[6], says="".join(HOSTILE), parts=parts, joints=joints,
                   base=names[design.base])


def test_hostile_names_show_as_text() -> None:
    rehearsal = rehearse(hostile())
    names = tuple(p.name for p in rehearsal.design.parts)
    for word in HOSTILE:
        found = Finding("gap", "stop", names[:2], f"{names[0]} and {word}", word, (0.0, 0.0, 0.0))
        html = document(replace(rehearsal, findings=(found, replace(found, severity="note"))))
        read = held(html)
        assert not re.search(r"<(script|svg|style|main|body|b)\b", html)
        assert not [c for c in html if not c.isprintable() and c != "\n"], "no control or format character"
        if word.isprintable():
            assert word in read.said(), "all of it, as text"
    assert HOSTILE[0] in read.said("h1")


# -- pictures -------------------------------------------------------------------------------------


def pictures_of(rehearsal: Rehearsal, made: bytes) -> dict[str, bytes]:
    """What a run writes, each the same picture."""
    names = ["whole.png", "apart.png", "course.png", "minutes.png", "marks.png"]
    for stage in rehearsal.plan.stages:
        stem = f"stage_{stage.number}_{stage.name.replace(' ', '_')}"
        names += [f"{stem}.png", f"{stem}_setting.png"]
    return dict.fromkeys([*names, *(Path(file).name for file in picture_files(rehearsal).values())], made)


def sizes(stilled: Mapping[str, Any]) -> list[int]:
    return [len(still.source) for still in stilled.values()]


def test_every_picture_of_a_run_has_its_place_once() -> None:
    rehearsal = rehearsed("leg_short")
    given = pictures_of(rehearsal, drawing((400, 300)))
    read = held(document(rehearsal, given))
    assert len(read.of("img")) == len(given) and len({img["alt"] for img in read.of("img")}) == len(given)
    for img in read.of("img"):
        image = Image.open(io.BytesIO(base64.b64decode(img["src"].partition(",")[2])))
        assert (str(image.width), str(image.height)) == (img["width"], img["height"])
        assert image.width / image.height == pytest.approx(4 / 3, rel=0.01)


def test_pictures_are_small_one_by_one_and_together() -> None:
    few = sizes(stills({f"{k}.png": drawing() for k in range(3)}))
    assert len(few) == 3 and max(few) <= MOST
    many = sizes(stills(dict.fromkeys((f"{k}.png" for k in range(80)), drawing((400, 300)))))
    assert len(many) == 80 and sum(many) <= MOST_IN_ALL
    hard = sizes(stills(dict.fromkeys((f"{k}.png" for k in range(20)), picture(1, (800, 600)))))
    assert len(hard) == 20 and all(size <= MOST for size in hard) and sum(hard) <= MOST_IN_ALL


def test_what_is_no_picture_is_left_out() -> None:
    broken = {"broken.png": b"\x89PNG nothing", "words.png": b"", "cut.png": drawing()[:400]}
    made = stills({"pictures/whole.png": drawing(), **broken})
    assert list(made) == ["whole"]
    assert stills({}) == {}


# -- paper ----------------------------------------------------------------------------------------


def test_the_style_names_only_what_the_document_has() -> None:
    """Every class that is styled is written, and every class that is written and every break is styled."""
    style = PAPER.read_text(encoding="utf-8")
    read = held(document(rehearsed("leg_short"), pictures_of(rehearsed("leg_short"), drawing((400, 300)))))
    written = {name for _, given in read.found for name in given.get("class", "").split()}
    styled = set(re.findall(r"\.([a-z][a-z-]*)", re.sub(r"/\*.*?\*/|:[^;{}]*[;}]", "", style, flags=re.DOTALL)))
    assert styled - {"sheet-warn"} <= written, styled - written
    assert "break-inside: avoid" in style and "@media print" in style and "url(" not in style
