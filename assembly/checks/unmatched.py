"""Unmatched: a piece, or a mortise, that nothing goes with."""

from __future__ import annotations

import networkx as nx

from assembly.checks.wording import listed, place
from assembly.contacts import contacts
from assembly.findings import Finding
from assembly.interference import overlaps
from assembly.placing import Assembly
from assembly.presence import moments
from model.design import Shop
from model.frames import points
from model.joint import Joint


def unmatched(assembly: Assembly, shop: Shop) -> list[Finding]:
    """Find parts no joint ties to the base, parts that touch nothing, and mortises that nothing goes into.

    A part counts as touching when any face of it lies on another part's, or when it is in
    another part's wood, in the finished work or at a stage. Not promised: that what touches is enough to hold it.
    """
    return [*_loose(assembly), *_alone(assembly), *_empty(assembly)]


def _loose(assembly: Assembly) -> list[Finding]:
    ties: nx.Graph = nx.Graph()
    ties.add_nodes_from(assembly.loose)
    ties.add_edges_from((j.a, j.b) for j in assembly.design.joints if j.a in ties and j.b in ties)
    findings = []
    for group in nx.connected_components(ties):
        names = tuple(n for n in assembly.loose if n in group)
        one = len(names) == 1
        findings.append(Finding(
            "unmatched", "stop", names,
            f"No joint ties {listed(names)} to {assembly.design.base}, the part the work stands on; "
            f"{'it was' if one else 'they were'} left out of every other check.",
            f"Declare a joint between {names[0] if one else 'one of them'} and a part that stands, or take "
            f"{'it' if one else 'them'} out of the design."))
    return findings


def _alone(assembly: Assembly) -> list[Finding]:
    there = {name for moment in moments(assembly) for name in moment.names}
    touched = {name for m in moments(assembly) for found in (contacts, overlaps)
               for p in found(m.assembly, m.done, m.names) for name in (p.a, p.b)}
    return [
        Finding("unmatched", "stop", (name,),
                f"{name} touches nothing: no face of it lies on another part.",
                f"Move its joints until its faces meet its neighbours', or take {name} out of the design.",
                place(points(assembly.frames[name], assembly.solid(name).centroid)))
        for name in assembly.names if name in there and name not in touched and len(there) > 1
    ]


def _empty(assembly: Assembly) -> list[Finding]:
    """A mortise whose joint brings no tenon: nothing on the other piece, no loose tenon between them."""
    loose = {j.of for j in assembly.design.joints if j.of is not None}
    return [
        Finding("unmatched", "stop", (joint.b, joint.a),
                f"The mortise of {joint.name} in {joint.b} stays empty: {joint.a} has no tenon for it.",
                f"Cut the tenon on {joint.a}, or leave the mortise out.",
                place(assembly.seat(joint)[:3, 3]), joints=(joint.name,))
        for joint in assembly.design.joints
        if joint.of is None and joint.name not in loose and joint.b in assembly.frames
        and _has(assembly, joint, joint.b, "mortise") and not _has(assembly, joint, joint.a, "tenon")
    ]


def _has(assembly: Assembly, joint: Joint, part: str, role: str) -> bool:
    return any(f.role == role and f.joint == joint.name for f in assembly.part(part).features)
