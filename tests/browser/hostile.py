"""A design whose every name and word would do harm on a page that took it for anything but text."""

from __future__ import annotations

from dataclasses import replace

from model.design import Design
from tests.zoo import mortise_shifted

MARKUP = "<img src=x onerror=document.title='taken'>"
LONG = "x<b>" * 2_500
NAMES = (MARKUP, "</script><script>document.title='taken'</script>", "\x00\x07\x1b[31m\u202egnirts", LONG)


def hostile() -> Design:
    """Return the trestle with one mortise too high, called by hostile names: markup, control characters, 10 kB."""
    design = mortise_shifted()
    new = {p.name: NAMES[k % len(NAMES)] + str(k) for k, p in enumerate(design.parts)}
    named = {j.name: f"{NAMES[1]}{k}" for k, j in enumerate(design.joints)}
    parts = tuple(replace(p, name=new[p.name], group=MARKUP, features=tuple(
        replace(f, joint=named.get(f.joint or "", f.joint)) for f in p.features)) for p in design.parts)
    joints = tuple(replace(j, name=named[j.name], a=new[j.a], b=new[j.b], of=named.get(j.of or ""))
                   for j in design.joints)
    return replace(design, name=NAMES[1], says=LONG + MARKUP, base=new[design.base], parts=parts, joints=joints)
