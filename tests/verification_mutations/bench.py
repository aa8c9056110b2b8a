"""A copy of the tree in which laws are broken, and the tests that are run on it."""

import json
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Iterable, Iterator
from compileall import compile_dir
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from pathlib import Path
from py_compile import PycInvalidationMode

import pytest

from .mutation import ROOT, Mutation, source
from .served import Answer, Request
from .suites import compiled, is_kernel, plain

LEFT_OUT = shutil.ignore_patterns("__pycache__", ".*", "*.egg-info", "build", "dist")
PATIENCE = 400.0  # s for one run of tests: three times what the slowest takes when nothing is broken
NO_ANSWER = f"no answer within {PATIENCE:.0f} s"
SERVER = "tests.verification_mutations.served"
FAILURE = re.compile(r"^(?:FAILED|ERROR) (\S.*?)(?: - .*)?$", re.M)


@dataclass(frozen=True)
class Verdict:
    """What the tests said of a mutation."""

    mutation: Mutation
    killer: str  # the test that failed; empty when all passed

    @property
    def killed(self) -> bool:
        """Whether a test failed."""
        return bool(self.killer)


class Bench:
    """A copy of the project in `folder`; every mistake is made there and taken back, the project itself stays."""

    def __init__(self, folder: Path):
        self.tree = folder / "tree"
        self.cache = folder / "cache"
        self.scratch = folder / "scratch"
        shutil.copytree(ROOT, self.tree, ignore=LEFT_OUT)
        self.scratch.mkdir(parents=True)
        # bytecode that goes by what its source says, not by when it was written: a mistake is never missed
        for part in ("sim1d", "tests/reference"):
            compile_dir(str(self.tree / part), quiet=2, invalidation_mode=PycInvalidationMode.CHECKED_HASH)
        self.servers: dict[bool, subprocess.Popen[str]] = {}

    def server(self, uncompiled: bool) -> "subprocess.Popen[str]":
        """The process that runs the tests, with or without the compiler."""
        if uncompiled not in self.servers:
            command = [sys.executable, "-B", "-m", SERVER]
            # no other bytecode is kept: it is told from its source by whole seconds, a mistake may last less than one
            environment = {**os.environ, "PYTHONPATH": str(self.tree), "PYTHONDONTWRITEBYTECODE": "1"}
            environment |= {"NUMBA_DISABLE_JIT": "1" if uncompiled else "0", "COLUMNS": "400"}
            environment |= {"PYTEST_DISABLE_PLUGIN_AUTOLOAD": "1"}  # the tests need none of them
            self.servers[uncompiled] = subprocess.Popen(
                command, cwd=self.tree, env=environment, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
            )
        return self.servers[uncompiled]

    def close(self) -> None:
        """End the processes that run the tests."""
        for server in self.servers.values():
            server.communicate()

    def failure(self, tests: Iterable[str], uncompiled: bool, cache: Path) -> str:
        """The first of `tests` that fails on the tree as it stands; empty when all pass."""
        arguments = ["-x", "-q", "-rfE", "-p", "no:cacheprovider", *tests]
        request = Request(arguments, {"SIM1D_CACHE": str(cache)}, PATIENCE)
        server = self.server(uncompiled)
        assert server.stdin and server.stdout
        server.stdin.write(json.dumps(asdict(request)) + "\n")
        server.stdin.flush()
        line = server.stdout.readline()
        if not line:
            raise RuntimeError(f"the process that runs the tests has ended: {' '.join(arguments)}")
        answer = Answer(**json.loads(line))
        if answer.code == pytest.ExitCode.OK:
            return ""
        if answer.code < 0:
            return NO_ANSWER
        found = FAILURE.findall(answer.said)
        if answer.code != pytest.ExitCode.TESTS_FAILED or not found:
            raise RuntimeError(f"the tests did not run: {' '.join(arguments)}\n{answer.said[-6000:]}")
        return found[0]

    def where_sim1d_comes_from(self) -> Path:
        """The file that the tests of the copy import: it must be the copy's own."""
        done = subprocess.run(
            [sys.executable, "-B", "-c", "import sim1d; print(sim1d.__file__)"], cwd=self.tree, capture_output=True,
            text=True, check=True, env={**os.environ, "PYTHONPATH": str(self.tree)},
        )  # fmt: skip
        return Path(done.stdout.strip())

    @contextmanager
    def broken(self, mutation: Mutation) -> Iterator[None]:
        """The tree with a mistake in it; afterwards the file is as it was, its time of change included."""
        file = self.tree / mutation.file
        text, stamp = source(file), file.stat()
        file.write_text(mutation.applied(self.tree), encoding="utf-8")
        try:
            yield
        finally:
            file.write_text(text, encoding="utf-8")
            # compiled kernels are told from their source by its time of change: the ones on disk stay good
            os.utime(file, ns=(stamp.st_atime_ns, stamp.st_mtime_ns))

    def seen(self, mutation: Mutation, uncompiled: bool) -> str:
        """Make the mistake, run its plain or its compiled tests until one fails, take it back: the test that failed."""
        own = self.scratch / "cache"  # of kernels with a mistake in them: good for this mutation alone
        cache = own if is_kernel(mutation) else self.cache
        suite = plain if uncompiled else compiled
        with self.broken(mutation):
            turns = (self.failure(tests, uncompiled, cache) for tests in suite(mutation) if tests)
            found = next(filter(None, turns), "")
        shutil.rmtree(own, ignore_errors=True)
        return found
