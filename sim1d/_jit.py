"""The one place that configures numba: `kernel` is the decorator of every compiled function.

numba's own cache does not notice a function edited in another file, so the cache folder is named by a hash of all
sources and of the compiler's version: an edit makes a new folder, and an unchanged tree finds the old one.
"""

import hashlib
import os
import platform
import tempfile
from importlib import metadata
from pathlib import Path

HERE = Path(__file__).parent


def source_hash() -> str:
    """Hash (hex, 16 digits) of every source file of sim1d and of the versions that shape the machine code."""
    return _digest(list(HERE.rglob("*.py")))


def _kernel_hash() -> str:
    """Hash of what the machine code is made of: physics, core and tables, and the processor that it is for."""
    files = [*(HERE / "physics").rglob("*.py"), *(HERE / "core").rglob("*.py"), HERE / "tables.py", Path(__file__)]
    return _digest(files, platform.processor())


def _digest(files: list[Path], *others: str) -> str:
    """Hash of names and contents of `files`, of the versions of compiler and python, and of `others`."""
    digest = hashlib.blake2b(digest_size=8)
    for file in sorted(files):
        digest.update(file.relative_to(HERE).as_posix().encode())
        digest.update(file.read_bytes())
    for name in ("numba", "llvmlite", "numpy"):
        digest.update(metadata.version(name).encode())
    for text in (platform.python_version(), *others):
        digest.update(text.encode())
    return digest.hexdigest()


def cache_folder() -> Path:
    """Folder of the compiled kernels; falls back to a temporary folder when the user's cache is not writable."""
    base = Path(os.environ.get("SIM1D_CACHE") or os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache") / "sim1d"
    for root in (base, Path(tempfile.gettempdir()) / f"sim1d-{os.getuid() if hasattr(os, 'getuid') else 'user'}"):
        folder = root / _kernel_hash()
        try:
            folder.mkdir(parents=True, exist_ok=True)
            probe = folder / f".probe-{os.getpid()}"
            probe.touch()
            probe.unlink()
            return folder
        except OSError:
            continue
    raise OSError("no folder can be written for the compiled kernels; set SIM1D_CACHE to one that can")


CACHE = cache_folder()
os.environ["NUMBA_CACHE_DIR"] = str(CACHE)

import numba  # noqa: E402  (after the cache folder is known)

numba.config.CACHE_DIR = str(CACHE)  # type: ignore[attr-defined]
# the loops are short and full of branches: vectorising finds nothing in them and costs compile time
numba.config.LOOP_VECTORIZE = 0  # type: ignore[attr-defined]
numba.config.SLP_VECTORIZE = 0  # type: ignore[attr-defined]


def kernel(function):
    """Compile to machine code: cached on disk, no global interpreter lock, division as in numpy."""
    return numba.njit(cache=True, nogil=True, error_model="numpy")(function)


def law(function):
    """A `kernel` that is merged into its callers: a law on numbers and tables alone that inner loops call."""
    return numba.njit(cache=True, nogil=True, error_model="numpy", forceinline=True)(function)


def is_cold() -> bool:
    """No compiled kernel of these sources is on disk yet: the first run compiles, for about half a minute."""
    return not any(CACHE.rglob("*.nbi"))
