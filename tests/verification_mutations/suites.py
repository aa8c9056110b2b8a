"""Which tests a mutation is shown to, in which order: the nearest first, the slow and compiled ones last."""

from pathlib import PurePosixPath

from .mutation import (
    BOOKS_BY_HAND,
    BY_HAND,
    GROUPS_BY_HAND,
    LIMITS_BY_HAND,
    ROOT,
    SLOPES_BY_HAND,
    STAGES_BY_HAND,
    STEPS_BY_HAND,
    Mutation,
)

TWIN = "tests/core/test_twin.py"
ROWS_BY_HAND = "tests/verification_mutations/test_gaps_rows.py"
KERNELS_BY_HAND = (
    *BY_HAND, *BOOKS_BY_HAND, *GROUPS_BY_HAND, *LIMITS_BY_HAND, *SLOPES_BY_HAND, *STAGES_BY_HAND, *STEPS_BY_HAND
)  # fmt: skip
# of the compiled tests quick ones that between them reach every part of the model
KERNELS = (
    "tests/core/test_network.py", "tests/core/test_hydraulics.py", "tests/system/test_books.py",
    "tests/system/test_integrator.py::test_order_condition",
    "tests/system/test_integrator.py::test_conservation_without_help",
    "tests/system/test_integrator.py::test_independent_integrator",
    "tests/system/test_integrator.py::test_observed_order",
    "tests/core/test_air.py::test_stepper_keeps_the_gas",
    "tests/system/test_cap_and_recovery.py::test_what_leaves_is_what_swelled_out",
    "tests/system/test_symmetry.py", "tests/system/test_starved_bank.py", "tests/system/test_trade.py",
)  # fmt: skip
ROWS = (
    "tests/system/test_pressure_level.py", "tests/system/test_pump_speed.py", "tests/system/test_starved_bank.py",
    "tests/system/test_symmetry.py", "tests/system/test_trade.py", "tests/system/test_air_running.py",
    "tests/system/test_gasket_and_cut.py",
    "tests/system/test_cap_and_recovery.py::test_what_leaves_is_what_swelled_out",
    "tests/system/test_cap_and_recovery.py::test_a_cap_reseats_below_its_opening",
    "tests/system/test_outcomes.py::test_failed_electric_pump_draws_no_current_to_speak_of",
    "tests/system/test_outcomes.py::test_blocked_hose_stops_the_flow",
    "tests/faults/test_fault_physics.py::test_dead_fan_shows_only_once_the_fan_would_run",
    "tests/faults/test_fault_physics.py::test_a_failed_or_starved_motor_gives_less_flow",
    "tests/faults/test_fault_physics.py::test_a_leaking_gasket_brings_gas_that_stays",
)  # fmt: skip
NEAR = ("tests/parts", "tests/files/test_car_file.py")  # to the row writers


def own_test(file: str) -> tuple[str, ...]:
    """The test file of a law: the one of the same name."""
    folder, name = PurePosixPath(file).parts[1:]
    path = f"tests/{folder}/test_{name}"
    return (path,) if folder in ("physics", "core") and (ROOT / path).is_file() else ()


def is_kernel(mutation: Mutation) -> bool:
    """Whether the mistake is in compiled code, so that every kernel has to be compiled anew for it."""
    return mutation.file.startswith(("sim1d/core/", "sim1d/physics/"))


def plain(mutation: Mutation) -> tuple[tuple[str, ...], ...]:
    """Tests to run with the compiler switched off, which is quicker than compiling for all that is short; by turns."""
    if not is_kernel(mutation):
        return mutation.first, (*NEAR, ROWS_BY_HAND, *BY_HAND)
    if mutation.first:
        return once(*mutation.first, *KERNELS_BY_HAND), (*own_test(mutation.file), TWIN)
    return own_test(mutation.file), (*KERNELS_BY_HAND, TWIN)


def once(*tests: str) -> tuple[str, ...]:
    """These tests, each named once."""
    return tuple(dict.fromkeys(tests))


def compiled(mutation: Mutation) -> tuple[tuple[str, ...], ...]:
    """Tests to run on compiled kernels, when the plain ones saw nothing."""
    return (KERNELS if is_kernel(mutation) else ROWS,)
