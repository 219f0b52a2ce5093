"""Notebooks on a dask cluster: the same bytes, lost workers made good, other versions refused."""

from __future__ import annotations

import os
import signal
import warnings
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from kit.runs.batch import run_batch
from kit.runs.errors import RunError
from kit.runs.made_by import present_versions
from kit.runs.outputs.store import files_below
from kit.runs.workers import cluster as cluster_module
from kit.runs.workers.cluster import Cluster, environment, run_checked
from kit.runs.workers.jobs import Job
from tests.small_unit import small_unit

__all__ = ["small_unit"]  # a fixture

distributed = pytest.importorskip("distributed")


@pytest.fixture(scope="module")
def machines() -> Iterator[Any]:
    """Two worker processes of one thread each, on this machine."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        with distributed.LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None) as made:
            yield made


def contents(folder: Path) -> dict[str, bytes]:
    return {name: (folder / name).read_bytes() for name in files_below(folder)}


def worker_pids(machines: Any) -> list[int]:
    return [worker.pid for worker in machines.workers.values()]


@pytest.mark.long
@pytest.mark.filterwarnings("default")
def test_a_batch_on_a_cluster_gives_the_bytes_of_a_local_one_with_a_worker_killed_in_the_middle(
    small_unit: Path, tmp_path: Path, machines: Any
):
    killed: list[int] = []

    def kill_a_worker(_: object) -> None:
        if not killed:
            killed.append(worker_pids(machines)[0])
            os.kill(killed[0], signal.SIGKILL)

    on_cluster = run_batch(
        small_unit, tmp_path / "cluster", cluster=Cluster(machines.scheduler_address), progress=kill_a_worker
    )
    assert (len(killed), on_cluster.complete, len(on_cluster.ran)) == (1, True, 3)
    run_batch(small_unit, tmp_path / "local")
    assert contents(tmp_path / "cluster") == contents(tmp_path / "local")


@pytest.mark.long
@pytest.mark.filterwarnings("default")
def test_a_cluster_of_other_versions_is_refused_and_the_difference_named(machines: Any, monkeypatch):
    monkeypatch.setattr(cluster_module, "present_versions", lambda: {**present_versions(), "plotly": "0.0.1"})
    environment.cache_clear()
    try:
        with pytest.raises(RunError, match=r"other versions than here.*plotly \S+ \(here 0\.0\.1\)"):
            list(Cluster(machines.scheduler_address).run_jobs([]))
    finally:
        environment.cache_clear()


@pytest.mark.long
@pytest.mark.filterwarnings("default")
def test_workers_of_several_threads_are_refused(machines: Any, monkeypatch):
    """A notebook changes the working folder of its whole process."""
    told = distributed.Client.scheduler_info

    def threaded(self: Any, **settings: Any) -> Any:
        info = told(self, **settings)
        return {**info, "workers": {name: {**each, "nthreads": 4} for name, each in info["workers"].items()}}

    monkeypatch.setattr(distributed.Client, "scheduler_info", threaded)
    with pytest.raises(RunError, match=r"more than one thread.*--nthreads 1"):
        list(Cluster(machines.scheduler_address).run_jobs([]))


def test_a_worker_that_joins_late_with_other_versions_runs_nothing():
    job = Job("A", b"{}", "inputs/u", 10)
    with pytest.raises(cluster_module.OtherVersionError, match="pandas"):
        run_checked(job, {**environment(), "pandas": "0.1"})


@pytest.mark.filterwarnings("default")
def test_an_address_where_no_scheduler_answers_is_said(monkeypatch):
    monkeypatch.setattr(cluster_module, "_ANSWER_S", 1)
    with pytest.raises(RunError, match="no scheduler can be used there"):
        list(Cluster("tcp://127.0.0.1:9").run_jobs([]))


def test_a_tls_address_without_any_tls_files_is_refused_at_once() -> None:
    with pytest.raises(RunError, match=r"^tls://127.0.0.1:9: TLS needs --cluster-tls-ca, "):
        list(Cluster("tls://127.0.0.1:9").run_jobs([]))


def test_tls_needs_all_three_files(tmp_path: Path):
    (tmp_path / "ca.pem").touch()
    with pytest.raises(RunError, match="TLS needs three files"):
        list(Cluster("tls://127.0.0.1:9", tls_ca=tmp_path / "ca.pem").run_jobs([]))
