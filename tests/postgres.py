"""A real PostgreSQL server of our own on loopback, for tests and experiments; nothing where no server is installed."""

from __future__ import annotations

import os
import shutil
import signal
import socket
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path


def programs() -> Path | None:
    """The folder of ``initdb`` and ``postgres``: on the search path, or where Debian keeps them."""
    found = shutil.which("initdb")
    if found and shutil.which("postgres"):
        return Path(found).parent
    known = sorted(Path("/usr/lib/postgresql").glob("*/bin/postgres"), key=lambda path: float(path.parent.parent.name))
    return known[-1].parent if known else None


MISSING = "no PostgreSQL server programs (initdb, postgres) on this machine"


@dataclass
class Server:
    """A running server: its port, and how its programs are run."""

    port: int
    folder: Path
    prefix: tuple[str, ...]
    process: subprocess.Popen[bytes]
    made: int = 0

    def database(self) -> str:
        """The address of a new, empty database."""
        import psycopg

        self.made += 1
        name = f"kitchen_{self.made}"
        with psycopg.connect(
            f"host=127.0.0.1 port={self.port} user=cook dbname=postgres", autocommit=True
        ) as connection:
            connection.execute(f"CREATE DATABASE {name}")
        return f"postgresql+psycopg://cook@127.0.0.1:{self.port}/{name}"

    def end_sessions(self) -> None:
        """Cut every connection, as a restarted server or a pulled cable would."""
        import psycopg

        with psycopg.connect(
            f"host=127.0.0.1 port={self.port} user=cook dbname=postgres", autocommit=True
        ) as connection:
            connection.execute(
                "SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE pid <> pg_backend_pid() AND usename = 'cook'"
            )


@contextmanager
def serve(*, durable: bool = False) -> Iterator[Server]:
    """Start a server on a free port of loopback and end it by its own process id; ``durable`` keeps its fsync on."""
    binaries = programs()
    assert binaries is not None, MISSING
    folder = Path(tempfile.mkdtemp(prefix="spoonline-pg-"))
    prefix: tuple[str, ...] = ()
    if os.geteuid() == 0:
        # The server refuses to run as root.
        import pwd

        user = "postgres" if any(each.pw_name == "postgres" for each in pwd.getpwall()) else "nobody"
        shutil.chown(folder, user)
        prefix = ("setpriv", f"--reuid={user}", "--clear-groups", "--inh-caps=-all")
    with socket.socket() as held:
        held.bind(("127.0.0.1", 0))
        port = int(held.getsockname()[1])
    data = folder / "data"
    try:
        subprocess.run(
            [*prefix, str(binaries / "initdb"), "-D", str(data), "-U", "cook", "-A", "trust", "-E", "UTF8", "--locale=C", "--no-sync"],
            check=True, capture_output=True, cwd=folder, env={"PATH": os.environ["PATH"], "HOME": str(folder)},
        )  # fmt: skip
        options = [
            "-c",
            "listen_addresses=127.0.0.1",
            "-c",
            f"unix_socket_directories={folder}",
            "-c",
            "max_connections=60",
        ]
        options += [] if durable else ["-c", "fsync=off"]
        process = subprocess.Popen(
            [*prefix, str(binaries / "postgres"), "-D", str(data), "-p", str(port), *options],
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, cwd=folder, start_new_session=True,
        )  # fmt: skip
        try:
            for _ in range(200):
                try:
                    socket.create_connection(("127.0.0.1", port), timeout=0.2).close()
                    break
                except OSError:
                    time.sleep(0.05)
            else:
                raise RuntimeError("the PostgreSQL server did not answer")
            time.sleep(0.3)
            yield Server(port, folder, prefix, process)
        finally:
            process.send_signal(signal.SIGINT)  # ends now, also where a failed test left a session open
            process.wait(120)
    finally:
        shutil.rmtree(folder, ignore_errors=True)
