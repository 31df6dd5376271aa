"""A folder that is filled with a matrix, chunk by chunk, and goes on where a run before it stopped.

`matrix.json` says what the folder is for; it is written first and never changed. Each chunk is
written whole to `chunks/`; when all are there they are put together as `matrix.parquet`, which is
there once everything is.
"""

from __future__ import annotations

import json
import shutil
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Final

from ..cache_files import written_whole
from .chunks import Chunk, Cut
from .errors import MatrixRefused
from .parquet import is_whole, join
from .running import Engine
from .working import Place

PLAN: Final = "matrix.json"
RESULT: Final = "matrix.parquet"
_CHUNKS: Final = "chunks"
_LOCK: Final = ".lock"


class Folder:
    """The folder of one matrix. Raises MatrixRefused if it is that of another."""

    def __init__(self, path: Path, cut: Cut) -> None:
        self.path, self.cut = path, cut
        try:
            known = (path / PLAN).read_text(encoding="utf-8")
        except FileNotFoundError:
            known = ""
            if path.exists() and any(not _is_left_over(each) for each in path.iterdir()):
                raise MatrixRefused(
                    f"{path} holds something else: name an empty folder, or one that is not there."
                ) from None
        if known and known != cut.as_json():
            raise MatrixRefused(_other(path, known, cut))
        if not known:
            path.mkdir(parents=True, exist_ok=True)
            with written_whole(path / PLAN) as part:
                part.write_text(cut.as_json(), encoding="utf-8")

    @property
    def result(self) -> Path:
        """Where the matrix is, or will be."""
        return self.path / RESULT

    def missing(self) -> tuple[Chunk, ...]:
        """The chunks that are still to be worked out."""
        if self.result.exists():
            return ()
        version = self.cut.catalogue
        return tuple(c for c in self.cut.chunks if not is_whole(self._file(c), c, version))

    def fill(
        self, place: Place, engine: Engine, missing: Sequence[Chunk], done: Callable[[Chunk], None]
    ) -> None:
        """Work out what is missing, and put all together. `done` is told each chunk."""
        for chunk, content in engine.run(place, missing) if missing else ():
            with written_whole(self._file(chunk)) as part:
                part.write_bytes(content)
            done(chunk)
        if not self.result.exists():
            files = [self._file(chunk) for chunk in self.cut.chunks]
            join(files, self.result, self.cut.catalogue)
        shutil.rmtree(self.path / _CHUNKS, ignore_errors=True)
        for path in self.path.glob("*.part"):
            path.unlink(missing_ok=True)

    @contextmanager
    def alone(self) -> Iterator[None]:
        """Hold off other runs in the same folder. Raises MatrixRefused if there is one."""
        with (self.path / _LOCK).open("ab") as handle:
            if sys.platform != "win32":
                import fcntl

                try:  # let go of when the file is closed, also by a run that is killed
                    fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
                except OSError:
                    raise MatrixRefused(f"Another run is at work in {self.path}.") from None
            yield

    def _file(self, chunk: Chunk) -> Path:
        return self.path / _CHUNKS / f"{chunk.name}.parquet"


def _is_left_over(path: Path) -> bool:
    """Whether a file was left by a run that was killed while it wrote it."""
    return path.suffix == ".part" or path.name == _LOCK


def _other(path: Path, known: str, cut: Cut) -> str:
    try:
        told = json.loads(known)
        version, code = str(told["catalogue"]), str(told["code"])
    except (ValueError, KeyError, TypeError):
        return f"{path / PLAN} is damaged: name another folder with --out, or remove this one."
    if version != cut.catalogue:
        why = f"the catalogue's version {version[:12]}; now it is {cut.catalogue[:12]}"
    elif code != cut.code:
        why = "another version of knockon"
    else:
        why = "other cars or stations"
    return (
        f"{path} holds a matrix of {why}. It is left as it is: name another folder with --out, "
        "or remove this one first."
    )
