"""Every write to the store fails in turn, once or for good, and every sync. Takes minutes, needs a C compiler."""

import shutil
import subprocess
import sys

import pytest

from evener.ingest.store import batches
from evener.schema.store import connection as store

# Stands before the system's own calls and lets the N-th on a file of the store fail.
SHIM = r"""
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>
static int count;
static int fails(int fd, const char *call) {
  const char *wanted = getenv("FAIL_CALL"), *at = getenv("FAIL_AT");
  char link[64], path[4096];
  if (!wanted || !at || strcmp(wanted, call)) return 0;
  snprintf(link, sizeof link, "/proc/self/fd/%d", fd);
  ssize_t length = readlink(link, path, sizeof path - 1);
  if (length < 0) return 0;
  path[length] = 0;
  if (!strstr(path, "own.duckdb") || strstr(path, ".previous")) return 0;
  count++;
  return getenv("FAIL_ONCE") ? count == atoi(at) : count >= atoi(at);
}
ssize_t pwrite(int fd, const void *b, size_t n, off_t o) {
  if (fails(fd, "write")) { errno = ENOSPC; return -1; }
  return ((ssize_t(*)(int, const void *, size_t, off_t))dlsym(RTLD_NEXT, "pwrite"))(fd, b, n, o);
}
ssize_t pwrite64(int fd, const void *b, size_t n, off_t o) {
  if (fails(fd, "write")) { errno = ENOSPC; return -1; }
  return ((ssize_t(*)(int, const void *, size_t, off_t))dlsym(RTLD_NEXT, "pwrite64"))(fd, b, n, o);
}
ssize_t write(int fd, const void *b, size_t n) {
  if (fails(fd, "write")) { errno = ENOSPC; return -1; }
  return ((ssize_t(*)(int, const void *, size_t))dlsym(RTLD_NEXT, "write"))(fd, b, n);
}
int fsync(int fd) {
  if (fails(fd, "sync")) { errno = EIO; return -1; }
  return ((int(*)(int))dlsym(RTLD_NEXT, "fsync"))(fd);
}
int fdatasync(int fd) {
  if (fails(fd, "sync")) { errno = EIO; return -1; }
  return ((int(*)(int))dlsym(RTLD_NEXT, "fdatasync"))(fd);
}
"""
ROWS = 300


@pytest.fixture(scope="module")
def shim(tmp_path_factory):
    """The library that makes calls fail, built for this machine."""
    compiler = shutil.which("cc")
    if compiler is None or not sys.platform.startswith("linux"):
        pytest.skip("needs Linux and a C compiler")
    folder = tmp_path_factory.mktemp("shim")
    (folder / "shim.c").write_text(SHIM)
    command = [compiler, "-shared", "-fPIC", "-O1", "-o", "shim.so", "shim.c", "-ldl"]
    subprocess.run(command, cwd=folder, check=True)
    return folder / "shim.so"


@pytest.mark.slow
@pytest.mark.parametrize("call", ["write", "sync"])
@pytest.mark.parametrize("once", [True, False])
def test_every_write_and_sync_fails(library_store, tmp_path, shim, call, once):
    """Whichever call fails: status 3 and one line, all of the ingest or none, and it is complete when run again."""
    lines = [f"S{place},Utility {place},{60 + place % 40},{5900 + place % 1999}" for place in range(ROWS)]
    (tmp_path / "list.csv").write_text("\n".join(["id,label,engine (hp),weight (lb)", *lines]) + "\n")
    command = [sys.executable, "-m", "evener.cli.main", "ingest", "list.csv", "--as", "tractors", "--kind", "stock"]
    path = tmp_path / "own.duckdb"
    failed = 0
    for at in range(1, 400):
        for old in tmp_path.glob("own.duckdb*"):
            old.unlink()
        shutil.copy(library_store, path)
        environment = {"PATH": "/usr/bin", "LD_PRELOAD": str(shim), "FAIL_CALL": call, "FAIL_AT": str(at)}
        environment |= {"FAIL_ONCE": "1"} if once else {}
        done = subprocess.run(
            [*command, "--store", "own.duckdb"],
            cwd=tmp_path,
            env=environment,
            capture_output=True,
            text=True,
            check=False,
        )
        if done.returncode == 0:
            break
        failed += 1
        assert done.returncode == 3, (at, done.stderr[-2000:])
        assert done.stderr.count("\n") == 1, (at, done.stderr)
        with store.open_read(path) as con:
            ((stock,),) = con.execute("SELECT count(*) FROM tractor WHERE kind = 'stock'").fetchall()
        assert stock in (0, ROWS), at
        report = batches.ingest_file(path, tmp_path / "list.csv", kind="stock")
        assert report.loaded + report.unchanged == ROWS
    assert failed > 1
