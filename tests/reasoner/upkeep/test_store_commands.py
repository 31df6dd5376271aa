"""Keeping a store from the command line: what is said, and how it ends."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from knockon.query.command import main
from knockon.reasoner import load
from knockon.reasoner.errors import CatalogueRefused, Fault
from knockon.reasoner.upkeep import accepting
from knockon.reasoner.upkeep.store import stated_in, writing

from .edits import PREFIXES, bench, edit, facts, store_of


def run(*words: str | Path, code: int = 0) -> Result:
    """Run `knockon …` and look how it ends."""
    found = CliRunner().invoke(main, [str(word) for word in words], env={"KNOCKON_WHO": "Ann"})
    assert found.exit_code == code, found.output
    return found


@pytest.fixture
def text(tmp_path: Path) -> Path:
    folder = tmp_path / "text"
    folder.mkdir()
    (folder / "mine.trig").write_text(
        f"{PREFIXES} src:bench {{ end:spline a ko:Spline ; ko:teeth 27 . }}"
    )
    return folder


@pytest.fixture
def shop(text: Path) -> Path:
    folder = text.parent / "shop"
    run("store", "init", folder, "--from", text)
    return folder


@pytest.fixture
def wider(tmp_path: Path) -> Path:
    file = tmp_path / "wider.ttl"
    file.write_text(f"{PREFIXES} end:spline ko:pressureAngle 30.0 .")
    return file


def accept(file: Path, folder: Path, *more: str | Path, code: int = 0) -> Result:
    """Accept a file of statements on the bench's word, unchecked."""
    said = ("--why", "bench day", "--source", "bench", "--unchecked")
    return run("edit", "accept", file, "--data", folder, *said, *more, code=code)


def test_a_day_with_a_store(shop: Path, wider: Path, tmp_path: Path) -> None:
    old = tmp_path / "old.ttl"
    old.write_text(f"{PREFIXES} end:spline ko:teeth 27 .")
    new = tmp_path / "new.ttl"
    new.write_text(f"{PREFIXES} end:spline ko:teeth 28 .")
    accept(wider, shop)
    assert "+1 −1" in accept(new, shop, "--taking-away", old).output
    lines = run("store", "history", "--data", shop).output.splitlines()
    assert [line.split()[0] for line in lines] == ["0", "1", "2"]
    assert "Ann: +1 −1  bench day" in lines[2]
    shown = run("store", "show", "2", "--data", shop).output
    assert shown.endswith(
        "- end:spline ko:teeth 27 (src:bench)\n+ end:spline ko:teeth 28 (src:bench)\n"
    )
    assert run("store", "diff", "now", "1", "--data", shop).output == (
        "- end:spline ko:teeth 28 (src:bench)\n+ end:spline ko:teeth 27 (src:bench)\n"
    )
    assert "change 3: +1 −1" in run("store", "undo", "2", "--data", shop).output
    assert "(taken back)" in run("store", "history", "--data", shop).output
    backup = tmp_path / "shop.backup"
    assert "3 edits" in run("store", "backup", backup, "--data", shop).output
    run("store", "restore", backup, tmp_path / "again")
    assert stated_in(tmp_path / "again") == stated_in(shop)
    run("store", "export", tmp_path / "out", "--data", shop)
    assert stated_in(tmp_path / "out") == stated_in(shop)
    assert "is format" in run("store", "upgrade", "--data", shop).output


def test_history_is_there_for_scripts_too(shop: Path, wider: Path) -> None:
    accept(wider, shop)
    (entry,) = run("store", "history", "--json", "--data", shop).output.splitlines()
    assert json.loads(entry)["why"] == "bench day"
    change = json.loads(run("store", "show", "1", "--json", "--data", shop).output)
    difference = json.loads(run("store", "diff", "0", "--json", "--data", shop).output)
    assert difference == {"added": change["added"], "removed": []}


def test_an_accepted_change_of_one_store_goes_into_another(
    shop: Path, text: Path, wider: Path, tmp_path: Path
) -> None:
    run("store", "init", tmp_path / "twin", "--from", text)
    accept(wider, shop)
    change = tmp_path / "change.json"
    change.write_text(run("store", "show", "1", "--json", "--data", shop).output)
    run("edit", "accept", change, "--unchecked", "--data", tmp_path / "twin")
    assert stated_in(tmp_path / "twin") == stated_in(shop)
    twice = run("edit", "accept", change, "--unchecked", "--data", shop, code=2)
    assert "accepted already, as number 1" in twice.output


