"""Mistakes in the stages of a step, in flows that it takes as they nearly fit, and in what it hands on."""

from .mutation import FACTOR, INDEX, LOST, SIGN, STAGES_BY_HAND, STEPS_BY_HAND, Mutation

HYDRAULICS = "sim1d/core/hydraulics.py"
METHOD = "sim1d/core/method.py"
RHS = "sim1d/core/rhs.py"
SOLVER = "sim1d/core/solver.py"
STEPPER = "sim1d/core/stepper.py"
LAG = "tests/verification_mutations/test_gaps_steps.py::test_a_lag_fades_by_the_stability_function_of_the_method"
ORDER = "tests/system/test_integrator.py::test_order_condition"


def stage(
    name: str, old: str, new: str, damage, broken: str, first: tuple[str, ...] = STAGES_BY_HAND, survives: str = "",
) -> Mutation:  # fmt: skip
    """A mistake in the stepper."""
    return Mutation(name, STEPPER, old, new, damage, broken, first, survives)


def coefficient(name: str, old: str, new: str, damage, broken: str, test: str) -> Mutation:
    """A mistake in the coefficients of the method."""
    return Mutation(name, METHOD, old, new, damage, broken, (test,))


def near(name: str, file: str, old: str, new: str, damage, broken: str) -> Mutation:
    """A mistake in which flows are taken as they are, seen by hand."""
    return Mutation(name, file, old, new, damage, broken, STAGES_BY_HAND)


STAGES = (
    coefficient(
        "pole_of_the_method", "GAMMA = 1 / 2", "GAMMA = 1 / 3", FACTOR, "order conditions of the method", ORDER,
    ),
    coefficient(
        "embedded_backwards", "_EMBEDDED = np.array([-1 / 4, 1.0, 0.0, 1 / 4])",
        "_EMBEDDED = np.array([1 / 4, 1.0, 0.0, -1 / 4])", SIGN, "order conditions of the embedded method", ORDER,
    ),
    stage(
        "shared_with_the_first", "copy(step.stage, step.moved)", "copy(step.stage, step.rate)", INDEX,
        "the last stage shares the evaluation of the one before it", (LAG,),
    ),
    coefficient(
        "shared_too_early", "SHARED = 3", "SHARED = 2", INDEX, "it is the last stage that shares an evaluation", LAG,
    ),
    stage(
        "nothing_shared", "elif i == SHARED:", "elif i > SHARED:", LOST,
        "a step costs three evaluations: its last stage shares one",
    ),
    stage(
        "left_over_forgotten", "copy(step.missing, step.left)", "step.missing[:] = 0.0", LOST,
        "a step makes up for what its laws miss at its start",
    ),
    stage(
        "left_over_not_kept", "copy(step.left, step.missing)", "step.left[:] = 0.0", LOST,
        "what the laws miss at the end of a step they miss at the start of the next",
    ),
    Mutation(
        "left_over_of_another_stretch", SOLVER, "step.left[:] = 0.0", "step.left[:] *= 1.0", LOST,
        "where a stretch begins the network has been solved: its laws miss nothing", STEPS_BY_HAND,
    ),
    stage(
        "end_of_a_step_at_its_start", "derivative_near(new, step.trial,", "derivative_near(time, step.trial,", INDEX,
        "the rate at the end of a step is that of its time",
    ),
    stage(
        "stages_that_blew_up_stay",
        "phase, model, work, step.stage, step.missing):\n                forget(step)",
        "phase, model, work, step.stage, step.missing):\n                step.missing[:] = 0.0", LOST,
        "an attempt that found no rate leaves nothing to the next",
        survives="the bracket of the level closes whatever a stage holds: no attempt ends there, those that blow up go "
        "on to the last look at their end",
    ),
    stage(
        "end_that_blew_up_stays", "if not np.isfinite(step.trial[k]):\n            forget(step)",
        "if not np.isfinite(step.trial[k]):\n            step.missing[:] = 0.0", LOST,
        "an attempt that ends beyond all numbers leaves nothing to the next",
    ),
    stage(
        "flows_that_blew_up_stay", "step.flow_u[:] = 0.0", "step.flow_u[:] *= 1.0", LOST,
        "an attempt that blew up leaves the next no flows",
    ),
    near(
        "any_flows_are_near", RHS, "if not nearly(work.flow, pascal, work.solver):",
        "if not nearly(work.flow, pascal, work.solver) and False:", LOST, "flows that fit no longer are solved for",
    ),
    near(
        "near_is_far", HYDRAULICS, "NEARLY = 0.1", "NEARLY = 10.0", FACTOR,
        "flows that are taken as they are are off by a tenth at most",
    ),
    near(
        "near_is_there", HYDRAULICS, "NEARLY = 0.1", "NEARLY = 0.001", FACTOR,
        "flows that the next step makes up for need not be solved for",
    ),
    near(
        "near_by_the_largest_flow", HYDRAULICS, "(NEARLY * abs(flow[b]) + rest)", "(NEARLY * largest + rest)", INDEX,
        "what a branch is off counts against its own flow",
    ),
    near(
        "next_to_nothing_is_never_near", HYDRAULICS, "(NEARLY * abs(flow[b]) + rest)", "(NEARLY * abs(flow[b]))", LOST,
        "a branch that carries next to nothing asks for no solution",
    ),
    near(
        "solved_and_still_missing", RHS, "pascal[:] = 0.0", "pascal[:] *= 1.0", LOST,
        "where the network is solved its laws miss nothing",
    ),
)  # fmt: skip
