"""The direction of imports (DEVELOPERS.md, "Arrows"): each part may import only what stands below it."""

import ast
from pathlib import Path

import pytest

import curetrack

ROOT = Path(curetrack.__file__).parent

BASE = {"units", "instants", "errors"}
CORE = {"timeline", "climate", "profile", "facts", "concrete"} | BASE
SEEN = {"words", "shop", "settings"}  # what every surface shows

# part -> parts of ours that it may import; a part may always import itself
MAY = {
    "errors": set(),
    "whole": set(),
    "locking": {"errors"},
    "instants": set(),
    "units": {"errors"},
    "concrete": {"units"},
    "hours": {"instants", "errors"},
    "facts": {"concrete"} | BASE,
    "profile": {"facts", "concrete", "units", "errors"},
    "climate": {"profile", "facts", "concrete"} | BASE,
    "timeline": {"hours"} | CORE - {"timeline"},
    "fit": {"climate", "profile", "concrete"} | BASE,
    "ledger": {"facts"} | BASE,
    "settings_values": {"hours", "errors"},
    "settings": {"settings_values", "hours", "whole", "locking", "errors"},
    "credentials": {"whole", "locking", "errors"},
    "shop": {"hours", "whole", "ledger", "settings"} | CORE,
    "words": {"hours", "shop", "settings"} | CORE,
    "nudge": {"credentials", "ledger"} | SEEN | CORE - {"climate", "concrete"},
    "desk": SEEN | CORE,
    "phone": {"whole", "locking"} | SEEN | CORE - {"concrete"},
    "service": {"whole", "locking", "credentials", "nudge", "desk", "phone"} | SEEN | CORE - {"concrete"},
    "rehearsal": {"timeline", "climate", "profile", "facts", "instants"},
    "cli": None,  # the top: anything
    "__main__": {"cli"},
    "__init__": set(),
}
PURE = ("units", "concrete", "facts", "instants", "hours", "climate", "timeline")
EFFECTS = {
    "os",
    "pathlib",
    "random",
    "socket",
    "sqlite3",
    "subprocess",
    "time",
    "tempfile",
    "urllib",
    "shutil",
    "sys",
    "io",
    "uuid",
}


def _modules() -> list[Path]:
    return sorted(ROOT.rglob("*.py"))


def _part(path: Path) -> str:
    return path.relative_to(ROOT).parts[0].removesuffix(".py")


def _imports(path: Path) -> set[str]:
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {name.name for name in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path.name}: relative imports hide the arrows"
            found.add(node.module or "")
            found |= {f"{node.module}.{name.name}" for name in node.names}
    return found


def _wrong_arrows(part: str, path: Path) -> set[str]:
    """The parts of ours that a module imports and may not."""
    allowed = MAY[part]
    if allowed is None:
        return set()
    ours = {name.split(".")[1] for name in _imports(path) if name.startswith("curetrack.")}
    tops = {p.stem if p.suffix else p.name for p in ROOT.iterdir()}
    return (ours & tops) - allowed - {part}


@pytest.mark.parametrize("path", _modules(), ids=lambda p: str(p.relative_to(ROOT)))
def test_imports_point_down(path: Path) -> None:
    assert _part(path) in MAY, f"{_part(path)} has no place in the layout yet"
    assert _wrong_arrows(_part(path), path) == set()


@pytest.mark.parametrize("path", [p for p in _modules() if _part(p) in PURE], ids=lambda p: str(p.relative_to(ROOT)))
def test_the_core_has_no_way_to_the_outside(path: Path) -> None:
    assert {name.split(".")[0] for name in _imports(path)} & EFFECTS == set()


@pytest.mark.parametrize("path", [p for p in _modules() if _part(p) in PURE], ids=lambda p: str(p.relative_to(ROOT)))
def test_the_core_never_asks_for_the_time(path: Path) -> None:
    calls = {
        node.func.attr
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute)
    }
    assert calls & {"now", "utcnow", "today"} == set()


@pytest.mark.parametrize(
    ("part", "written", "wrong"),
    [
        ("timeline", "def f():\n    from curetrack.ledger import Ledger", {"ledger"}),
        ("concrete", "import curetrack.timeline.solve", {"timeline"}),
        ("concrete", "from curetrack.units import require", set()),
        ("shop", "from curetrack.words.reasons import why", {"words"}),
    ],
)
def test_a_wrong_arrow_is_seen(tmp_path: Path, part: str, written: str, wrong: set[str]) -> None:
    path = tmp_path / "module.py"
    path.write_text(written, encoding="utf-8")
    assert _wrong_arrows(part, path) == wrong
