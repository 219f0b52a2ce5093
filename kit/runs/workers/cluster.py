"""Notebooks on other machines: a dask cluster behind the same function, bytes in and bytes out."""

from __future__ import annotations

import contextlib
from collections.abc import Generator, Iterable, Iterator, Mapping
from concurrent.futures import CancelledError, Executor
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, Final

from kit.runs.errors import RunError
from kit.runs.made_by import kit_fingerprint, present_versions
from kit.runs.notebook.execute import LOST, TagRun, failed_run
from kit.runs.workers.jobs import Job, outcome_of, run_job, run_until_lost

_SOURCES: Final = "strokebook's sources"
_ANSWER_S: Final = 30


class OtherVersionError(RuntimeError):
    """A worker that joined later has other versions than the driver."""


@dataclass(frozen=True, slots=True)
class Cluster:
    """Where a cluster's scheduler is, and the files that TLS needs (None: as dask is configured)."""

    address: str
    tls_ca: Path | None = None
    tls_cert: Path | None = None
    tls_key: Path | None = None

    def run_jobs(self, jobs: Iterable[Job]) -> Generator[tuple[Job, TagRun], None, None]:
        """Run every job on the cluster's workers, as they finish. Never more than two a worker are in flight.

        A job whose worker is lost is run again elsewhere, by the cluster; one that loses several is
        run once more, alone, at the end, before it is reported.

        Raises
        ------
        RunError
            If the cluster cannot be reached or used, is lost, or has other versions than this process.
        """
        with self._client() as client:
            _check(client)
            try:
                yield from _run(client, jobs)
            except CancelledError as error:
                raise RunError(
                    f"{self.address}: the cluster was lost. What was done stands; run the same command again."
                ) from error

    @contextlib.contextmanager
    def _client(self) -> Iterator[Any]:
        try:
            from distributed import Client

            connect: Any = Client
        except ImportError as error:
            raise RunError("--cluster needs dask. Install it with: pip install 'strokebook[cluster]'") from error
        security = self._security()
        try:
            client = connect(self.address, security=security, timeout=_ANSWER_S, set_as_default=False)
        except (OSError, ValueError, TypeError, RuntimeError) as error:
            raise RunError(
                f"{self.address}: no scheduler can be used there ({type(error).__name__}: {error}). "
                "Start it, correct --cluster, or give the files of its TLS with --cluster-tls-ca, -cert and -key."
            ) from error
        with client:
            yield client

    def _security(self) -> Any:
        from distributed import Security

        security: Any = Security
        given = {"tls_ca_file": self.tls_ca, "tls_client_cert": self.tls_cert, "tls_client_key": self.tls_key}
        if not any(given.values()):
            configured = security()  # by dask's own files, if at all
            if self.address.startswith("tls:") and configured.get_connection_args("client")["ssl_context"] is None:
                raise RunError(
                    f"{self.address}: TLS needs --cluster-tls-ca, --cluster-tls-cert and --cluster-tls-key, "
                    "or dask's own configuration (distributed.comm.tls)."
                )
            return configured
        missing = [name for name, path in given.items() if path is None or not path.is_file()]
        if missing:
            raise RunError(
                "TLS needs three files that are there: --cluster-tls-ca, --cluster-tls-cert, --cluster-tls-key."
            )
        return security(require_encryption=True, **{name: str(path) for name, path in given.items()})


@cache
def environment() -> dict[str, str]:
    """What must be the same everywhere, so that the pages are. The notebook comes with each job."""
    return {**present_versions(), _SOURCES: kit_fingerprint()[:12]}


def run_checked(job: Job, wanted: Mapping[str, str]) -> TagRun:
    """One job on a worker that has the driver's versions: one that joined late is refused.

    Raises
    ------
    OtherVersionError
        If it has others.
    """
    if environment() != wanted:
        raise OtherVersionError(_differences("a worker", environment(), wanted))
    return run_job(job)


def _run(client: Any, jobs: Iterable[Job]) -> Iterator[tuple[Job, TagRun]]:
    from distributed.scheduler import KilledWorker

    executor: Executor = client.get_executor(pure=False)

    def submit(job: Job) -> Any:
        return executor.submit(run_checked, job, environment())

    waiting = iter(jobs)
    suspects: list[Job] = []
    while True:
        window = 2 * max(1, len(client.scheduler_info(n_workers=-1)["workers"]))
        lost = yield from run_until_lost(submit, waiting, window, KilledWorker)
        if not lost:
            break
        suspects += lost
    for job in suspects:
        future = submit(job)
        killed = isinstance(future.exception(), KilledWorker)
        yield job, failed_run(job.tag, LOST) if killed else outcome_of(job, future)


def _check(client: Any) -> None:
    """Refuse a cluster without workers, with several threads a worker, or with other versions."""
    workers = client.scheduler_info(n_workers=-1)["workers"]
    if not workers:
        raise RunError("The cluster has no worker. Start one: dask worker ADDRESS --nthreads 1")
    threaded = sorted(address for address, worker in workers.items() if worker["nthreads"] != 1)
    if threaded:
        raise RunError(
            f"{threaded[0]}: has more than one thread, and a notebook needs a process of its own. "
            "Start every worker with: dask worker ADDRESS --nthreads 1"
        )
    answers = dict(client.run(environment, on_error="return"))
    try:
        answers["the scheduler"] = client.run_on_scheduler(environment)
    except Exception as error:  # whatever it is that it lacks
        answers["the scheduler"] = error
    for place, answer in answers.items():
        if isinstance(answer, BaseException):
            raise RunError(
                f"{place}: cannot run strokebook ({type(answer).__name__}: {answer}). "
                "Install there what this machine has: the same strokebook with the same constraints.txt."
            ) from answer
        if answer != environment():
            raise RunError(_differences(place, answer, environment()))


def _differences(place: str, found: Mapping[str, str], wanted: Mapping[str, str]) -> str:
    listed = ", ".join(
        f"{name} {found.get(name, 'missing')} (here {version})"
        for name, version in wanted.items()
        if found.get(name) != version
    )
    return f"{place}: other versions than here, so its pages would differ: {listed}. Install the same ones there."
