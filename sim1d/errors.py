"""What can go wrong, in words: problems of a description, and the outcomes of a run."""

from dataclasses import dataclass
from enum import Enum


@dataclass(frozen=True)
class Problem:
    """One thing wrong in a description.

    `where` is the path of the value (`pump.ratio`), `what` says what is wrong, `fix` what would be right; `file` and
    `line` (from 1; 0: unknown) say where it stands in the builder's file.
    """

    where: str
    what: str
    fix: str
    file: str = ""
    line: int = 0

    def __str__(self) -> str:
        place = self.file + (f":{self.line}" if self.line else "")
        parts = [part for part in (place, self.where, self.what) if part]
        return ": ".join(parts) + (f". Fix: {self.fix}" if self.fix else "")


class DescriptionError(ValueError):
    """A car, day or study file (or a value given for it) that cannot be used; `problems` lists all that was found."""

    def __init__(self, problems: list[Problem] | tuple[Problem, ...]):
        self.problems = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))

    def __reduce__(self):
        return type(self), (self.problems,)


class Outcome(Enum):
    """How a run ended; the value is the sentence a user reads."""

    COMPLETED = "The whole day was simulated."
    BOILED_OUT = "Coolant boiled until the circuit could not hold it: more steam formed than the model can follow."
    CIRCUIT_STARVED = "Gas fills so much of the circuit that a pump loses its prime and flow stops."
    OVER_PRESSURE = "The pressure went far above every rating of the circuit: a part would have burst."
    MELTED = "Metal went past the range of the model: the part is destroyed."
    FROZEN = "Coolant fell below the range of the model: it would freeze."
    TEMPERATURE_NOT_REACHED = "A phase that waits for a temperature did not reach it within its longest duration."
    NETWORK_FAILED = "The flow network found no solution: the layout or a value in it is beyond the model."
    BOOKS_OPEN = "The books of energy, coolant or gas do not close: a fault of the program. Do not use this run."
    STEP_FAILED = "The integration in time could not go on with the wanted accuracy."
    BAD_DESCRIPTION = "The description is wrong, so nothing was simulated."
    WORKER_DIED = "The worker process that ran this point died."
