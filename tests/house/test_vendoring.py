"""The build hook that brings the browser's libraries, loaded as hatchling loads it."""

import importlib.util
import re
import shutil
import subprocess
import sys
from pathlib import Path
from types import ModuleType

import pytest

from tests.house.tree import ROOT

VENDOR = ROOT / "web" / "static" / "vendor"
HOOK = ROOT / "web" / "browser" / "vendoring.py"


def _hook(path: Path) -> ModuleType:
    spec = importlib.util.spec_from_file_location("vendoring", path)
    assert spec
    assert spec.loader
    module = importlib.util.module_from_spec(spec)
    # A frozen dataclass looks its own module up.
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


@pytest.fixture
def vendoring(tmp_path: Path) -> ModuleType:
    """The hook in a tree of its own, with no library brought yet."""
    shutil.copytree(HOOK.parent, tmp_path / "web" / "browser")
    return _hook(tmp_path / "web" / "browser" / HOOK.name)


def _npm_says(monkeypatch: pytest.MonkeyPatch, module: ModuleType, code: int, said: str) -> None:
    done = subprocess.CompletedProcess[str]([], code, "", said)
    monkeypatch.setattr(module, "_npm", lambda *_: done)


def test_every_library_is_there_and_imports_only_its_neighbours() -> None:
    modules = {path.name: path.read_text(encoding="utf-8") for path in VENDOR.glob("*.js")}
    imported = {
        name
        for text in modules.values()
        for name in re.findall(r"""\b(?:from|import)\s*["']([^"']+)["']""", text)
    }
    assert imported
    assert imported <= {f"./{name}" for name in modules}


def test_every_library_comes_with_its_licence() -> None:
    vendoring = _hook(HOOK)
    packages = {
        re.match(r"(@\w+/)?[^/]+", source)[0]  # type: ignore[index]
        for _, source in vendoring.MODULES.values()
    }
    assert {source.removesuffix("/LICENSE") for source in vendoring.LICENCES.values()} == packages


def test_a_changed_lock_makes_the_libraries_stale(vendoring: ModuleType, tmp_path: Path) -> None:
    (tmp_path / "node_modules").mkdir()
    (tmp_path / "node_modules" / "a.mjs").write_text("export {}", encoding="utf-8")
    shelf = vendoring.Shelf(tmp_path / "vendor", {"a.js": "a.mjs"})
    shelf.fill(tmp_path / "node_modules", vendoring.stamp())
    assert shelf.is_fresh(vendoring.stamp())

    with (tmp_path / "web" / "browser" / "package-lock.json").open("a", encoding="utf-8") as lock:
        lock.write("\n")
    assert not shelf.is_fresh(vendoring.stamp())


def test_a_deleted_library_makes_the_folder_stale(vendoring: ModuleType, tmp_path: Path) -> None:
    (tmp_path / "a.mjs").write_text("export {}", encoding="utf-8")
    shelf = vendoring.Shelf(tmp_path / "vendor", {"a.js": "a.mjs"})
    shelf.fill(tmp_path, vendoring.stamp())
    (tmp_path / "vendor" / "a.js").unlink()
    assert not shelf.is_fresh(vendoring.stamp())


def test_without_a_network_one_sentence_says_why_and_what_to_do(
    vendoring: ModuleType, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    said = "npm error code ENOTFOUND\nnpm error syscall getaddrinfo\nnpm error network is down.\n"
    _npm_says(monkeypatch, vendoring, 1, said)
    shelf = vendoring.Shelf(tmp_path / "vendor", {"a.js": "a.mjs"})
    with pytest.raises(vendoring.VendoringError) as refused:
        vendoring.bring([shelf], vendoring.stamp(), for_tests=False)
    assert "(network is down). Connect to the network" in str(refused.value)
    assert "\n" not in str(refused.value)
    assert not shelf.folder.exists()


def test_an_import_that_is_not_listed_is_refused(vendoring: ModuleType, tmp_path: Path) -> None:
    (tmp_path / "htm.mjs").write_text('import{x}from"elsewhere";', encoding="utf-8")
    shelf = vendoring.Shelf(tmp_path / "vendor", {"htm.js": "htm.mjs"})
    with pytest.raises(vendoring.VendoringError, match=r"htm\.js imports 'elsewhere'"):
        shelf.fill(tmp_path, vendoring.stamp())


@pytest.mark.parametrize(("npm", "asked"), [(True, False), (False, True)])
def test_node_is_asked_for_only_where_there_is_none(
    vendoring: ModuleType,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    npm: bool,  # noqa: FBT001 (a column of the table above)
    asked: bool,  # noqa: FBT001
) -> None:
    monkeypatch.setattr(vendoring, "_has_npm", lambda: npm)
    hook = vendoring.VendorHook(str(tmp_path), {}, None, None, "", "wheel")
    assert bool(hook.dependencies()) is asked


def test_node_is_not_asked_for_again_once_the_libraries_are_there(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    vendoring = _hook(HOOK)
    monkeypatch.setattr(vendoring, "_has_npm", lambda: False)
    assert vendoring.VendorHook(str(ROOT), {}, None, None, "", "wheel").dependencies() == []
