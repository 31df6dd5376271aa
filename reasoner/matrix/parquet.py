"""The rows of a matrix as Parquet: the same rows give the same bytes, whoever writes them.

pyarrow comes with the extra `matrix`; it is imported when something is written or read.
"""

from __future__ import annotations

import io
import os
from collections import Counter
from collections.abc import Iterable, Sequence
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Final

from ..cache_files import written_whole
from .chunks import Chunk
from .rows import COLUMNS, Row

if TYPE_CHECKING:
    import pyarrow as pa
    import pyarrow.parquet as pq

NEEDED: Final = 'The matrix is written as Parquet by pyarrow: pip install "knockon[matrix]"'
_WORDS: Final = ("car", "car_name", "station", "station_name", "verdict", "proven_verdict")
_COUNTS: Final = ("changes", "proven_changes")


def can_write() -> bool:
    """Whether pyarrow is there."""
    return find_spec("pyarrow") is not None


def schema_of(catalogue: str) -> pa.Schema:
    """The columns, each with what it says; the version of the catalogue is in the metadata."""
    import pyarrow as pa

    def type_of(name: str) -> pa.DataType:
        if name in _WORDS:
            return pa.dictionary(pa.int32(), pa.string())
        if name in _COUNTS:
            return pa.int16()
        return pa.list_(pa.string()) if name == "stations" else pa.string()

    nullable = {*_COUNTS, "stations"}
    fields = [
        pa.field(name, type_of(name), name in nullable, {"says": says}) for name, says in COLUMNS
    ]
    return pa.schema(fields, {"knockon": "fitment matrix 1", "catalogue": catalogue})


def packed(rows: Iterable[Row], catalogue: str) -> bytes:
    """A chunk's file."""
    import pyarrow as pa

    schema = schema_of(catalogue)
    columns = list(zip(*rows, strict=True)) or [()] * len(schema)
    arrays = [pa.array(values, field.type) for values, field in zip(columns, schema, strict=True)]
    table = pa.Table.from_arrays(arrays, schema=schema)
    out = io.BytesIO()
    with _writer(out, schema) as writer:
        writer.write_table(table, row_group_size=max(1, table.num_rows))
    return out.getvalue()


def is_whole(path: Path, chunk: Chunk, catalogue: str) -> bool:
    """Whether a file is that of a chunk, as far as can be seen without reading all of it."""
    import pyarrow as pa
    import pyarrow.parquet as pq

    try:
        with pq.ParquetFile(path) as file:
            told = file.schema_arrow.metadata or {}
            return (
                file.metadata.num_rows == chunk.cells
                and told.get(b"catalogue") == catalogue.encode()
            )
    except (OSError, pa.ArrowException):
        return False


def join(files: Sequence[Path], path: Path, catalogue: str) -> None:
    """Put chunks together in one file, a row group each, in the order of `files`."""
    import pyarrow.parquet as pq

    schema = schema_of(catalogue)
    with written_whole(path) as part, _writer(part, schema) as writer:
        for file in files:
            table = pq.read_table(file, schema=schema)
            writer.write_table(table, row_group_size=max(1, table.num_rows))
    path.chmod(0o666 & ~_umask())


def counted(path: Path) -> Counter[tuple[str, str]]:
    """How often each pair of verdicts is in a matrix, kindly and strictly read."""
    import pyarrow.parquet as pq

    found: Counter[tuple[str, str]] = Counter()
    with pq.ParquetFile(path) as file:
        for at in range(file.num_row_groups):
            table = file.read_row_group(at, columns=["verdict", "proven_verdict"])
            table = table.group_by(["verdict", "proven_verdict"]).aggregate([([], "count_all")])
            for row in table.to_pylist():
                found[row["verdict"], row["proven_verdict"]] += row["count_all"]
    return found


def _umask() -> int:
    """What the user lets others do with his files: the matrix is no secret of a cache's."""
    mask = os.umask(0o022)
    os.umask(mask)
    return mask


def _writer(where: Path | io.BytesIO, schema: pa.Schema) -> pq.ParquetWriter:
    import pyarrow.parquet as pq

    # Everything that could differ from one release or machine to the next is said.
    return pq.ParquetWriter(
        where, schema, version="2.6", compression="zstd", compression_level=3,
        use_dictionary=True, data_page_version="1.0", write_statistics=True,
    )  # fmt: skip
