"""A running cluster gives the same file as processes of one machine."""

from __future__ import annotations

from pathlib import Path

import pytest
from knockon.reasoner.catalogue import Catalogue
from knockon.reasoner.matrix.chunks import cut
from knockon.reasoner.matrix.errors import MatrixRefused
from knockon.reasoner.matrix.filling import Folder
from knockon.reasoner.matrix.parquet import packed
from knockon.reasoner.matrix.rows import Reckoner
from knockon.reasoner.matrix.running import Cluster
from knockon.reasoner.matrix.working import Place

HUB = "https://knockon.example/station/rear-hub"

pytestmark = pytest.mark.filterwarnings("default")


def test_a_cluster_works_out_every_chunk_and_the_bytes_are_those_of_this_process(
    demo: Catalogue, tmp_path: Path
) -> None:
    from distributed import LocalCluster

    few = cut(demo, tuple(demo.cars)[:3], (HUB,))
    folder, place = Folder(tmp_path / "m", few), Place(None, few.catalogue, few.code)
    reckoner = Reckoner(demo)
    with LocalCluster(  # type: ignore[no-untyped-call]
        n_workers=1, threads_per_worker=2, processes=False, dashboard_address=None,
        protocol="tcp", host="127.0.0.1",
    ) as cluster:  # fmt: skip
        found = dict(Cluster(cluster.scheduler_address).run(place, few.chunks))
    assert found == {c: packed(reckoner.rows(c), few.catalogue) for c in few.chunks}
    assert folder.missing() == few.chunks


def test_where_no_cluster_answers_it_is_said_where(demo: Catalogue) -> None:
    few = cut(demo, tuple(demo.cars)[:1], (HUB,))
    with pytest.raises(MatrixRefused, match="No cluster answers at nowhere"):
        list(Cluster("nowhere").run(Place(None, few.catalogue, few.code), few.chunks))
