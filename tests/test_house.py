"""The house itself: which room imports which, how long a module may grow, what start-up loads."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

from model.families import FAMILIES
from model.joints import KINDS
from model.shapes import SHAPES

ROOT = Path(__file__).resolve().parent.parent
ROOMS = ("model", "assembly", "exports")
LONGEST_MODULE = 400
LONGEST_FUNCTION = 60
TOP_LEVEL = {"README.md", "DEVELOPERS.md", "pyproject.toml", "LICENSE", "Makefile", *ROOMS, "examples", "tests",
             "out", "dist", "build"}
HEAVY = {"pyvista", "vtk", "vtkmodules", "trimesh", "scipy", "matplotlib", "PIL"}


PAGE = ROOT / "exports" / "page"
HOOK = PAGE / "hook.py"


def files() -> list[Path]:
    """The modules of the rooms; the walk page's folder holds none, its build hook runs before there is a dryfit."""
    return [f for room in ROOMS for f in sorted((ROOT / room).rglob("*.py")) if not f.is_relative_to(PAGE)]


def imported(tree: ast.AST) -> Iterator[str]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, "imports are written out in full"
            yield node.module or ""


def room_of(file: Path) -> str:
    return file.relative_to(ROOT).parts[0]


@pytest.mark.parametrize("file", files(), ids=lambda f: f.relative_to(ROOT).as_posix())
def test_imports_run_one_way(file: Path) -> None:
    later = set(ROOMS[ROOMS.index(room_of(file)) + 1:]) | {"tests"}
    against = sorted(n for n in imported(ast.parse(file.read_text(encoding="utf-8"))) if n.split(".")[0] in later)
    assert not against


@pytest.mark.parametrize("file", [*files(), HOOK], ids=lambda f: f.relative_to(ROOT).as_posix())
def test_nothing_grows_too_long(file: Path) -> None:
    text = file.read_text(encoding="utf-8")
    assert text.count("\n") <= LONGEST_MODULE
    long = [f"{node.name}: {lines} lines" for node in ast.walk(ast.parse(text))
            if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
            and (lines := (node.end_lineno or 0) - node.lineno + 1) > LONGEST_FUNCTION]
    assert not long


def test_only_what_is_declared_is_imported() -> None:
    """pyproject.toml names every library that the rooms import themselves, and none that they do not."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    declared = {re.split(r"[<>=~!\[ ]", d)[0].replace("-", "_") for d in project["dependencies"]}
    used = {n.split(".")[0] for f in files() for n in imported(ast.parse(f.read_text(encoding="utf-8")))}
    used = {"pillow" if n == "PIL" else n for n in used} - set(sys.stdlib_module_names) - set(ROOMS)
    chosen_by_others = {"vtk", "vtkmodules", "pydantic_core"}
    assert used - chosen_by_others == declared, "pyvista and pydantic choose the releases of those three"


def test_every_package_folder_says_what_it_is_for() -> None:
    for folder in {f.parent for f in files()} - {ROOT / room for room in ROOMS}:
        assert ast.get_docstring(ast.parse((folder / "__init__.py").read_text(encoding="utf-8"))), folder


def test_the_top_level_holds_the_rooms_and_little_else() -> None:
    strangers = {p.name for p in ROOT.iterdir() if not p.name.startswith(".")} - TOP_LEVEL
    assert not {s for s in strangers if not s.endswith((".egg-info", "__pycache__"))}


@pytest.mark.parametrize("registry", [KINDS, SHAPES, FAMILIES], ids=["joints", "shapes", "families"])
def test_each_kind_is_registered_under_its_own_name(registry: dict[str, object]) -> None:
    assert registry
    for name, kind in registry.items():
        assert kind.name == name  # type: ignore[attr-defined]
        assert kind.says.strip()  # type: ignore[attr-defined]


@pytest.mark.parametrize(("folder", "registry"), [("joints", KINDS), ("shapes", SHAPES), ("families", FAMILIES)])
def test_one_registry_reaches_every_kind_file(folder: str, registry: dict[str, object]) -> None:
    """A kind file that nobody registered is dead code; a registered kind must come from its folder."""
    homes = {type(kind).__module__ for kind in registry.values()}
    assert all(home.startswith(f"model.{folder}.") for home in homes)
    reached = set(homes)
    texts = {f"model.{folder}.{f.stem}": f for f in (ROOT / "model" / folder).glob("*.py") if f.stem != "__init__"}
    while grown := {n for home in reached for n in imported(ast.parse(texts[home].read_text(encoding="utf-8")))
                    if n in texts} - reached:
        reached |= grown
    protocol = {"model.shapes.shape", "model.families.family"}
    assert set(texts) - reached - protocol == set()


def test_developers_page_points_at_what_is_there() -> None:
    """Every path it names exists, and every constant it names in a file is defined in that file."""
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    paths = re.findall(r"`((?:model|assembly|exports|tests|\.ci)/[\w./]*)`", text)
    assert len(paths) > 20
    assert not [p for p in paths if not (ROOT / p).exists()]
    for names, path in re.findall(r"((?:`[A-Z_]+`(?:, )?)+) in `([\w./]+)`", text):
        source = (ROOT / path).read_text(encoding="utf-8")
        for name in re.findall(r"`(\w+)`", names):
            assert re.search(rf"^{name}\b.*=", source, re.MULTILINE), f"{name} in {path}"


def test_asking_for_help_loads_nothing_heavy() -> None:
    """`dryfit --help` must answer at once: the libraries for meshes and pictures load when they are used."""
    asked = ("import sys\nfrom exports.command import main\n"
             "try:\n    main(['--help'])\nexcept SystemExit:\n    pass\n"
             "print('loaded', *sorted({m.split('.')[0] for m in sys.modules}), file=sys.stderr)")
    done = subprocess.run([sys.executable, "-c", asked], cwd=ROOT, capture_output=True, text=True, check=True)
    assert "rehearse" in done.stdout
    loaded = set(done.stderr.splitlines()[-1].split()[1:])
    assert "model" in loaded or "exports" in loaded
    assert not loaded & HEAVY
