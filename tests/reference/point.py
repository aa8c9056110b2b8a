"""A car at a state, evaluated, with the Jacobian there: where tests of single entries and errors begin."""

import numpy as np

from sim1d.core.handle import handle
from sim1d.core.model import work_arrays
from sim1d.core.rhs import derivative
from sim1d.core.slopes import jacobian
from sim1d.core.solver import room

from .cars import packed
from .states import STATES


class Point:
    """Packed `car` at the state `name`: flows and pressures to the last digit, entries of the Jacobian in `values`."""

    def __init__(self, car: str, name: str):
        self.packed = packed(car)
        self.state, self.phase, self.time = STATES[name](self.packed)
        self.model, self.pattern = self.packed.model, self.packed.pattern
        self.at, self.n = self.model.layout, self.model.layout.ledger
        self.work = work_arrays(self.model)
        self.handles = handle(self.model), handle(self.work)
        self.rate = np.zeros(self.at.size)
        for _ in range(4):
            self.evaluate(self.state)
        self.room = room(self.model, self.pattern, np.ones(self.at.size))
        self.values = self.room.arrays.values
        jacobian(self.time, self.state, self.phase, *self.handles, handle(self.pattern), self.room.step, self.values)

    def evaluate(self, state: np.ndarray) -> None:
        """Let `work` and `rate` be those of another state."""
        assert derivative(self.time, state, self.phase, *self.handles, self.rate)

    def matrix_of(self, size: int, entries: slice = slice(None)) -> np.ndarray:
        """Chosen entries of the Jacobian as a square of so many rows."""
        matrix = np.zeros((size, size))
        np.add.at(matrix, (self.pattern.rows[entries], self.pattern.columns[entries]), self.values[entries])
        return matrix
