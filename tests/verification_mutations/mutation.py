"""One law broken on purpose: what is written where, and what becomes of the law."""

from dataclasses import dataclass
from enum import Enum
from pathlib import Path

ROOT = Path(__file__).parents[2]
DEVICES, GAS = "tests/core/test_devices.py", "tests/core/test_air.py"
BOOKS_BY_HAND = ("tests/verification_mutations/test_gaps_books.py",)
BY_HAND = ("tests/verification_mutations/test_gaps.py",)
GROUPS_BY_HAND = ("tests/verification_mutations/test_gaps_groups.py",)
LIMITS_BY_HAND = ("tests/verification_mutations/test_gaps_limits.py",)
SLOPES_BY_HAND = ("tests/verification_mutations/test_gaps_slopes.py",)
STAGES_BY_HAND = ("tests/verification_mutations/test_gaps_stages.py",)
STEPS_BY_HAND = ("tests/verification_mutations/test_gaps_steps.py",)


class Damage(Enum):
    """The kind of mistake that is made."""

    SIGN = "wrong sign"
    FACTOR = "wrong factor"
    LOST = "lost term"
    INDEX = "wrong index"
    SWAPPED = "swapped arguments"


SIGN, FACTOR, LOST, INDEX, SWAPPED = Damage


@dataclass(frozen=True)
class Mutation:
    """A mistake in one line of a source file."""

    name: str
    file: str  # from the root of the project
    old: str  # occurs exactly once in the file
    new: str
    damage: Damage
    law: str  # what holds no longer
    first: tuple[str, ...] = ()  # tests (as pytest names them) that see it soonest; the others follow
    survives: str = ""  # why no test sees it; empty for a mistake that must be seen

    def misfit(self, root: Path = ROOT) -> str:
        """Why the mistake cannot be made in the tree at `root`: file, count and text. Empty when it can."""
        if not (root / self.file).is_file():
            return f"{self.name}: there is no file {self.file}"
        count = source(root / self.file).count(self.old)
        if count == 1:
            return ""
        return f"{self.name}: {self.file} must hold this text once, it holds it {count} times:\n    {self.old}"

    def applied(self, root: Path = ROOT) -> str:
        """The source at `root` with the mistake in it. ValueError when its text is not there exactly once."""
        if misfit := self.misfit(root):
            raise ValueError(misfit)
        return source(root / self.file).replace(self.old, self.new)


def source(file: Path) -> str:
    """The text of a source file."""
    return file.read_text(encoding="utf-8")


def law(
    topic: str, name: str, old: str, new: str, damage: Damage, broken: str, first: tuple[str, ...] = (),
    survives: str = "",
) -> Mutation:  # fmt: skip
    """A mistake in one file of sim1d/physics: unless others are named in `first`, its own test file sees it first."""
    return Mutation(name, f"sim1d/physics/{topic}.py", old, new, damage, broken, first, survives)


def twin(*cases: str) -> tuple[str, ...]:
    """Cases of the comparison with the slow second implementation."""
    return tuple(f"tests/core/test_twin.py::test_kernel_equals_twin[{case}]" for case in cases)
