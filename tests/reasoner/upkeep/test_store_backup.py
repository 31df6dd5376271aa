"""A store in one file: whole, verified, and refused when it is not."""

from __future__ import annotations

import json
import zipfile
from pathlib import Path

import pytest
from knockon.reasoner.upkeep.backup import BackupRefused, back_up, restore, verify
from knockon.reasoner.upkeep.opening import StoreError
from knockon.reasoner.upkeep.store import reading, writing

from .edits import NOON, edit, store_of


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    folder = store_of(tmp_path / "shop")
    with writing(folder) as store:
        store.accept(edit(store.version, "end:spline ko:teeth 28 .", "end:spline ko:teeth 27 ."))
        store.accept(edit(store.version, "end:spline ko:pressureAngle 30.0 ."))
        store.undo("1", "Bob", NOON, "a chalk mark was counted")
    return folder


def _backed_up(shop: Path) -> Path:
    file = shop.parent / "shop.backup"
    with reading(shop) as store:
        back_up(store, file)
    return file


def test_a_restored_store_has_the_facts_the_history_and_the_undo_of_the_first(
    shop: Path, tmp_path: Path
) -> None:
    file = _backed_up(shop)
    version = restore(file, tmp_path / "again")
    with reading(shop) as old, writing(tmp_path / "again") as new:
        assert new.version == old.version == version
        assert new.beginning == old.beginning
        assert new.history() == old.history()
        assert frozenset(new.quads()) == frozenset(old.quads())
        assert [new.change(e) for e in new.history()] == [old.change(e) for e in old.history()]
        assert new.undo("2", "Cy", NOON, "wrong end").after == old.beginning.version


def test_the_same_store_gives_the_same_bytes(shop: Path, tmp_path: Path) -> None:
    file = _backed_up(shop)
    restore(file, tmp_path / "again")
    with reading(tmp_path / "again") as store:
        back_up(store, tmp_path / "second.backup")
    assert (tmp_path / "second.backup").read_bytes() == file.read_bytes()
    assert verify(file)[1] == 3


@pytest.mark.parametrize("at", [0.1, 0.3, 0.5, 0.7, 0.9])
def test_a_damaged_backup_is_refused_and_nothing_is_made(
    shop: Path, tmp_path: Path, at: float
) -> None:
    file = _backed_up(shop)
    data = bytearray(file.read_bytes())
    data[int(len(data) * at)] ^= 0xFF
    file.write_bytes(data)
    with pytest.raises(BackupRefused):
        restore(file, tmp_path / "again")
    assert not (tmp_path / "again").exists()


def test_half_a_backup_is_refused(shop: Path, tmp_path: Path) -> None:
    file = _backed_up(shop)
    file.write_bytes(file.read_bytes()[:-200])
    with pytest.raises(BackupRefused, match="damaged"):
        restore(file, tmp_path / "again")
    with pytest.raises(BackupRefused, match="No such file"):
        restore(tmp_path / "nothing", tmp_path / "again")


def _altered(file: Path, name: str, old: str, new: str, reseal: bool) -> None:
    from hashlib import sha256

    with zipfile.ZipFile(file) as archive:
        texts = {n: archive.read(n).decode() for n in archive.namelist()}
    assert old in texts[name]
    texts[name] = texts[name].replace(old, new)
    if reseal:
        manifest = json.loads(texts["manifest.json"])
        manifest["sha256"][name] = sha256(texts[name].encode()).hexdigest()
        texts["manifest.json"] = json.dumps(manifest)
    with zipfile.ZipFile(file, "w") as archive:
        for each, text in texts.items():
            archive.writestr(each, text)


@pytest.mark.parametrize(
    ("name", "old", "new", "reseal", "what"),
    [
        ("statements.nq", '"27"', '"26"', False, "not what was written"),
        ("statements.nq", '"27"', '"26"', True, "not those of its version"),
        ("history.jsonl", '\\"30.0', '\\"20.0', True, "does not lead to its facts"),
        ("manifest.json", "knockon backup", "something else", False, "another knockon"),
        ("manifest.json", '"begun"', '"ended"', False, "manifest cannot be read"),
    ],
)
def test_an_altered_backup_is_refused(
    shop: Path, tmp_path: Path, name: str, old: str, new: str, reseal: bool, what: str
) -> None:
    file = _backed_up(shop)
    _altered(file, name, old, new, reseal)
    with pytest.raises(BackupRefused, match=what):
        restore(file, tmp_path / "again")


def test_another_zip_is_no_backup(tmp_path: Path) -> None:
    with zipfile.ZipFile(tmp_path / "x.zip", "w") as archive:
        archive.writestr("../../statements.nq", "")
    with pytest.raises(BackupRefused, match="no backup"):
        restore(tmp_path / "x.zip", tmp_path / "again")


def test_a_backup_is_not_restored_over_a_store(shop: Path) -> None:
    file = _backed_up(shop)
    with pytest.raises(StoreError, match="something here already"):
        restore(file, shop)
