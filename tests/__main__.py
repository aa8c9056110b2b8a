"""`python -m tests`: ruff, mypy, the fast tests and the examples in docstrings; stops at the first that fails."""

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[1]
# what simulates for minutes, kills processes or ranks every choice of outlets runs with the whole suite only
SLOW = ("tests/system", "tests/cli", "tests/studies/test_resume.py", "tests/studies/test_cluster.py")
STEPS = (
    ("lint", ["ruff", "check", "."]),
    ("types", ["mypy"]),
    ("fast tests", ["pytest", *(f"--ignore={path}" for path in SLOW)]),
    ("examples in docstrings", ["pytest", "--doctest-modules", "-p", "no:cacheprovider", "sim1d", "studies"]),
)


def main() -> int:
    """Run every step; returns the exit code of the first that fails, 0 when all pass."""
    for name, command in STEPS:
        print(f"== {name}", flush=True)
        code = subprocess.run([sys.executable, "-m", *command], cwd=ROOT).returncode
        if code != 0:
            print(f"{name} failed: {' '.join(command)}")
            return code
    return 0


if __name__ == "__main__":
    sys.exit(main())
