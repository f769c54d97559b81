"""A GLB file cut down to bare geometry before it is loaded.

What is kept: scenes, the tree of nodes (named by their numbers), meshes with their POSITION and indices, and
the one buffer inside the file. What is dropped: images, materials, animations, extensions, and every
address outside the file. Format: glTF 2.0 specification, Khronos Group (chapters 3 and 4).
"""

from __future__ import annotations

import json
import struct
from collections.abc import Mapping
from typing import Any

from model.reader.schema import Refused

MAGIC, JSON, BIN = 0x46546C67, 0x4E4F534A, 0x004E4942
_ITEM = {5120: 1, 5121: 1, 5122: 2, 5123: 2, 5125: 4, 5126: 4}
_WIDE = {"SCALAR": 1, "VEC3": 3}
_NODE = ("mesh", "children", "matrix", "translation", "rotation", "scale")
_ACCESSOR = ("bufferView", "byteOffset", "componentType", "count", "type")
WHOLE = "a whole binary glTF 2.0 file"


def geometry_only(raw: bytes, most: int) -> bytes:
    """Return the GLB with nothing but its geometry; Refused when it is broken or holds more triangles than `most`."""
    header, data = _chunks(raw)
    try:
        bare = _bare(header, len(data))
        _weigh(bare, most)
    except (KeyError, IndexError, TypeError, ValueError, AttributeError) as error:
        if isinstance(error, Refused):
            raise
        raise Refused("is a broken GLB file", WHOLE) from None
    text = json.dumps(bare).encode()
    text += b" " * (-len(text) % 4)
    data += b"\0" * (-len(data) % 4)
    body = struct.pack("<II", len(text), JSON) + text + struct.pack("<II", len(data), BIN) + data
    return struct.pack("<III", MAGIC, 2, 12 + len(body)) + body


def node_names(raw: bytes) -> list[str]:
    """Return what the file calls each of its nodes: by the node, else by its mesh, else "". Raises Refused."""
    header, _ = _chunks(raw)
    nodes, meshes = header.get("nodes", []), header.get("meshes", [])
    try:
        return [str(n.get("name") or ("mesh" in n and meshes[n["mesh"]].get("name")) or "") for n in nodes]
    except (KeyError, IndexError, TypeError, AttributeError):
        raise Refused("is a broken GLB file", WHOLE) from None


def _chunks(raw: bytes) -> tuple[dict[str, Any], bytes]:
    try:
        magic, version, _ = struct.unpack_from("<III", raw)
        length, kind = struct.unpack_from("<II", raw, 12)
        header = json.loads(raw[20:20 + length])
        if (magic, version, kind) != (MAGIC, 2, JSON) or not isinstance(header, dict):
            raise ValueError("its header is none")
        at = 20 + length
        size, kind = struct.unpack_from("<II", raw, at)
        if kind != BIN or at + 8 + size > len(raw):
            raise ValueError("its data are not whole")
    except (struct.error, ValueError, RecursionError):
        raise Refused("is no GLB file", WHOLE) from None
    return header, raw[at + 8:at + 8 + size]


def _bare(header: Mapping[str, Any], size: int) -> dict[str, Any]:
    views = [{"buffer": 0, **_only(v, ("byteOffset", "byteLength", "byteStride"))} for v in header["bufferViews"]
             if _is(v.get("buffer", 0) == 0, "its data lie outside the file")]
    return {
        "asset": {"version": "2.0"},
        "scene": header.get("scene", 0),
        "scenes": [_only(s, ("nodes",)) for s in header["scenes"]],
        "nodes": [{**_only(n, _NODE), "name": str(k)} for k, n in enumerate(header["nodes"])],
        "meshes": [{"primitives": [_primitive(p) for p in m["primitives"]]} for m in header["meshes"]],
        "accessors": [_accessor(a, views, size) for a in header["accessors"]],
        "bufferViews": views,
        "buffers": [{"byteLength": size}],
        "materials": [{}],
    }


def _only(table: Mapping[str, Any], keys: tuple[str, ...]) -> dict[str, Any]:
    return {k: table[k] for k in keys if k in table}


def _is(holds: bool, otherwise: str) -> bool:
    if not holds:
        raise Refused(f"cannot be used: {otherwise}", WHOLE)
    return True


def _primitive(p: Mapping[str, Any]) -> dict[str, Any]:
    _is(p.get("mode", 4) == 4, "it holds more than triangles")
    kept = {"attributes": {"POSITION": p["attributes"]["POSITION"]}, "mode": 4, "material": 0}
    return kept | _only(p, ("indices",))


def _accessor(a: Mapping[str, Any], views: list[dict[str, Any]], size: int) -> dict[str, Any]:
    """Keep an accessor when it is of a kind that geometry uses; one that is not used may stay empty."""
    if a.get("type") not in _WIDE or "sparse" in a or "bufferView" not in a:
        return {"bufferView": 0, "componentType": 5121, "count": 0, "type": "SCALAR"}
    item = _ITEM[a["componentType"]] * _WIDE[a["type"]]
    view = views[a["bufferView"]]
    step = view.get("byteStride", item)
    needed = a.get("byteOffset", 0) + (a["count"] - 1) * step + item
    inside = 0 <= view.get("byteOffset", 0) <= size - view["byteLength"] and 0 < view["byteLength"] <= size
    _is(a["count"] > 0 and step > 0 and inside and 0 < needed <= view["byteLength"], "its data are not whole")
    return _only(a, _ACCESSOR)


def _weigh(bare: Mapping[str, Any], most: int) -> None:
    """Refuse a file whose nodes are no tree, or whose meshes, as often as they are used, have too many triangles."""
    nodes, seen, total = bare["nodes"], set(), 0
    waiting = list(bare["scenes"][bare["scene"]]["nodes"])
    while waiting:
        here = waiting.pop()
        _is(here not in seen and here >= 0, "its nodes are no tree")
        seen.add(here)
        waiting.extend(nodes[here].get("children", ()))
        if "mesh" in nodes[here]:
            total += sum(_count(p, bare["accessors"]) for p in bare["meshes"][nodes[here]["mesh"]]["primitives"])
        if total > most:
            raise Refused(f"holds more than {most:,} triangles", f"at most {most:,}")


def _count(p: Mapping[str, Any], accessors: list[dict[str, Any]]) -> int:
    index: int = p.get("indices", p["attributes"]["POSITION"])
    _is(accessors[p["attributes"]["POSITION"]]["type"] == "VEC3", "its corners are not points")
    return int(accessors[index]["count"]) // 3
