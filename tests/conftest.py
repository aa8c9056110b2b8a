"""What all tests share: kernels compiled once, how many examples are generated, and no network."""

import ipaddress
import os
import socket

import numba
import pytest
from filelock import FileLock
from hypothesis import HealthCheck, settings

import sim1d
from sim1d._jit import CACHE

# The first example of a test may compile a kernel, so no example has a deadline. `ci` draws the same examples every
# time; `python -m pytest --hypothesis-profile=thorough` draws new ones and many more.
NO_CLOCK = {"deadline": None, "suppress_health_check": [HealthCheck.too_slow]}
settings.register_profile("ci", max_examples=50, derandomize=True, **NO_CLOCK)
settings.register_profile("thorough", max_examples=1000, **NO_CLOCK)
settings.load_profile("ci")


@pytest.fixture(scope="session", autouse=True)
def compiled_kernels():
    """Under pytest-xdist one worker compiles the kernels while the others wait: two writers could spoil the cache."""
    if "PYTEST_XDIST_WORKER" not in os.environ or numba.config.DISABLE_JIT:
        return
    with FileLock(CACHE / "tests.lock"):
        sim1d.warm_up()


def is_local(address) -> bool:
    """A unix socket, or an address of this machine."""
    if not isinstance(address, tuple):
        return True
    try:
        return ipaddress.ip_address(address[0]).is_loopback or address[0] in own_addresses()
    except ValueError:
        return address[0] in ("localhost", "")


def own_addresses() -> set[str]:
    """Addresses that the name of this machine stands for: a scheduler started by a test listens on one of them."""
    try:
        return {entry[4][0] for entry in socket.getaddrinfo(socket.gethostname(), None)}
    except OSError:
        return set()


@pytest.fixture(scope="session", autouse=True)
def no_network():
    """A test that reaches for another machine fails. (A datagram socket may "connect": that sends nothing.)"""
    patch = pytest.MonkeyPatch()

    def guard(name):
        original = getattr(socket.socket, name)

        def local_only(self, address, *rest):
            if self.type & socket.SOCK_STREAM == socket.SOCK_STREAM and not is_local(address):
                raise AssertionError(f"a test tried to reach {address[0]}: tests use no network")
            return original(self, address, *rest)

        patch.setattr(socket.socket, name, local_only)

    guard("connect")
    guard("connect_ex")
    yield
    patch.undo()