def test_the_second_editor_is_told_both_versions_and_the_command_ends_with_no(
    shop: Path, tmp_path: Path
) -> None:
    base, _ = stated_in(shop)
    with writing(shop) as store:
        store.accept(edit(base, "end:spline ko:teeth 28 .", "end:spline ko:teeth 27 ."))
    file = tmp_path / "count.ttl"
    file.write_text(f"{PREFIXES} end:spline ko:teeth 30 .")
    said = accept(file, shop, "--base", "0", code=1).output
    assert "is now:  end:spline ko:teeth 28 (src:bench)" in said
    assert "you say: end:spline ko:teeth 30 (src:bench)" in said


def test_an_edit_with_which_nothing_could_be_served_is_not_accepted(
    shop: Path, wider: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    seen = []

    def refuse(version: str, files: tuple[object, ...], cache: object) -> None:
        seen.append(version)
        raise CatalogueRefused("no", (Fault("spline", "mine", "shape", "too steep"),))

    monkeypatch.setattr(accepting, "load_texts", refuse)
    before = stated_in(shop)
    words = ("edit", "accept", wider, "--why", "w", "--source", "bench", "--data", shop)
    said = run(*words, code=3).output
    assert "nothing was accepted" in said
    assert "too steep" in said
    assert stated_in(shop) == before
    assert len(seen) == 1


def test_an_edit_is_looked_at_again_if_another_was_quicker(
    shop: Path, wider: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    looks = []

    def look(version: str, files: tuple[object, ...], cache: object) -> None:
        looks.append(version)
        if len(looks) == 1:
            with writing(shop) as store:
                store.accept(edit(store.version, "end:spline ko:module 1.0 ."))

    monkeypatch.setattr(accepting, "load_texts", look)
    run("edit", "accept", wider, "--why", "w", "--source", "bench", "--data", shop)
    assert len(set(looks)) == 2
    assert stated_in(shop)[1] == bench(
        "end:spline a ko:Spline ; ko:teeth 27 ; ko:module 1.0 ; ko:pressureAngle 30.0 ."
    )


def test_a_text_folder_takes_an_edit_as_a_file_and_has_no_history_here(
    text: Path, wider: Path
) -> None:
    said = accept(wider, text).output
    assert "edits" in said
    assert stated_in(text)[1] == bench(
        "end:spline a ko:Spline ; ko:teeth 27 ; ko:pressureAngle 30.0 ."
    )
    assert "version control" in run("store", "history", "--data", text, code=2).output


@pytest.mark.parametrize(
    ("words", "code", "what"),
    [
        (("store", "show", "9", "--data", "SHOP"), 2, "nothing was accepted yet"),
        (("store", "diff", "9", "--data", "SHOP"), 2, "say a number from 0"),
        (("store", "init", "SHOP"), 3, "something here already"),
        (("store", "restore", "nowhere", "SHOP2"), 3, "No such file"),
        (("store", "history"), 2, "the demo is kept as text"),
        (("edit", "accept", "nowhere.json", "--data", "SHOP"), 2, "No such file"),
        (("edit", "accept", "x.ttl", "--data", "SHOP"), 2, "--why and --source"),
        (("edit", "accept", "x.json", "--why", "w", "--data", "SHOP"), 2, "says itself why"),
        (("edit", "accept", "x.json"), 2, "not edited"),
        (("store", "backup", "SHOP/lock/file", "--data", "SHOP"), 3, "lock"),
    ],
)
def test_what_cannot_be_done_is_said_in_words(
    shop: Path, words: tuple[str, ...], code: int, what: str
) -> None:
    given = [word.replace("SHOP", str(shop)) for word in words]
    said = run(*given, code=code).output
    assert what in said
    assert "Traceback" not in said


def test_a_catalogue_is_served_from_its_store(tmp_path: Path) -> None:
    source = """src:bench { src:bench a ko:Source ; ko:standing ko:Measured ;
        <http://www.w3.org/2004/02/skos/core#prefLabel> "bench" ;
        <http://www.w3.org/ns/prov#wasAttributedTo> <https://knockon.example/who/ann> . }"""
    shop = store_of(tmp_path / "shop", source)
    found = load.load_catalogue(shop, tmp_path / "cache")
    assert list(found.sources) == ["https://knockon.example/source/bench"]
    version, read = load.stated(shop)
    assert found.version == version
    with writing(shop) as store:
        store.accept(edit(store.version, "src:bench ko:note 'kept' ."))
    assert load.stated(shop)[0] != version
    assert read()[0] == load.stated(shop)[0]
    assert facts(source) < stated_in(shop)[1]
