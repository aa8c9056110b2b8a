"""A process that has the libraries loaded and runs tests in forks of itself: loading takes longer than most tests.

`python -m tests.verification_mutations.served` reads requests from its standard input and answers on its standard
output, a line of JSON each. It never imports the project: every fork does, with the mistake of the moment in it.
"""

import json
import os
import signal
import sys
import tempfile
import time
from dataclasses import asdict, dataclass
from importlib import import_module

import pytest

LIBRARIES = (
    "numpy", "numba", "scipy.integrate", "scipy.interpolate", "scipy.optimize", "CoolProp.CoolProp", "fluids", "ht",
    "hypothesis", "pydantic", "pint", "tomlkit", "xarray",
)  # fmt: skip
BREATH = 0.01  # s between two looks whether a fork has ended


@dataclass(frozen=True)
class Request:
    """Arguments of pytest, what the environment must say besides, and how long to wait (s)."""

    arguments: list[str]
    environment: dict[str, str]
    patience: float


@dataclass(frozen=True)
class Answer:
    """Exit code of pytest, negative when there was none in time; and what it printed."""

    code: int
    said: str


def answer(request: Request) -> Answer:
    """Run pytest in a fork."""
    with tempfile.TemporaryFile() as said:
        child = os.fork()
        if child == 0:
            fork(request, said.fileno())
        code = ended(child, request.patience)
        said.seek(0)
        return Answer(code, said.read().decode("utf-8", "replace"))


def fork(request: Request, out: int) -> None:
    """What the fork does; it ends here."""
    code = int(pytest.ExitCode.INTERNAL_ERROR)
    try:
        os.setsid()  # so that it can be ended with all that its tests have started
        os.dup2(os.open(os.devnull, os.O_RDONLY), 0)
        os.dup2(out, 1)
        os.dup2(out, 2)
        os.environ.update(request.environment)
        code = int(pytest.main(request.arguments))
        sys.stdout.flush()
        sys.stderr.flush()
    finally:
        os._exit(code)


def ended(child: int, patience: float) -> int:
    """Exit code of a fork; negative when it had to be ended after `patience` seconds or ended by a signal."""
    until = time.monotonic() + patience
    while time.monotonic() < until:
        found, status = os.waitpid(child, os.WNOHANG)
        if found:
            return os.waitstatus_to_exitcode(status)
        time.sleep(BREATH)
    os.killpg(child, signal.SIGKILL)
    os.waitpid(child, 0)
    return -signal.SIGKILL


def main() -> None:
    """Answer until the input ends."""
    for name in LIBRARIES:
        import_module(name)
    assert "sim1d" not in sys.modules, "a fork would not import the project with the mistake in it"
    for line in sys.stdin:
        print(json.dumps(asdict(answer(Request(**json.loads(line))))), flush=True)


if __name__ == "__main__":
    main()
